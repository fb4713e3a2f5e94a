"""Moved."""

from heelwise.documents.library import read_card as read_card  # moved
