"""Opening what was chosen: a build to go on with, a setup to start from, or why neither."""

from __future__ import annotations

from pathlib import Path

from textual.screen import Screen

from heelwise.documents.faults import Faulty
from heelwise.documents.kinds import Kind, kind_of
from heelwise.documents.record_reading import read_record
from heelwise.documents.setup import load_setup
from heelwise.screens.message import MessageScreen
from heelwise.screens.sheet import SheetScreen
from heelwise.screens.sitting import Sitting, methods_for, open_sitting
from heelwise.screens.start import StartScreen
from heelwise.screens.tones import lines
from heelwise.storage.errors import StorageError
from heelwise.storage.locks import Held


def open_file(path: Path, folder: Path, by: str) -> Sitting | StartScreen | Screen[None]:
    """Open a file of the bench.

    Args:
        path: A record or a setup.
        folder: Where a new build's record goes.
        by: Initials of whoever is at the engine, where given.

    Returns:
        A sitting to walk on with, a screen to start a build on, a sheet to read only, or a
        message of what is wrong.
    """
    try:
        if kind_of(path) is Kind.RECORD:
            return _record(path, by)
        setup = load_setup(path)
        return StartScreen(path, setup, methods_for(setup, path.name), folder, by)
    except Faulty as faulty:
        rows = [[(str(fault), "plain")] for fault in faulty.faults]
        return MessageScreen(f"{path.name} can't be used", lines(rows))


def _record(path: Path, by: str) -> Sitting | Screen[None]:
    try:
        return open_sitting(path, by)
    except Held as held:
        return SheetScreen(read_record(path), f"Read only: {held.problem}.")
    except StorageError as error:
        return MessageScreen(
            f"{path.name} can't be opened for work",
            lines(
                [
                    [(error.problem, "bad")],
                    [("Where: ", "quiet"), (error.where, "plain")],
                    [("What to do: ", "quiet"), (error.instead, "plain")],
                ]
            ),
        )
