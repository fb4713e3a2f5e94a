"""Moved."""

from heelwise.documents.units import LENGTHS as LENGTH  # moved
from heelwise.documents.units import TORQUES as TORQUE  # moved

__all__ = ["LENGTH", "TORQUE"]
