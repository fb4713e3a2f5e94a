"""Moved."""

from heelwise.valvetrain.turn import SHOWN_DEG as SHOWN_DEG  # moved
from heelwise.valvetrain.turn import degrees as degrees  # moved
from heelwise.valvetrain.turn import landmark as landmark  # moved
