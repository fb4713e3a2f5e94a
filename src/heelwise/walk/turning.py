"""Moved."""

from heelwise.walk.crank import TURN as TURN  # moved

__all__ = ["TURN"]
