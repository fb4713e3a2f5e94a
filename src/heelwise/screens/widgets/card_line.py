"""A line to find an engine card by typing: what it may be is listed, one of it pointed at."""

from __future__ import annotations

from textual import events

from heelwise.documents.card_finding import NamedCard, matching
from heelwise.documents.form_fields import NO_CARD
from heelwise.plain_text import one_line
from heelwise.screens.glyphs import glyphs
from heelwise.screens.tones import Part
from heelwise.screens.widgets.text_line import TextLine
from heelwise.screens.wrapping import wrapped

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
        """Point at the first of what is found."""
        self.at = 0

    def point(self, by: int) -> bool:
        """Point at another of the cards found.

        Args:
            by: How many on.

        Returns:
            Whether there is one.
        """
        if not 0 <= self.at + by < len(self.found):
            return False
        self.at += by
        return True

    def take(self) -> None:
        """Take the card pointed at, where any is found."""
        found = self.found
        if found:
            self.put(found[self.at].name)

    def on_blur(self, event: events.Blur) -> None:
        """Take what is found, where it is one card only."""
        if len(self.found) == 1:
            self.take()

    def about(self, width: int) -> list[list[Part]]:
        """What is found, or what the card taken says; a line each.

        Args:
            width: Cells there are.
        """
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
        said = one_line(f"{one.name}  {one.card.card.title}", max(width - 2, 1))
        row: list[Part] = [(mark, "next"), (said, "next" if here else "plain")]
        if not here:
            return [row]
        numbering = one_line(one.card.card.numbering, 200)
        return [row, *wrapped([("  ", "plain"), (numbering, "quiet")], width, 2)]
