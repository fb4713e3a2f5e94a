"""Moved."""

from heelwise.documents.toml import FileKind as Kind  # moved
from heelwise.documents.toml import kind_of as kind_of  # moved

__all__ = ["Kind", "kind_of"]
