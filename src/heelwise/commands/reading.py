"""Reading a setup or a record, whichever a file is."""

from __future__ import annotations

from pathlib import Path

from heelwise.documents.kinds import Kind, kind_of
from heelwise.documents.record_reading import Record, must_be_understood, read_record
from heelwise.documents.setup import Setup, load_setup


def read_document(path: Path) -> Setup | Record:
    """Read a setup or a record, whichever the file is, to work on with its readings.

    Raises:
        Faulty: If it is neither, or faulty, or a reading in it is none.
    """
    if kind_of(path) is not Kind.RECORD:
        return load_setup(path)
    record = read_record(path)
    must_be_understood(record)
    return record
