"""Help for the screen it is called from: what it shows, and its keys as they are bound."""

from __future__ import annotations

from importlib.resources import files
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Markdown, Static

from heelwise.screens.key_actions import KeyAction, key
from heelwise.screens.styled_text import Part, lines
from heelwise.screens.widgets.bars import KeyBar

PAGES = {"WalkScreen": "walk", "BenchScreen": "bench", "StartScreen": "start"}
PAGES |= {"TimelineScreen": "timeline", "SheetScreen": "sheet", "PushrodsScreen": "pushrods"}
PAGES |= {"SetupFormScreen": "setup-form", "CrankPicture": "crank-picture"}
"""The page of help of every screen that has one."""


class HelpScreen(Screen[None]):
    """One page that scrolls."""

    CSS_PATH = "help.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("escape,f1", "back", "Back", "Back to where you were.", shown=True),
        key("down,pagedown", "scroll(1)", "Down", "Read on.", shown=True),
        key("up,pageup", "scroll(-1)", "Up", "Read back.", shown=True),
    ]

    def __init__(self, page: str, keys: list[KeyAction], here: Content | None = None) -> None:
        super().__init__()
        self._page, self._keys, self._here = page, keys, here

    def compose(self) -> ComposeResult:
        """What is here now, the keys, then the page."""
        with VerticalScroll(id="page", can_focus=False):
            if self._here is not None:
                yield Static(self._here, id="here")
            yield Static(key_table(self._keys), id="keys")
            yield Markdown(page_text(self._page), open_links=False)
        yield KeyBar()

    def action_scroll(self, pages: int) -> None:
        """Scroll most of a screenful."""
        page = self.query_one("#page", VerticalScroll)
        page.scroll_relative(y=pages * max(page.size.height - 2, 1), animate=False)

    def action_back(self) -> None:
        """Back to where it was called from."""
        self.dismiss(None)


def page_text(page: str) -> str:
    """A page of help, written for one screen."""
    return (files("heelwise.screens") / "pages" / f"{page}.md").read_text(encoding="utf-8")


def key_table(keys: list[KeyAction]) -> Content:
    """Every key with its label and what it does."""
    rows: list[list[Part]] = [[("Keys that act here", "next")]]
    for thing in keys:
        rows.append(
            [(f"{thing.key:>6}  ", "next"), (f"{thing.label:<12}", "strong"), (thing.says, "plain")]
        )
    return lines(rows)
