"""Moved."""

from heelwise.walk.valve_state import same_person as same_person  # moved

__all__ = ["same_person"]
