"""The bench, one build or a re-check, and `heelwise rehearse`: on the full screen or in lines."""

from __future__ import annotations

import argparse
import gc
import os
import re
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from heelwise.commands.reporting import DONE, FAULTS, FOLDER, Usage, complain, on_a_terminal, say
from heelwise.storage.names import initials, inside, resolved, safe_name

if TYPE_CHECKING:  # the bench reads no model yet
    from heelwise.documents.entries import AnyEntry
    from heelwise.documents.record import OpenRecord


def bench(given: argparse.Namespace) -> int:
    """Open what was named, else the bench."""
    file = Path(given.file) if given.file else None
    by = initials(given.by) if given.by is not None else ""
    named = given.folder or os.environ.get(FOLDER)
    folder = Path(named) if named else file.parent if file else Path()
    if not os.path.isdir(folder):
        complain([f"{folder}: folder: is not there; make it first, or name one that exists"])
        return FAULTS
    is_record = file is not None and _is_record(file)
    if given.json and not given.plain:
        raise Usage("--json goes with --plain: the walk as JSON lines")
    if given.recheck and not is_record:
        raise Usage("--recheck needs a FILE: the finished record to look at again")
    if given.plain:
        if file is None:
            raise Usage("--plain needs a FILE: a record to open, or a setup to start from")
        return _in_lines(file, is_record, resolved(folder), by, given)
    if not on_a_terminal():
        raise Usage("the full screen needs a terminal; with --plain the walk goes line by line")
    gc.disable()  # nothing of what is imported becomes garbage; the app collects once it is painted
    from heelwise.screens.app import run_app

    return run_app(resolved(folder), file=file, by=by, again=given.recheck)


def _is_record(file: Path) -> bool:
    from heelwise.documents.faults import Fault, Faulty
    from heelwise.documents.files import FileKind, kind_of

    kind = kind_of(file)
    if kind in (FileKind.PROCEDURE, FileKind.CARD, FileKind.STEPS):
        fault = Fault("file", f"{kind}, not a build", "a record to open, or a setup to start from")
        raise Faulty(str(file), [fault])
    return kind is FileKind.RECORD


def _in_lines(file: Path, is_record: bool, folder: Path, by: str, given: argparse.Namespace) -> int:
    from heelwise.commands import walk_lines
    from heelwise.documents.files import own_folder_fault
    from heelwise.session import open_session

    if own := own_folder_fault():
        complain([f"{own.where}: {own.problem}; {own.instead}"])
    if is_record and not given.recheck:
        return (walk_lines.JsonWalk if given.json else walk_lines.WordWalk)(
            open_session(file, by)
        ).walk()
    begin = walk_lines.begin_in_json if given.json else walk_lines.begin_in_words
    return begin(file, folder, by, given.recheck)


def rehearse(given: argparse.Namespace) -> int:
    """Begin a rehearsal, or go on with the one in the folder."""
    from heelwise.session import Session

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
    from heelwise.commands import walk_lines

    return (walk_lines.JsonWalk if given.json else walk_lines.WordWalk)(session).walk()


def _by_itself(record: OpenRecord, tell: bool) -> int:
    from heelwise.rehearsal.rehearse import hands_off, truth_in_words
    from heelwise.session import Session
    from heelwise.sheet.forms import sheet

    def kept(entry: AnyEntry) -> None:
        if tell:
            print(f"kept {entry.number}", flush=True)

    with Session(record) as session:
        known = len(record.entries)
        session.resume()
        # Nobody was told of the first entry of one just begun.
        for entry in record.entries[known if known > 1 else 0 :]:
            kept(entry)
        assert session.truth is not None
        hands_off(session.walker, session.truth, kept)
        say(sheet(record.as_record(), "text"))
        say(truth_in_words(session.walker.scene, session.truth))
    return DONE


def _begin_or_open(given: argparse.Namespace) -> OpenRecord:
    """A record for each engine and procedure, so that one rehearsal is gone on with."""
    from heelwise.documents.record import open_record
    from heelwise.rehearsal.rehearse import begin_rehearsal
    from heelwise.rehearsal.scenario import DEFAULT_CARD, DEFAULT_PROCEDURE, procedure_called

    if not re.fullmatch(r"-?[0-9]{1,18}", given.seed):  # a record holds numbers of 64 bits
        raise Usage(f"--seed {given.seed}: a seed is a whole number of at most 18 digits")
    card, method = given.engine or DEFAULT_CARD, given.procedure or DEFAULT_PROCEDURE
    folder = Path(given.folder)
    folder.mkdir(parents=True, exist_ok=True)
    name = f"rehearsal-{card}" + ("" if method == DEFAULT_PROCEDURE else f"-{method}")
    path = inside(folder, safe_name(name[:64].rstrip("-")) + ".toml")
    if path.exists():
        return open_record(path)
    now = datetime.now().astimezone().replace(microsecond=0)
    return begin_rehearsal(path, card, int(given.seed), procedure_called(method), now)
