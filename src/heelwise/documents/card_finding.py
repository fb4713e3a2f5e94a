"""Moved."""

from heelwise.documents.library import NamedCard as NamedCard  # moved
from heelwise.documents.library import matching as matching  # moved
from heelwise.documents.library import read_cards as read_cards  # moved
