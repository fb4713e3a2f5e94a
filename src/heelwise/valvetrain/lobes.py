"""Moved."""

from heelwise.valvetrain.cam import heel_arc as heel_arc  # moved
from heelwise.valvetrain.cam import margin as margin  # moved
from heelwise.valvetrain.cam import open_arc as open_arc  # moved
from heelwise.valvetrain.cam import tdc_distance as tdc_distance  # moved
