"""`heelwise rehearse`: the whole job against a virtual engine with planted faults."""

from __future__ import annotations

import argparse
from datetime import datetime
from pathlib import Path

from heelwise.commands.reporting import DONE, complain, on_a_terminal, say
from heelwise.documents.entries import AnyEntry
from heelwise.documents.library import find_procedures
from heelwise.documents.record_writing import OpenRecord, open_record
from heelwise.rehearsal.rehearse import begin_rehearsal, hands_off
from heelwise.rehearsal.scenario import DEFAULT_CARD, DEFAULT_PROCEDURE, procedure_called
from heelwise.screens.sitting import Sitting
from heelwise.storage.names import inside, safe_name


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Give the command its arguments."""
    parser.add_argument("--engine", default=DEFAULT_CARD, metavar="CARD")
    parser.add_argument(
        "--procedure", default=DEFAULT_PROCEDURE, metavar="NAME", help="which way it is done"
    )
    parser.add_argument("--folder", default=".", metavar="DIR", help="where its record goes")
    parser.add_argument("--hands-off", action="store_true", help="answer it, and print the sheet")
    parser.add_argument("--tell", action="store_true", help="print `kept N` after entry N is kept")
    parser.add_argument("--seed", type=int, default=1, metavar="N")
    parser.add_argument("--plain", action="store_true", help="line by line")


def run(given: argparse.Namespace) -> int:
    """Begin a rehearsal, or go on with the one in the folder."""
    told = _tell if given.tell else _quiet
    record = _begin_or_open(given)
    if not given.hands_off and (given.plain or on_a_terminal()):
        return _by_a_person(record, given.plain)
    if not given.hands_off:
        complain(["no terminal here: the virtual engine answers by itself"])
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
    path = inside(folder, safe_name(_name(given)) + ".toml")
    if path.exists():
        return open_record(path)
    procedure = procedure_called(given.procedure)
    text = find_procedures()[given.procedure].read_text(encoding="utf-8")
    now = datetime.now().astimezone().replace(microsecond=0)
    return begin_rehearsal(path, given.engine, given.seed, procedure, text, now)


def _name(given: argparse.Namespace) -> str:
    """A record for each engine and procedure, so that one rehearsal is gone on with."""
    usual = given.procedure == DEFAULT_PROCEDURE
    name = f"rehearsal-{given.engine}" + ("" if usual else f"-{given.procedure}")
    return name[:64].rstrip("-")


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


def _tell(entry: AnyEntry) -> None:
    print(f"kept {entry.number}", flush=True)


def _quiet(entry: AnyEntry) -> None:
    """Say nothing of an entry."""
