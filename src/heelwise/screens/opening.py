"""Opening what was chosen: a build to go on with, a setup to start from, or why neither."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from textual.screen import Screen

from heelwise.documents.faults import Faulty
from heelwise.documents.record import read_record
from heelwise.documents.setup import load_setup
from heelwise.documents.toml import FileKind, kind_of
from heelwise.screens.styled_text import Part, lines
from heelwise.session import Session, open_session, procedures_for
from heelwise.storage.errors import Held, StorageError

if TYPE_CHECKING:  # a build is gone on with far more often than any other screen is wanted
    from heelwise.screens.start import StartScreen


def open_file(path: Path, folder: Path, by: str) -> Session | StartScreen | Screen[None]:
    """Open a file of the bench."""
    try:
        if kind_of(path) is FileKind.RECORD:
            return _record(path, by)
        return _setup(path, folder, by)
    except Faulty as faulty:
        rows = [[(str(fault), "plain")] for fault in faulty.faults]
        return _message(f"{path.name} can't be used", rows)


def _setup(path: Path, folder: Path, by: str) -> StartScreen:
    from heelwise.screens.start import StartScreen

    setup = load_setup(path)
    return StartScreen(path, setup, procedures_for(setup, path.name), folder, by)


def _message(title: str, rows: list[list[Part]]) -> Screen[None]:
    from heelwise.screens.ask import MessageScreen

    return MessageScreen(title, lines(rows))


def _record(path: Path, by: str) -> Session | Screen[None]:
    try:
        return open_session(path, by)
    except Held as held:
        from heelwise.screens.reading import SheetScreen

        return SheetScreen(read_record(path), f"Read only: {held.problem}.")
    except StorageError as error:
        return _message(
            f"{path.name} can't be opened for work",
            [
                [(error.problem, "bad")],
                [("Where: ", "quiet"), (error.where, "plain")],
                [("What to do: ", "quiet"), (error.instead, "plain")],
            ],
        )
