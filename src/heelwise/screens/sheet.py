"""The sheet: a record under way or finished, laid out for reading."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.widgets import Static

from heelwise.documents.record_reading import Record
from heelwise.plain_text import one_line
from heelwise.screens.doable import key
from heelwise.screens.lengths import lengths_in, lengths_key
from heelwise.screens.sheet_lines import layout_of, sheet_lines
from heelwise.screens.tones import Part, content
from heelwise.screens.widgets.drawn import Drawn
from heelwise.screens.widgets.key_bar import KeyBar
from heelwise.screens.wrapping import all_wrapped


class SheetScreen(Screen[None]):
    """One page that scrolls, of all valves or of one."""

    CSS_PATH = "sheet.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("f1", "app.help", "Help", "What this shows, and every key.", shown=True),
        key("down", "scroll(3)", "Down", "Read on."),
        key("up", "scroll(-3)", "Up", "Read back."),
        key("pagedown,space", "page(1)", "Page down", "A screenful on.", shown=True),
        key("pageup", "page(-1)", "Page up", "A screenful back.", shown=True),
        key("home", "top", "Top", "To the top."),
        key("end", "end", "End", "To the last seal.", shown=True),
        key(
            "v,right",
            "valve(1)",
            "Valve",
            "One valve alone, then the next; at last all.",
            shown=True,
        ),
        key("left", "valve(-1)", "Valve before", "The valve before."),
        lengths_key(),
        key("escape,f6", "back", "Back", "Back to where you were.", shown=True),
    ]

    def __init__(self, record: Record, said: str = "") -> None:
        super().__init__()
        self._layout_of_record = layout_of(record)
        self._said = said
        self._valve = ""

    def compose(self) -> ComposeResult:
        """The title and the page."""
        yield Static(id="title")
        with VerticalScroll(id="page", can_focus=False):
            yield Drawn(id="lines")
        yield KeyBar()

    def on_mount(self) -> None:
        """Show all valves."""
        self._draw()

    def _draw(self) -> None:
        sheet = self._layout_of_record
        name = one_line(sheet.name, 60)
        parts: list[Part] = [(f" {name}  ", "next"), (self._said, "warn")]
        self.query_one("#title", Static).update(content(parts))
        valve, unit = self._valve, lengths_in(self)

        def lines_for(width: int) -> list[list[Part]]:
            return all_wrapped(sheet_lines(sheet, width, valve, unit), width, indent=4)

        self.query_one("#lines", Drawn).show(lines_for)

    def show_lengths(self) -> None:
        """Show the page in the unit chosen."""
        self._draw()

    def action_scroll(self, by: int) -> None:
        """Scroll some lines."""
        self.query_one("#page", VerticalScroll).scroll_relative(y=by, animate=False)

    def action_page(self, pages: int) -> None:
        """Scroll most of a screenful."""
        page = self.query_one("#page", VerticalScroll)
        page.scroll_relative(y=pages * max(page.size.height - 2, 1), animate=False)

    def action_top(self) -> None:
        """To the top."""
        self.query_one("#page", VerticalScroll).scroll_home(animate=False)

    def action_end(self) -> None:
        """To the end, where the last seal is."""
        self.query_one("#page", VerticalScroll).scroll_end(animate=False)

    def action_valve(self, by: int) -> None:
        """Another valve alone, or all of them."""
        names = ["", *(row.valve for row in self._layout_of_record.rows)]
        self._valve = names[(names.index(self._valve) + by) % len(names)]
        self._draw()
        self.action_top()

    def action_back(self) -> None:
        """Back to where it was called from."""
        self.dismiss(None)
