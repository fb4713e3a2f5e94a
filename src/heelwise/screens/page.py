"""One page that scrolls: its title, its lines made for the width, the keys that move it."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.widgets import Static

from heelwise.screens.key_actions import key
from heelwise.screens.styled_text import Part, content
from heelwise.screens.widgets.bars import KeyBar
from heelwise.screens.widgets.drawn import Drawn

SCROLL_KEYS: list[BindingType] = [
    key("down,up", "scroll(3)", "Scroll", "Scroll down; Up scrolls back.", shown=True, told="↑↓"),
    key("up", "scroll(-3)", "Up", "Scroll up."),
    key("pagedown,space", "page(1)", "Page", "A screenful on.", shown=True),
    key("pageup", "page(-1)", "Page up", "A screenful back."),
    key("home", "end(-1)", "Top", "To the top."),
    key("end", "end(1)", "End", "To the end."),
]


class PageScreen(Screen[None]):
    """A page to be read; it gives its title and its lines."""

    CSS_PATH = "page.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("f1", "app.help", "Help", "What this shows, and every key.", shown=True),
        *SCROLL_KEYS,
        key("escape", "back", "Back", "Back to where you were.", shown=True),
    ]

    def title_parts(self) -> list[Part]:
        """The line above the page."""
        raise NotImplementedError

    def page_lines(self, width: int) -> list[list[Part]]:
        """The page for a width."""
        raise NotImplementedError

    def compose(self) -> ComposeResult:
        """The title and the page."""
        yield Static(id="title")
        with VerticalScroll(id="page", can_focus=False):
            yield Drawn(id="lines")
        yield KeyBar()

    def on_mount(self) -> None:
        """Show the page."""
        self.show_lengths()

    def show_lengths(self) -> None:
        """Draw the page, in the unit chosen."""
        self.query_one("#title", Static).update(content(self.title_parts()))
        self.query_one("#lines", Drawn).show(self.page_lines)

    def action_scroll(self, by: int) -> None:
        """Scroll some lines."""
        self.query_one("#page", VerticalScroll).scroll_relative(y=by, animate=False)

    def action_page(self, pages: int) -> None:
        """Scroll most of a screenful."""
        page = self.query_one("#page", VerticalScroll)
        page.scroll_relative(y=pages * max(page.size.height - 2, 1), animate=False)

    def action_end(self, which: int) -> None:
        """To the top or to the end."""
        page = self.query_one("#page", VerticalScroll)
        page.scroll_to(y=0 if which < 0 else page.max_scroll_y, animate=False)

    def action_back(self) -> None:
        """Back to where it was called from."""
        self.dismiss(None)
