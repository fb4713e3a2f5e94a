"""Moved."""

from heelwise.documents.methods import METHODS as WAYS  # moved
from heelwise.documents.methods import Method as Way  # moved

__all__ = ["WAYS", "Way"]
