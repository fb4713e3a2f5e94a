"""Moved."""

from heelwise.storage.record_file import CAP as CAP  # moved
from heelwise.storage.record_file import Aside as Aside  # moved
from heelwise.storage.record_file import Aside as Recovered  # moved

__all__ = ["CAP", "Aside", "Recovered"]
