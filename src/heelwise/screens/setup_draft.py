"""What fills the setup form: a draft kept while it is typed, or another setup of the folder."""

from __future__ import annotations

import json
import threading
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import ClassVar

from textual import work
from textual.binding import BindingType
from textual.widgets import Static

from heelwise.documents.form_check import Source, lifters_in, setups_in
from heelwise.documents.setup_form import FIELD, LONGEST_TYPED
from heelwise.plain_text import Part, one_line
from heelwise.screens.drawn import Rows
from heelwise.screens.key_actions import key
from heelwise.screens.modals import Box
from heelwise.screens.shelf import list_folder
from heelwise.screens.styled_text import shown
from heelwise.storage.errors import StorageError, Unreadable
from heelwise.storage.whole_files import NEW_SETUP, keep_draft, read_draft

MOST_DRAFTS = 9
"""Drafts that can't be read are left alone, and the next name is taken, up to this many."""


class SetupDraft:
    """One draft. Writing goes on behind the typing; the latest text wins, none before it after."""

    def __init__(
        self, folder: Path, told: Callable[[StorageError], object], called: str = NEW_SETUP
    ) -> None:
        self._folder, self._told = folder, told
        self._wanted: list[str | None] = []
        self._lock = threading.Lock()
        self._writer: threading.Thread | None = None
        self.passed_over: list[StorageError] = []
        """Why earlier drafts can't be used; they stay where they are."""
        self.name, self.typed = self._newest(called)

    def _newest(self, called: str) -> tuple[str, dict[str, str]]:
        name = called
        for number in range(1, MOST_DRAFTS + 1):
            name = called if number == 1 else f"{called}-{number}"
            try:
                text = read_draft(self._folder, name)
                return name, _typed_in(text, name) if text is not None else {}
            except StorageError as error:
                self.passed_over.append(error)
        return name, {}

    def keep(self, typed: Mapping[str, str]) -> None:
        """Keep what stands in the fields from now on."""
        filled = {where: text for where, text in typed.items() if text}
        self._want(json.dumps({"format": 1, "typed": filled}, indent=1) if filled else None)

    def remove(self) -> None:
        """Let it go: it became a setup, or was given up."""
        self._want(None)

    def settle(self) -> None:
        """Wait until the latest text is kept or was told not to be."""
        writer = self._writer
        if writer is not None:
            writer.join()

    def _want(self, text: str | None) -> None:
        with self._lock:
            self._wanted = [text]
            if self._writer is None:
                self._writer = threading.Thread(target=self._write, name="draft")
                self._writer.start()

    def _write(self) -> None:
        while True:
            with self._lock:
                if not self._wanted:
                    self._writer = None
                    return
                text = self._wanted.pop()
            try:
                keep_draft(self._folder, self.name, text)
            except StorageError as error:
                self._told(error)


def _typed_in(text: str, name: str) -> dict[str, str]:
    try:
        document = json.loads(text)
    except (ValueError, RecursionError):
        document = None
    typed = document.get("typed") if isinstance(document, dict) else None
    if not isinstance(typed, dict):
        raise Unreadable("the draft is damaged", f"{name}.draft", "look at it, or remove it")
    return {
        where: value[:LONGEST_TYPED]
        for where, value in typed.items()
        if where in FIELD and isinstance(value, str)
    }


NAME_WIDTH = 26
MOST_IN_SIGHT = 12


class CopyFromScreen(Box[Source]):
    """Looks through the folder in the background, the file touched last first."""

    BINDINGS: ClassVar[list[BindingType]] = [
        key("escape", "back", "Back", "Back, without taking any.", shown=True),
    ]

    def __init__(self, folder: Path, *, lifters: bool) -> None:
        title = "Enter takes the lifter of" if lifters else "Enter fills in the form from"
        looking = Static(shown("Looking through the folder."), id="looking")
        rows = Rows()
        rows.display = False
        super().__init__((title, "next"), looking, rows)
        self._folder, self._lifters = folder, lifters
        self._sources: list[Source] = []

    @work(thread=True)
    def on_mount(self) -> None:
        """Look through the folder."""
        try:
            paths = [row.path for row in list_folder(self._folder)]
        except OSError:
            paths = []  # the bench says why
        self.call_later(self._list, (lifters_in if self._lifters else setups_in)(paths))

    def _list(self, sources: list[Source]) -> None:
        self._sources = sources
        if not sources:
            nothing = "No setup in this folder has what can be taken."
            self.query_one("#looking", Static).update(shown(nothing))
            return
        self.query_one(".body").display = False
        rows = self.query_one(Rows)
        rows.display = True
        rows.styles.height = min(len(sources), MOST_IN_SIGHT)
        rows.show(len(sources), self._row, 0)
        rows.focus()

    def _row(self, number: int, width: int) -> list[Part]:
        source = self._sources[number]
        return [
            (one_line(source.path.stem, NAME_WIDTH - 1).ljust(NAME_WIDTH), "strong"),
            (one_line(source.summary, max(width - NAME_WIDTH, 1)), "plain"),
        ]

    def on_rows_chosen(self, event: Rows.Chosen) -> None:
        """Take the setup pointed at."""
        event.stop()
        self.dismiss(self._sources[event.row])
