"""Lines, pictures, lists and a line to type in, made for whatever room there is."""

from collections.abc import Callable
from typing import ClassVar

from textual import events
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.geometry import Size
from textual.message import Message
from textual.widget import Widget
from textual.widgets import Input

from heelwise.pictures.cells import Grid, runs
from heelwise.plain_text import Part, one_line
from heelwise.screens.key_actions import key
from heelwise.screens.styled_text import content, lines

DrawLines = Callable[[int], list[list[Part]]]
"""Gives lines no wider than a number of cells."""


class Drawn(Widget):
    """Shows what a drawing function gives for its width."""

    DEFAULT_CSS = "Drawn { width: 1fr; height: auto; }"

    def __init__(
        self, draw: DrawLines | None = None, *, id: str | None = None, classes: str = ""
    ) -> None:
        super().__init__(id=id, classes=classes)
        self._draw = draw
        self._drawn: tuple[object, list[list[Part]]] = (None, [])

    def show(self, draw: DrawLines) -> None:
        """Draw with this from now on."""
        before, width = len(self._drawn[1]), self.content_size.width
        self._draw, self._drawn = draw, (None, [])
        self.refresh(layout=not width or len(self.rows(width)) != before)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """As many rows as there are lines."""
        return len(self.rows(width))

    def render(self) -> Content:
        """The lines for the present width."""
        return lines(self.rows(self.content_size.width))

    def rows(self, width: int) -> list[list[Part]]:
        """The lines for a width."""
        room = (max(width, 1), self.app.size.height)
        if self._draw is not None and self._drawn[0] != room:
            self._drawn = (room, self._draw(room[0]))
        return self._drawn[1]


Draw = Callable[[int, int], list[list[Part]]]
"""Gives lines for a width and a height in cells."""


class Picture(Widget):
    """Shows what a drawing function gives for its size."""

    DEFAULT_CSS = "Picture { width: 1fr; height: 1fr; }"

    def __init__(self, draw: Draw | None = None, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._draw = draw

    def show(self, draw: Draw) -> None:
        """Draw with this from now on."""
        self._draw = draw
        self.refresh()

    def render(self) -> Content:
        """Draw for the present size."""
        size = self.content_size
        if self._draw is None or size.width < 1 or size.height < 1:
            return Content("")
        return lines(self._draw(size.width, size.height))


def grid_lines(grid: Grid) -> list[list[Part]]:
    """A grid of cells as lines."""
    return list(map(runs, grid))


DrawRow = Callable[[int, int], list[Part]]
"""Draws a row, by its number from 0, for a width in cells."""


MOVES = (
    key("up", "move(-1)", "Up", "The row above."),
    key("down", "move(1)", "Down", "The row below."),
    key("pageup", "page(-1)", "Page up", "A screenful up."),
    key("pagedown", "page(1)", "Page down", "A screenful down."),
)


class Rows(Widget, can_focus=True):
    """A list with a cursor."""

    DEFAULT_CSS = "Rows { height: 1fr; width: 1fr; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        *MOVES,
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
        self._draw: DrawRow | None = None

    @property
    def in_sight(self) -> range:
        """The rows that can be seen."""
        return range(self.first, min(self.first + max(self.size.height, 1), self.count))

    def show(self, count: int, draw: DrawRow, cursor: int | None = None) -> None:
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
            mark: Part = ("▶ " if here else "  ", "next")
            line = content([mark, *self._draw(row, width - 2)]).truncate(width, pad=True)
            drawn.append(line.stylize("on $panel") if here else line)
        return Content("\n").join(drawn)


LONGEST = 500
"""Characters a line takes."""


class TextLine(Input, inherit_bindings=False):
    """One line of text. Enter is left to whatever holds the line, after all that was typed.

    Left to bubble it comes after keys pressed after it; `on_enter` is called at once.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        binding
        for binding in Input.BINDINGS
        if not (isinstance(binding, Binding) and binding.key == "enter")
    ]

    DEFAULT_CSS = """
    TextLine, TextLine:focus { height: 1; border: none; padding: 0; background: $panel; }
    TextLine > .input--placeholder { color: $hw-quiet; }
    """

    def __init__(
        self,
        *,
        id: str | None = None,
        placeholder: str = "",
        on_enter: Callable[[], None] | None = None,
    ) -> None:
        super().__init__(id=id, placeholder=placeholder, max_length=LONGEST, select_on_focus=False)
        self.cursor_blink = False
        self._entered = on_enter

    async def _on_key(self, event: events.Key) -> None:
        if event.key == "enter" and self._entered is not None:
            event.stop()
            event.prevent_default()
            self._entered()

    def put(self, typed: str) -> None:
        """Put a text in, the cursor after it."""
        self.value = typed
        self.cursor_position = len(typed)

    def _on_paste(self, event: events.Paste) -> None:
        event.prevent_default()
        event.stop()
        self.insert_text_at_cursor(one_line(event.text, LONGEST))
