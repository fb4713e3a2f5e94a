"""`heelwise sheet`: a record laid out for reading, printing or another program."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from heelwise.commands.reporting import DONE, complain
from heelwise.documents.record import read_record
from heelwise.sheet.forms import FORMS, sheet


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Give the command its arguments."""
    parser.add_argument("record", help="a record, under way or signed off; it is only read")
    parser.add_argument("--as", dest="form", choices=FORMS, default="text")
    parser.add_argument("--json", action="store_const", const="json", dest="form")


def run(given: argparse.Namespace) -> int:
    """Lay the record out and print it."""
    record = read_record(Path(given.record))
    laid_out = sheet(record, given.form)
    sys.stdout.write(laid_out if laid_out.endswith("\n") else laid_out + "\n")
    sys.stdout.flush()
    if record.torn:
        complain([f"{given.record}: the end is torn; shown up to its last sealed entry"])
    return DONE
