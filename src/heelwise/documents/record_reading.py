"""Moved."""

from heelwise.documents.record import BuildTable as BuildTable  # moved
from heelwise.documents.record import Head as Head  # moved
from heelwise.documents.record import Record as Record  # moved
from heelwise.documents.record import check_entries as must_be_understood  # moved
from heelwise.documents.record import read_record as read_record  # moved
from heelwise.documents.record import record_faults as record_faults  # moved
from heelwise.documents.record import record_of as record_of  # moved

__all__ = ["must_be_understood"]
