"""Moved."""

from heelwise.documents.typed_numbers import turns_resolution as turns_resolution  # moved
