"""A list of rows of which only those in sight are ever drawn, so that thousands cost nothing."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual.binding import BindingType
from textual.content import Content
from textual.message import Message
from textual.widget import Widget

from heelwise.screens.key_actions import key
from heelwise.screens.styled_text import Part, content
from heelwise.screens.theme import glyphs

Draw = Callable[[int, int], list[Part]]
"""Draws a row, by its number from 0, for a width in cells."""


class Rows(Widget, can_focus=True):
    """A list with a cursor."""

    DEFAULT_CSS = "Rows { height: 1fr; width: 1fr; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("up", "move(-1)", "Up", "The row above."),
        key("down", "move(1)", "Down", "The row below."),
        key("pageup", "page(-1)", "Page up", "A screenful up."),
        key("pagedown", "page(1)", "Page down", "A screenful down."),
        key("home", "move(-1000000)", "First", "The first row."),
        key("end", "move(1000000)", "Last", "The last row."),
        key("enter", "choose", "Open", "Take the row that is pointed at."),
    ]

    class Chosen(Message):
        """A row was taken."""

        def __init__(self, row: int) -> None:
            super().__init__()
            self.row = row

    class Moved(Message):
        """Other rows came in sight, or another one is pointed at."""

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.count = 0
        self.cursor = 0
        self.first = 0
        self._draw: Draw | None = None

    @property
    def in_sight(self) -> range:
        """The rows that can be seen."""
        return range(self.first, min(self.first + max(self.size.height, 1), self.count))

    def show(self, count: int, draw: Draw, cursor: int | None = None) -> None:
        """Show these rows."""
        self.count, self._draw = count, draw
        self._point(self.cursor if cursor is None else cursor)

    def action_move(self, by: int) -> None:
        """Point at another row."""
        self._point(self.cursor + by)

    def action_page(self, by: int) -> None:
        """Point a screenful on."""
        self._point(self.cursor + by * max(self.size.height - 1, 1))

    def action_choose(self) -> None:
        """Take the row pointed at."""
        if self.count:
            self.post_message(self.Chosen(self.cursor))

    def on_resize(self) -> None:
        """Keep the row pointed at in sight."""
        self._point(self.cursor)

    def _point(self, row: int) -> None:
        self.cursor = max(0, min(row, self.count - 1))
        height = max(self.size.height, 1)
        self.first = max(0, min(self.first, self.count - height))
        self.first = min(max(self.first, self.cursor - height + 1), self.cursor)
        self.refresh()
        self.post_message(self.Moved())

    def render(self) -> Content:
        """The rows in sight, the one pointed at marked."""
        width = self.content_size.width
        if self._draw is None or width < 3:
            return Content("")
        drawn = []
        for row in self.in_sight:
            here = row == self.cursor
            mark: Part = (f"{glyphs().next} " if here else "  ", "next")
            line = content([mark, *self._draw(row, width - 2)]).truncate(width, pad=True)
            drawn.append(line.stylize("on $panel") if here else line)
        return Content("\n").join(drawn)
