"""Everything that can be done now, by single keys: for keyboards and consoles without F keys."""

from __future__ import annotations

from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Static

from heelwise.screens.doable import Doable, key
from heelwise.screens.tones import content, lines, shown

LETTERS = "abcdefghijklmnopqrstuvwxyz"
OF_THEMSELVES = (
    *("Esc", "Enter", "PgDn", "PgUp", "Up", "Down", "Home", "End"),
    *("left", "right", "LEFT", "RIGHT", "DELETE"),
)
"""Keys every keyboard has, which a menu need not stand in for."""


def lettered(things: list[Doable]) -> dict[str, Doable]:
    """A key for everything: an F key's digit, a single key itself, else the next letter.

    Args:
        things: What can be done; what has a key on every keyboard is passed over.
    """
    wanted = [thing for thing in things if thing.key not in OF_THEMSELVES]
    found = {own: thing for thing in wanted if (own := _own_key(thing))}
    rest = [thing for thing in wanted if not _own_key(thing)]
    free = (letter for letter in LETTERS if letter not in found)
    return dict(sorted({**found, **dict(zip(free, rest, strict=False))}.items()))


def _own_key(thing: Doable) -> str:
    if len(thing.key) == 1:
        return thing.key
    return thing.key[1] if len(thing.key) == 2 and thing.key[0] == "F" else ""


class MenuScreen(ModalScreen[Doable]):
    """A list of what can be done; a digit or letter does it."""

    CSS_PATH = "modal.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("escape", "back", "Back", "Back to where you were.", shown=True),
    ]

    def __init__(self, things: list[Doable]) -> None:
        super().__init__()
        self._things = lettered(things)

    def compose(self) -> ComposeResult:
        """Each with its digit, its own key and what it does."""
        with Vertical(classes="box"):
            yield Static(shown("What can be done now", "next"), classes="title")
            with VerticalScroll(classes="body", can_focus=False):
                yield Static(
                    lines(
                        [
                            (f" {letter} ", "key"),
                            (f" {thing.label:<12}", "strong"),
                            (f"{thing.says} ", "plain"),
                            (thing.key, "quiet"),
                        ]
                        for letter, thing in self._things.items()
                    )
                )
            yield Static(content([("Esc", "next"), (" back", "quiet")]), classes="foot")

    def on_key(self, event: events.Key) -> None:
        """Do what a digit or letter stands for, or an F key that would do without the list."""
        own = (thing for thing in self._things.values() if thing.key.lower() == event.key)
        thing = self._things.get(event.character or "") or next(own, None)
        if thing is not None:
            event.stop()
            self.dismiss(thing)

    def action_back(self) -> None:
        """Do nothing."""
        self.dismiss(None)
