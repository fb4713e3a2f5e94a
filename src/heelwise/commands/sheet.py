"""`heelwise sheet`: a record laid out for reading, printing or another program."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from heelwise.commands.reporting import DONE, complain
from heelwise.documents.record import read_record
from heelwise.sheet.forms import sheet


def run(given: argparse.Namespace) -> int:
    """Lay the record out and print it."""
    record = read_record(Path(given.record))
    sys.stdout.write(sheet(record, "json" if given.json else given.form))
    sys.stdout.flush()
    if record.torn:
        complain([f"{given.record}: the end is torn; shown up to its last sealed entry"])
    return DONE
