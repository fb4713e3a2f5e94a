"""A choice on a form: every value in sight with its digit, the one taken marked."""

from __future__ import annotations

from typing import ClassVar

from textual import events
from textual.binding import BindingType
from textual.content import Content
from textual.geometry import Size
from textual.message import Message
from textual.widget import Widget

from heelwise.screens.doable import key
from heelwise.screens.glyphs import glyphs
from heelwise.screens.tones import Part, lines

Choices = tuple[tuple[str, str], ...]
"""Values, and what each is called."""


class ChoiceLine(Widget, can_focus=True):
    """One of a few values, or none."""

    DEFAULT_CSS = """
    ChoiceLine { height: auto; width: 1fr; }
    ChoiceLine:focus { background: $panel; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        key("right,space", "move(1)", "Next choice", "Take the next value; a digit takes its own."),
        key("left", "move(-1)", "Last choice", "Take the value before."),
        key("delete,backspace", "clear", "No choice", "Take none of the values."),
    ]

    class Changed(Message):
        """Another value was taken."""

        def __init__(self, line: ChoiceLine) -> None:
            super().__init__()
            self.line = line

        @property
        def control(self) -> ChoiceLine:
            """The line."""
            return self.line

    def __init__(self, choices: Choices, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.choices, self.value = choices, ""

    def put(self, value: str) -> None:
        """Take a value; what is none of them counts as none taken."""
        self.value = value if value in dict(self.choices) else ""
        self.refresh(layout=True)

    def _take(self, value: str) -> None:
        self.put(value)
        self.post_message(self.Changed(self))

    def on_key(self, event: events.Key) -> None:
        """A digit takes its value."""
        digit = event.character or ""
        if digit.isascii() and digit.isdigit() and 0 < int(digit) <= len(self.choices):
            event.stop()
            self._take(self.choices[int(digit) - 1][0])

    def action_move(self, by: int) -> None:
        """Take another value."""
        values = [value for value, _ in self.choices]
        at = values.index(self.value) if self.value in values else (-1 if by > 0 else 0)
        self._take(values[(at + by) % len(values)])

    def action_clear(self) -> None:
        """Take none."""
        self._take("")

    def _lines(self, width: int) -> list[list[Part]]:
        signs = glyphs()
        rows: list[list[Part]] = [[]]
        used = 0
        for number, (value, called) in enumerate(self.choices, start=1):
            mine = value == self.value
            said = f"{number} {signs.proved if mine else signs.inside} {called}"
            if used and used + len(said) > width:
                rows.append([])
                used = 0
            rows[-1] += [(said, "next" if mine else "plain"), ("  ", "plain")]
            used += len(said) + 2
        return rows

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """As many rows as there are lines."""
        return len(self._lines(max(width, 1)))

    def render(self) -> Content:
        """The values for the present width."""
        return lines(self._lines(max(self.content_size.width, 1)))
