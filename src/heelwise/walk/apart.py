"""Moved."""

from heelwise.walk.prove import SECOND_PERSON as SECOND_PERSON  # moved

__all__ = ["SECOND_PERSON"]
