"""One of several rows picked, over any screen."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Static

from heelwise.plain_text import one_line
from heelwise.screens.doable import key
from heelwise.screens.tones import Part, content, shown
from heelwise.screens.widgets.rows import Rows

NAME = 26
MOST_IN_SIGHT = 12


class PickScreen(ModalScreen[int]):
    """Rows to pick from; gives the number picked, from 0."""

    CSS_PATH = "modal.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("escape", "back", "Back", "Back, without taking any.", shown=True),
    ]

    def __init__(self, title: str, rows: list[tuple[str, str]], nothing: str) -> None:
        super().__init__()
        self._title, self._rows, self._nothing = title, rows, nothing

    def compose(self) -> ComposeResult:
        """The title, the rows, how to go back."""
        with Vertical(classes="box"):
            yield Static(shown(self._title, "next"), classes="title")
            if self._rows:
                yield Rows()
            else:
                yield Static(shown(self._nothing), classes="body")
            takes: list[Part] = [("Enter", "next"), (" takes it   ", "quiet")]
            back: list[Part] = [("Esc", "next"), (" back", "quiet")]
            yield Static(content([*(takes if self._rows else []), *back]), classes="foot")

    def on_mount(self) -> None:
        """Show the rows."""
        if self._rows:
            rows = self.query_one(Rows)
            rows.styles.height = min(len(self._rows), MOST_IN_SIGHT)
            rows.show(len(self._rows), self._row, 0)
            rows.focus()

    def _row(self, number: int, width: int) -> list[Part]:
        name, said = self._rows[number]
        return [
            (one_line(name, NAME - 1).ljust(NAME), "strong"),
            (one_line(said, max(width - NAME, 1)), "plain"),
        ]

    def on_rows_chosen(self, event: Rows.Chosen) -> None:
        """Take the row pointed at."""
        event.stop()
        self.dismiss(event.row)

    def action_back(self) -> None:
        """Back, without taking any."""
        self.dismiss(None)
