"""Moved."""

from heelwise.valvetrain.engine import Valve as Valve  # moved
from heelwise.valvetrain.engine import ValveKind as Kind  # moved

__all__ = ["Kind", "Valve"]
