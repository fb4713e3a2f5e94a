"""`heelwise rehearse`: the whole job against a virtual engine with planted faults."""

from __future__ import annotations

import argparse
import re
from datetime import datetime
from pathlib import Path

from heelwise.commands.reporting import DONE, Usage, complain, on_a_terminal, say
from heelwise.documents.entries import AnyEntry
from heelwise.documents.record import OpenRecord, open_record
from heelwise.rehearsal.rehearse import begin_rehearsal, hands_off, truth_in_words
from heelwise.rehearsal.scenario import DEFAULT_CARD, DEFAULT_PROCEDURE, procedure_called
from heelwise.session import Session
from heelwise.storage.names import inside, safe_name


def run(given: argparse.Namespace) -> int:
    """Begin a rehearsal, or go on with the one in the folder."""
    record = _begin_or_open(given)
    if given.hands_off or not (given.plain or on_a_terminal()):
        if not given.hands_off:
            complain(["no terminal here: the virtual engine answers by itself"])
        return _by_itself(record, given.tell)
    session = Session(record)
    session.resume()
    if not given.plain:
        from heelwise.screens.app import run_app

        return run_app(record.file.parent, session=session)
    if given.json:
        from heelwise.commands.json_walk import walk_in_json

        return walk_in_json(session)
    from heelwise.commands.plain_walk import walk_in_lines

    return walk_in_lines(session)


def _by_itself(record: OpenRecord, tell: bool) -> int:
    def kept(entry: AnyEntry) -> None:
        if tell:
            print(f"kept {entry.number}", flush=True)

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
    """A record for each engine and procedure, so that one rehearsal is gone on with."""
    if not re.fullmatch(r"-?[0-9]{1,18}", given.seed):  # a record holds numbers of 64 bits
        raise Usage(f"--seed {given.seed}: a seed is a whole number of at most 18 digits")
    card, way = given.engine or DEFAULT_CARD, given.procedure or DEFAULT_PROCEDURE
    folder = Path(given.folder)
    folder.mkdir(parents=True, exist_ok=True)
    name = f"rehearsal-{card}" + ("" if way == DEFAULT_PROCEDURE else f"-{way}")
    path = inside(folder, safe_name(name[:64].rstrip("-")) + ".toml")
    if path.exists():
        return open_record(path)
    now = datetime.now().astimezone().replace(microsecond=0)
    return begin_rehearsal(path, card, int(given.seed), procedure_called(way), now)
