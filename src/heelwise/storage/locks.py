"""Moved."""

from heelwise.storage.errors import Held as Held  # moved
