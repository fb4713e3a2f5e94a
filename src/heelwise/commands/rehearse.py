"""`heelwise rehearse`: the whole job against a virtual engine with planted faults."""

from __future__ import annotations

import argparse
import re
from datetime import datetime
from pathlib import Path

from heelwise.commands.reporting import DONE, complain, on_a_terminal, say
from heelwise.documents.entries import AnyEntry
from heelwise.documents.open_record import OpenRecord, open_record
from heelwise.rehearsal.rehearse import begin_rehearsal, hands_off, truth_in_words
from heelwise.rehearsal.scenario import DEFAULT_CARD, DEFAULT_PROCEDURE, procedure_called
from heelwise.session import Session
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
    parser.add_argument("--seed", type=_seed, default=1, metavar="N")
    parser.add_argument("--plain", action="store_true", help="line by line")
    parser.add_argument("--json", action="store_true", help="with --plain: as JSON lines")


def _seed(text: str) -> int:
    """A seed of at most 18 digits: a record can hold no number beyond 64 bits."""
    if not re.fullmatch(r"-?[0-9]{1,18}", text):
        raise argparse.ArgumentTypeError("a seed is a whole number of at most 18 digits")
    return int(text)


def run(given: argparse.Namespace) -> int:
    """Begin a rehearsal, or go on with the one in the folder."""
    record = _begin_or_open(given)
    if not given.hands_off:
        if given.plain or on_a_terminal():
            return _by_a_person(record, given)
        complain(["no terminal here: the virtual engine answers by itself"])
    kept = _tell if given.tell else _quiet
    with Session(record) as session:
        told = len(record.entries)
        if told == 1:  # just begun: nobody was told of its first entry yet
            kept(record.entries[0])
        session.resume()
        for entry in record.entries[told:]:
            kept(entry)
        assert session.truth is not None
        hands_off(session.walker, session.truth, kept)
        from heelwise.sheet.forms import sheet  # a rehearsal by a person never needs it here

        say(sheet(record.as_record(), "text"))
        say(truth_in_words(session.walker.scene, session.truth))
    return DONE


def _begin_or_open(given: argparse.Namespace) -> OpenRecord:
    folder = Path(given.folder)
    folder.mkdir(parents=True, exist_ok=True)
    path = inside(folder, safe_name(_name(given)) + ".toml")
    if path.exists():
        return open_record(path)
    procedure = procedure_called(given.procedure)
    now = datetime.now().astimezone().replace(microsecond=0)
    return begin_rehearsal(path, given.engine, given.seed, procedure, now)


def _name(given: argparse.Namespace) -> str:
    """A record for each engine and procedure, so that one rehearsal is gone on with."""
    usual = given.procedure == DEFAULT_PROCEDURE
    name = f"rehearsal-{given.engine}" + ("" if usual else f"-{given.procedure}")
    return name[:64].rstrip("-")


def _by_a_person(record: OpenRecord, given: argparse.Namespace) -> int:
    session = Session(record)
    session.resume()
    if given.plain and given.json:
        from heelwise.commands.json_walk import walk_in_json

        return walk_in_json(session)
    if given.plain:
        from heelwise.commands.plain_walk import walk_in_lines

        return walk_in_lines(session)
    from heelwise.screens.app import run_app

    return run_app(record.file.parent, session=session)


def _tell(entry: AnyEntry) -> None:
    print(f"kept {entry.number}", flush=True)


def _quiet(entry: AnyEntry) -> None:
    """Say nothing of an entry."""
