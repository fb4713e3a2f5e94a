"""The folder's setups that a form can be filled from, to pick one."""

from __future__ import annotations

from pathlib import Path
from typing import ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.message import Message
from textual.screen import ModalScreen
from textual.widgets import Static

from heelwise.documents.lifter_sheets import Source, lifters_in, setups_in
from heelwise.plain_text import one_line
from heelwise.screens.bench_rows import list_folder
from heelwise.screens.doable import key
from heelwise.screens.tones import Part, content, shown
from heelwise.screens.widgets.rows import Rows

NAME = 26
MOST_IN_SIGHT = 12
NOTHING = "No setup in this folder has what can be taken."


class TakeScreen(ModalScreen[Source]):
    """Looks through the folder in the background, the file touched last first."""

    CSS_PATH = "modal.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("escape", "back", "Back", "Back, without taking any.", shown=True),
    ]

    class Found(Message):
        """The folder was looked through."""

        def __init__(self, sources: list[Source]) -> None:
            super().__init__()
            self.sources = sources

    def __init__(self, folder: Path, *, lifters: bool) -> None:
        """Get ready to look.

        Args:
            folder: The folder.
            lifters: Whether the lifter alone is to be taken.
        """
        super().__init__()
        self._folder, self._lifters = folder, lifters
        self._sources: list[Source] = []

    def compose(self) -> ComposeResult:
        """The title, the setups, how to go back."""
        title = "Take the lifter from" if self._lifters else "Fill in the form from"
        with Vertical(classes="box"):
            yield Static(shown(title, "next"), classes="title")
            yield Static(shown("Looking through the folder."), classes="body")
            yield Rows()
            takes: list[Part] = [("Enter", "next"), (" takes it   ", "quiet")]
            back: list[Part] = [("Esc", "next"), (" back", "quiet")]
            yield Static(content([*takes, *back]), classes="foot")

    def on_mount(self) -> None:
        """Begin to look."""
        self.query_one(Rows).display = False
        self._look()

    @work(thread=True)
    def _look(self) -> None:
        try:
            paths = [row.path for row in list_folder(self._folder)]
        except OSError:
            paths = []  # the bench says why
        self.post_message(self.Found((lifters_in if self._lifters else setups_in)(paths)))

    def on_take_screen_found(self, event: Found) -> None:
        """Show what there is."""
        self._sources = event.sources
        said, rows = self.query_one(".body", Static), self.query_one(Rows)
        said.display, rows.display = not self._sources, bool(self._sources)
        said.update(shown(NOTHING))
        if self._sources:
            rows.styles.height = min(len(self._sources), MOST_IN_SIGHT)
            rows.show(len(self._sources), self._row, 0)
            rows.focus()

    def _row(self, number: int, width: int) -> list[Part]:
        source = self._sources[number]
        return [
            (one_line(source.path.stem, NAME - 1).ljust(NAME), "strong"),
            (one_line(source.said, max(width - NAME, 1)), "plain"),
        ]

    def on_rows_chosen(self, event: Rows.Chosen) -> None:
        """Take the setup pointed at."""
        event.stop()
        self.dismiss(self._sources[event.row])

    def action_back(self) -> None:
        """Back, without taking any."""
        self.dismiss(None)
