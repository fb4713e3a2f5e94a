"""Moved."""

from heelwise.storage.journal import beginning as beginning  # moved
from heelwise.storage.journal import read as read  # moved
