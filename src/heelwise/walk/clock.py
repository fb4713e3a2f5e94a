"""Moved."""

from heelwise.walk.walker import Clock as Clock  # moved
from heelwise.walk.walker import RealClock as RealClock  # moved

__all__ = ["Clock", "RealClock"]
