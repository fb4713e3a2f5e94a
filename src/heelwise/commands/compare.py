"""`heelwise compare`: records beside each other, valve by valve."""

from __future__ import annotations

import argparse
from pathlib import Path

from heelwise.commands.reporting import DONE, FAULTS, complain, say, say_json
from heelwise.documents.faults import Faulty
from heelwise.documents.record import Record, check_entries, read_record
from heelwise.sheet.compare import comparison, comparison_json
from heelwise.sheet.forms import sections_as
from heelwise.sheet.setup_words import unit_of


def run(given: argparse.Namespace) -> int:
    """Compare those that can be read; 1 where one can't be, or fewer than two can."""
    records: list[Record] = []
    for name in given.record:
        try:
            record = read_record(Path(name))
            check_entries(record)
            records.append(record)
        except Faulty as faulty:
            complain(faulty.lines()[:1])
    if len(records) < 2:
        complain(["heelwise: two records or more are compared"])
        return FAULTS
    if given.json:
        say_json(comparison_json(records))
    else:
        unit = unit_of(records[-1].head.setup)
        say(sections_as(comparison(records), given.form, unit))
    return DONE if len(records) == len(given.record) else FAULTS
