"""Help for the screen it is called from: what it shows, and its keys as they are bound."""

from __future__ import annotations

from importlib.resources import files
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Markdown, Static

from heelwise.screens.key_actions import KeyAction, key
from heelwise.screens.page import PageScreen
from heelwise.screens.styled_text import Part, lines
from heelwise.screens.widgets.bars import KeyBar

PAGES = {
    "WalkScreen": "walk",
    "BenchScreen": "bench",
    "StartScreen": "start",
    "TimelineScreen": "timeline",
    "SheetScreen": "sheet",
    "PushrodsScreen": "pushrods",
    "SetupFormScreen": "setup-form",
    "CrankPicture": "crank-picture",
}
"""The page of help of every screen that has one."""


class HelpScreen(PageScreen):
    """What is here now, the keys, then the page."""

    BINDINGS: ClassVar[list[BindingType]] = [key("f1", "back", "Back", "Back to where you were.")]

    def __init__(self, page: str, keys: list[KeyAction], here: Content | None = None) -> None:
        super().__init__()
        self._page, self._keys, self._here = page, keys, here

    def compose(self) -> ComposeResult:
        """The question, where there is one; the keys; the page."""
        with VerticalScroll(id="page", can_focus=False):
            if self._here is not None:
                yield Static(self._here, id="here")
            yield Static(key_table(self._keys), id="keys")
            yield Markdown(page_text(self._page), open_links=False)
        yield KeyBar()

    def show_lengths(self) -> None:
        """Nothing here is made for a unit."""


def page_text(page: str) -> str:
    """A page of help, written for one screen."""
    return (files("heelwise.screens") / "pages" / f"{page}.md").read_text(encoding="utf-8")


def key_table(keys: list[KeyAction]) -> Content:
    """Every key with its label and what it does."""
    rows: list[list[Part]] = [[("Keys that act here", "next")]]
    rows += [
        [(f"{each.key:>6}  ", "next"), (f"{each.label:<13}", "strong"), (each.help, "plain")]
        for each in keys
    ]
    return lines(rows)
