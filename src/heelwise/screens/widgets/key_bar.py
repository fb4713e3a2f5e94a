"""The bottom line: as many keys as fit, and where to find the rest."""

from __future__ import annotations

from typing import Any

from textual.content import Content
from textual.screen import Screen
from textual.widget import Widget

from heelwise.screens.doable import Doable, doable
from heelwise.screens.tones import Part, content

MORE = ("Esc", "More")


class KeyBar(Widget):
    """Made of the screen's own bindings, so that it can't say what isn't so."""

    DEFAULT_CSS = "KeyBar { dock: bottom; height: 1; background: $panel; padding: 0 1; }"

    def on_mount(self) -> None:
        """Follow the screen's bindings."""
        self.screen.bindings_updated_signal.subscribe(self, self._changed)

    def _changed(self, screen: Screen[Any]) -> None:
        if screen is self.screen:
            self.refresh()

    def render(self) -> Content:
        """The keys that fit."""
        return bar(doable(self.screen), self.content_size.width)


def bar(keys: list[Doable], width: int) -> Content:
    """Keys with their labels on one line.

    Args:
        keys: What can be done; those not meant for the bar are passed over.
        width: Cells there are.
    """
    shown = [(k.key, k.label) for k in keys if k.shown]
    last = next((pair for pair in shown if pair[0] == MORE[0]), None)
    kept, used = [], _wide(last) if last else 0
    for pair in shown:
        if pair is not last and used + _wide(pair) <= width:
            kept.append(pair)
            used += _wide(pair)
    return content([part for pair in [*kept, *([last] if last else [])] for part in _parts(pair)])


def _wide(pair: tuple[str, str]) -> int:
    return len(pair[0]) + len(pair[1]) + 3


def _parts(pair: tuple[str, str]) -> list[Part]:
    return [(pair[0], "next"), (f" {pair[1]}  ", "plain")]
