"""Reading a setup or a record, whichever a file is."""

from __future__ import annotations

from pathlib import Path

from heelwise.documents.kinds import Kind, kind_of
from heelwise.documents.record_reading import Record, read_record
from heelwise.documents.setup import Setup, load_setup


def read_document(path: Path) -> Setup | Record:
    """Read a setup or a record, whichever the file is.

    Raises:
        Faulty: If it is neither, or faulty.
    """
    return read_record(path) if kind_of(path) is Kind.RECORD else load_setup(path)
