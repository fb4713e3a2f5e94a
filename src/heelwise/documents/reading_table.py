"""Moved."""

from heelwise.documents.setup_readings import PaperReading as Taken  # moved

__all__ = ["Taken"]
