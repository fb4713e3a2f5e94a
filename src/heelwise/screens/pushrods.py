"""The set of pushrods: every valve read against its window, what to try, what to buy."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.widgets import Static

from heelwise.screens.doable import key
from heelwise.screens.lengths import lengths_in, lengths_key
from heelwise.screens.pushrod_rows import (
    checked_rows,
    figures,
    repeats_said,
    to_buy,
    valve_rows,
)
from heelwise.screens.tones import Part, shown
from heelwise.screens.widgets.drawn import Drawn
from heelwise.screens.widgets.key_bar import KeyBar
from heelwise.screens.wrapping import all_wrapped
from heelwise.walk.pushrod_set import set_of
from heelwise.walk.scene import Scene

BESIDE_BAR, LEAST_BAR, MOST_BAR = 56, 16, 40


class PushrodsScreen(Screen[None]):
    """One row a valve, then the order."""

    CSS_PATH = "pushrods.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("f1", "app.help", "Help", "What this shows, and every key.", shown=True),
        key("down,pagedown", "scroll(1)", "Down", "Read on.", shown=True),
        key("up,pageup", "scroll(-1)", "Up", "Read back.", shown=True),
        lengths_key(),
        key("escape,f9", "back", "Back", "Back to the question.", shown=True),
    ]

    def __init__(self, scene: Scene) -> None:
        super().__init__()
        self._scene = scene

    def compose(self) -> ComposeResult:
        """The figures in use, the valves, the order."""
        yield Static(
            shown(" Pushrods: what was read, what to try, what to buy", "next"), id="title"
        )
        with VerticalScroll(id="page", can_focus=False):
            yield Drawn(id="rows")
        yield KeyBar()

    def on_mount(self) -> None:
        """Show the set."""
        self.show_lengths()

    def show_lengths(self) -> None:
        """Show the set in the unit chosen."""
        self.query_one("#rows", Drawn).show(self._lines)

    def _lines(self, width: int) -> list[list[Part]]:
        bar_width = min(max(width - BESIDE_BAR, LEAST_BAR), MOST_BAR)
        unit = lengths_in(self)
        found = set_of(self._scene)
        rows = [
            *figures(self._scene, unit),
            *valve_rows(self._scene, bar_width, unit),
            *checked_rows(found, unit),
            *repeats_said(found, unit),
            *to_buy(found, unit),
        ]
        return all_wrapped(rows, width, indent=4)

    def action_scroll(self, pages: int) -> None:
        """Scroll most of a screenful."""
        page = self.query_one("#page", VerticalScroll)
        page.scroll_relative(y=pages * max(page.size.height - 2, 1), animate=False)

    def action_back(self) -> None:
        """Back to the question."""
        self.dismiss(None)
