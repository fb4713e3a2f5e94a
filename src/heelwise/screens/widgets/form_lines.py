"""Lines of a form: one to find an engine card by typing, one for a choice."""

from __future__ import annotations

from typing import ClassVar

from textual import events
from textual.binding import BindingType
from textual.content import Content
from textual.geometry import Size
from textual.message import Message
from textual.widget import Widget

from heelwise.documents.library import NamedCard, matching
from heelwise.documents.setup_engine import NO_CARD
from heelwise.plain_text import one_line
from heelwise.screens.key_actions import key
from heelwise.screens.styled_text import Part, lines, wrapped
from heelwise.screens.theme import glyphs
from heelwise.screens.widgets.drawn import TextLine

IN_SIGHT = 6


class CardLine(TextLine):
    """Holds a card's name once one is taken; before that, what is looked for."""

    def __init__(self, cards: list[NamedCard], *, id: str | None = None) -> None:
        super().__init__(id=id, placeholder="v8, or 1-8-4-3")
        self._cards = cards
        self.at = 0

    @property
    def taken(self) -> NamedCard | None:
        """The card whose name stands here."""
        return next((c for c in self._cards if c.name == self.value.strip()), None)

    @property
    def found(self) -> list[NamedCard]:
        """The cards that what is typed may mean; none once one is taken."""
        typed = self.value.strip()
        if not typed or typed == NO_CARD or self.taken is not None:
            return []
        return matching(self._cards, typed)

    def watch_value(self, value: str) -> None:
        """Point at the only card found; of several, at none until one is picked."""
        self.at = 0 if len(self.found) == 1 else -1

    def point(self, by: int) -> bool:
        """Point at another of the cards found."""
        if not 0 <= self.at + by < len(self.found):
            return False
        self.at += by
        return True

    def take(self) -> None:
        """Take the card pointed at, where any is found."""
        found = self.found
        if found and self.at >= 0:
            self.put(found[self.at].name)

    def on_blur(self, event: events.Blur) -> None:
        """Take what is found, where it is one card only."""
        if len(self.found) == 1:
            self.take()

    def about(self, width: int) -> list[list[Part]]:
        """What is found, or what the card taken says; a line each."""
        taken = self.taken
        if taken is not None:
            said = f"{one_line(taken.card.card.title)}: {taken.order}"
            return [
                *wrapped(
                    [(f"{glyphs().good} {said}", "good"), ("  from the card", "quiet")], width
                ),
                *wrapped([(f"Numbering: {taken.card.card.numbering}", "plain")], width, 2),
            ]
        found = self.found
        if not found or not self.has_focus:
            return []
        first = max(0, min(self.at - IN_SIGHT // 2, len(found) - IN_SIGHT))
        rows = []
        for place, one in enumerate(found[first : first + IN_SIGHT], start=first):
            rows += self._row(one, place == self.at, width)
        more = len(found) - IN_SIGHT
        return [*rows, [(f"  and {more} more", "quiet")]] if more > 0 else rows

    def _row(self, one: NamedCard, here: bool, width: int) -> list[list[Part]]:
        mark = f"{glyphs().next} " if here else "  "
        said = one_line(f"{one.name}  {one.order}  {one.card.card.title}", max(width - 2, 1))
        row: list[Part] = [(mark, "next"), (said, "next" if here else "plain")]
        if not here:
            return [row]
        numbering = one_line(one.card.card.numbering, 200)
        return [row, *wrapped([("  ", "plain"), (numbering, "quiet")], width, 2)]


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
