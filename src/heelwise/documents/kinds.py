"""What kind of document a file holds, told by its tables."""

from __future__ import annotations

import re
from enum import StrEnum
from pathlib import Path

from heelwise.documents.toml_reading import read_bytes
from heelwise.storage.placing import CAP as RECORD_CAP

_TABLE = re.compile(rb"^[ \t]*\[{1,2}[ \t]*(procedure|build|entry|card)[ \t]*\]", re.MULTILINE)


class Kind(StrEnum):
    """What a document is."""

    SETUP = "setup"
    PROCEDURE = "procedure"
    RECORD = "record"
    CARD = "engine card"


def kind_of(path: Path) -> Kind:
    """Tell a document's kind by its tables, on bytes, so that a damaged one is still told.

    Raises:
        Faulty: If there is no such file or it can't be read.
    """
    names = {found.decode() for found in _TABLE.findall(read_bytes(path, RECORD_CAP))}
    if names & {"build", "entry"}:
        return Kind.RECORD
    if "procedure" in names:
        return Kind.PROCEDURE
    return Kind.CARD if "card" in names else Kind.SETUP
