"""Moved."""

from heelwise.valvetrain.figures import Repeats as Repeats  # moved
from heelwise.valvetrain.figures import repeats as repeats  # moved
