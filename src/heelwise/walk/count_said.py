"""Moved."""

from heelwise.walk.counting import verdict_text as verdict_said  # moved

__all__ = ["verdict_said"]
