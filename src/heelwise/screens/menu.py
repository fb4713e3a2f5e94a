"""Everything that can be done now by single keys, for keyboards and consoles without F keys."""

from __future__ import annotations

from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Static

from heelwise.screens.key_actions import KEY_NAMES, KeyAction, key
from heelwise.screens.styled_text import Part, content, shown, wrapped
from heelwise.screens.widgets.drawn import Drawn

ON_EVERY_KEYBOARD = {*KEY_NAMES.values(), "↑↓", "←→"}
LETTERS = "abcdefghijklmnopqrstuvwxyz"


def lettered(actions: list[KeyAction]) -> dict[str, KeyAction]:
    """A key for each: an F key's digit, a single key itself, else the next letter.

    What has a key on every keyboard is passed over.
    """
    wanted = [action for action in actions if action.key not in ON_EVERY_KEYBOARD]
    own = {_own_key(action): action for action in wanted if _own_key(action)}
    rest = [action for action in wanted if not _own_key(action)]
    free = (letter for letter in LETTERS if letter not in own)
    return dict(sorted({**own, **dict(zip(free, rest, strict=False))}.items()))


def _own_key(action: KeyAction) -> str:
    if len(action.key) == 1:
        return action.key
    return action.key[1] if len(action.key) == 2 and action.key[0] == "F" else ""


class MenuScreen(ModalScreen[KeyAction]):
    """Everything that can be done now; a digit or letter does it. Needs no F keys."""

    CSS_PATH = "modal.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("escape", "back", "Back", "Back to where you were.", shown=True),
    ]

    def __init__(self, actions: list[KeyAction]) -> None:
        super().__init__()
        self._actions = lettered(actions)

    def compose(self) -> ComposeResult:
        """Each with its digit or letter and what it does."""
        with Vertical(classes="box"):
            yield Static(shown("What can be done now", "next"), classes="title")
            with VerticalScroll(classes="body", can_focus=False):
                yield Drawn(id="actions")
            yield Static(content([("Esc", "next"), (" back", "quiet")]), classes="foot")

    def on_mount(self) -> None:
        """List them."""
        self.query_one("#actions", Drawn).show(self._lines)

    def _lines(self, width: int) -> list[list[Part]]:
        rows: list[list[Part]] = []
        for letter, action in self._actions.items():
            start: list[Part] = [(f" {letter} ", "key"), ("  ", "plain")]
            words: list[Part] = [(f"{action.label:<13}", "strong"), (action.help, "plain")]
            first, *more = wrapped(words, width - 5, 13)
            rows += [[*start, *first], *([("     ", "plain"), *line] for line in more)]
        return rows

    def on_key(self, event: events.Key) -> None:
        """Do what a digit or letter stands for, or an F key that would do without the list."""
        own = (action for action in self._actions.values() if action.key.lower() == event.key)
        action = self._actions.get(event.character or "") or next(own, None)
        if action is not None and self.is_current:
            event.stop()
            self.dismiss(action)

    def action_back(self) -> None:
        """Do nothing."""
        self.dismiss(None)
