"""`heelwise rehearse`: the whole job against a virtual engine with planted faults."""

from __future__ import annotations

import argparse
from datetime import datetime
from pathlib import Path

from heelwise.commands.reporting import DONE, say
from heelwise.documents.entries import Entry
from heelwise.documents.library import find_procedures
from heelwise.documents.procedure import load_procedure
from heelwise.documents.record_writing import OpenRecord, open_record
from heelwise.rehearsal.rehearse import begin_rehearsal, hands_off
from heelwise.rehearsal.scenario import DEFAULT_CARD
from heelwise.screens.sitting import Sitting
from heelwise.storage.names import inside, safe_name

PROCEDURE = "bolt-down-rockers"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Give the command its arguments."""
    parser.add_argument("--engine", default=DEFAULT_CARD, metavar="CARD")
    parser.add_argument("--folder", default=".", metavar="DIR", help="where its record goes")
    parser.add_argument("--hands-off", action="store_true", help="answer it, and print the sheet")
    parser.add_argument("--tell", action="store_true", help="print `kept N` after entry N is kept")
    parser.add_argument("--seed", type=int, default=1, metavar="N")
    parser.add_argument("--plain", action="store_true", help="line by line")


def run(given: argparse.Namespace) -> int:
    """Begin a rehearsal, or go on with the one in the folder."""
    told = _tell if given.tell else _quiet
    record = _begin_or_open(given)
    if not given.hands_off:
        return _by_a_person(record, given.plain)
    with Sitting(record) as sitting:
        _tell_all(record, told)
        known = len(record.entries)
        sitting.take_up_again()
        for entry in record.entries[known:]:
            told(entry)
        assert sitting.truth is not None
        hands_off(sitting.walker, sitting.truth, told)
        say(_sheet(sitting))
    return DONE


def _begin_or_open(given: argparse.Namespace) -> OpenRecord:
    folder = Path(given.folder)
    folder.mkdir(parents=True, exist_ok=True)
    path = inside(folder, safe_name(f"rehearsal-{given.engine}") + ".toml")
    if path.exists():
        return open_record(path)
    source = find_procedures()[PROCEDURE]
    now = datetime.now().astimezone().replace(microsecond=0)
    text = source.read_text(encoding="utf-8")
    return begin_rehearsal(path, given.engine, given.seed, load_procedure(source), text, now)


def _by_a_person(record: OpenRecord, line_by_line: bool) -> int:
    sitting = Sitting(record)
    sitting.take_up_again()
    if line_by_line:
        from heelwise.commands.plain_walk import walk_in_lines

        return walk_in_lines(sitting)
    from heelwise.screens.app import run_app

    return run_app(record.file.parent, sitting=sitting)


def _sheet(sitting: Sitting) -> str:
    from heelwise.sheet.forms import sheet

    return sheet(sitting.record.as_record(), "text")


def _tell_all(record: OpenRecord, told: object) -> None:
    """A record just begun has one entry that nobody was told of yet."""
    if len(record.entries) == 1 and callable(told):
        told(record.entries[0])


def _tell(entry: Entry) -> None:
    print(f"kept {entry.number}", flush=True)


def _quiet(entry: Entry) -> None:
    """Say nothing of an entry."""
