"""Moved."""

from heelwise.walk.crank import BACK_OFF as BACK_OFF  # moved
from heelwise.walk.crank import HOLD as HOLD  # moved

__all__ = ["BACK_OFF", "HOLD"]
