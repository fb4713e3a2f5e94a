"""Something to be read before going back: a file that can't be opened, and why."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from heelwise.screens.doable import key
from heelwise.screens.tones import content, shown


class MessageScreen(ModalScreen[None]):
    """A title and some lines; Esc or Enter goes back."""

    CSS_PATH = "modal.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("escape,enter", "back", "Back", "Back to where you were.", shown=True),
        key("down,pagedown", "scroll(1)", "Down", "Read on."),
        key("up,pageup", "scroll(-1)", "Up", "Read back."),
    ]

    def __init__(self, title: str, said: Content) -> None:
        super().__init__()
        self._title, self._said = title, said

    def compose(self) -> ComposeResult:
        """The title, the lines, how to go back."""
        with Vertical(classes="box"):
            yield Static(shown(self._title, "bad"), classes="title")
            with VerticalScroll(classes="body", can_focus=False):
                yield Static(self._said)
            yield Static(content([("Esc", "next"), (" back", "quiet")]), classes="foot")

    def action_back(self) -> None:
        """Back."""
        self.dismiss(None)

    def action_scroll(self, by: int) -> None:
        """Scroll the lines."""
        self.query_one(VerticalScroll).scroll_relative(y=by * 3, animate=False)
