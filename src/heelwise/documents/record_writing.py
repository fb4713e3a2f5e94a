"""Moved."""

from heelwise.documents.open_record import OpenRecord as OpenRecord  # moved
from heelwise.documents.open_record import Rehearsal as Rehearsal  # moved
from heelwise.documents.open_record import begin_record as begin_record  # moved
from heelwise.documents.open_record import open_record as open_record  # moved
