"""`heelwise` and `heelwise FILE`: the bench, a record, or a new build from a setup file."""

from __future__ import annotations

import argparse
import gc
import os
from pathlib import Path

from heelwise.commands.reporting import Usage, complain, on_a_terminal
from heelwise.documents.faults import Fault, Faulty
from heelwise.storage.names import initials, resolved

FOLDER = "HEELWISE_FOLDER"
"""Environment variable naming the folder of builds."""


def run(given: argparse.Namespace) -> int:
    """Open what was named, full screen or line by line."""
    file = Path(given.file) if given.file else None
    by = initials(given.by) if given.by is not None else ""
    folder = _folder(given, file)
    if file is not None:
        _must_be_build_or_setup(file, given.file)
    if given.json and not given.plain:
        raise Usage("--json goes with --plain: the walk as JSON lines")
    if given.plain:
        return _in_lines(file, folder, by, given.json)
    if not on_a_terminal():
        raise Usage("the full screen needs a terminal; with --plain the walk goes line by line")
    gc.disable()  # nothing of what is imported becomes garbage; the app collects once it is painted
    from heelwise.screens.app import run_app

    return run_app(folder, file=file, by=by)


def _folder(given: argparse.Namespace, file: Path | None) -> Path:
    named = given.folder or os.environ.get(FOLDER)
    folder = Path(named) if named else file.parent if file else Path()
    if not os.path.isdir(folder):
        fault = Fault("folder", "is not there", "make it first, or name one that exists")
        raise Faulty(str(folder), [fault])
    return resolved(folder)


def _must_be_build_or_setup(file: Path, named: str) -> None:
    from heelwise.documents.toml import FileKind, kind_of  # the bench reads nothing yet

    kind = kind_of(file)
    if kind in (FileKind.PROCEDURE, FileKind.CARD, FileKind.STEPS):
        fault = Fault("file", f"{kind}, not a build", "a record to open, or a setup to start from")
        raise Faulty(named, [fault])


def _in_lines(file: Path | None, folder: Path, by: str, as_json: bool) -> int:
    from heelwise.commands import json_walk, plain_walk
    from heelwise.documents.folders import own_folder_fault
    from heelwise.documents.toml import FileKind, kind_of
    from heelwise.session import open_session

    own = own_folder_fault()
    if own is not None:
        complain([f"{own.where}: {own.problem}; {own.instead}"])
    if file is None:
        raise Usage("--plain needs a FILE: a record to open, or a setup to start from")
    if kind_of(file) is FileKind.RECORD:
        walk = json_walk.walk_in_json if as_json else plain_walk.walk_in_lines
        return walk(open_session(file, by))
    begin = json_walk.begin_in_json if as_json else plain_walk.begin_in_lines
    return begin(file, folder, by)
