"""Moved."""

from heelwise.walk.setup_checks import unwalkable as unwalkable  # moved

__all__ = ["unwalkable"]
