"""Moved."""

from heelwise.storage.whole_files import write_new_whole as write_new_whole  # moved
from heelwise.storage.whole_files import write_whole as write_whole  # moved
