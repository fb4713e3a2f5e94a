"""Text made into content: plain, in one of a few tones, wrapped; times, and lengths in a unit."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime
from itertools import groupby
from operator import itemgetter
from typing import TYPE_CHECKING

from textual.app import App
from textual.content import Content
from textual.dom import DOMNode
from textual.reactive import var

from heelwise.plain_text import Part, all_wrapped, plain
from heelwise.screens.theme import ASCII, TONES, bare
from heelwise.wording import INCHES, MILLIMETERS

if TYPE_CHECKING:  # the bench is painted without the walk
    from heelwise.documents.setup import Setup


def shown(text: str, tone: str = "plain") -> Content:
    """A text in one tone, safe to show whatever it holds."""
    return content([(text, tone)])


def content(parts: Iterable[Part]) -> Content:
    """Pieces put together, each in a tone or in that of a role; line feeds are kept."""
    texts = []
    for tone, run in groupby(parts, itemgetter(1)):
        text = plain("".join(text for text, _ in run), keep_newlines=True)
        texts.append((text.translate(ASCII) if bare() else text, TONES[tone]))
    return Content.assemble(*texts)


def lines(rows: Iterable[Iterable[Part]]) -> Content:
    """Rows of pieces, one under the other."""
    return Content("\n").join([content(row) for row in rows])


def paragraphs(text: str, width: int, tone: str = "plain") -> list[list[Part]]:
    """Wrap a text that may have several lines."""
    return all_wrapped([[(line, tone)] for line in text.split("\n")], width)


def fault_parts(problem: str, instead: str) -> list[Part]:
    """What is wrong and what would be right, for one line."""
    return [(f"✗ {problem}; ", "bad"), (instead, "plain")]


LATER = "later than now"
_UNITS = (("day", 86400), ("hour", 3600), ("minute", 60))


def ago(then: datetime, now: datetime) -> str:
    """How long ago something was, in words that need no counting."""
    seconds = (now - then).total_seconds()
    if seconds < -60:
        return LATER
    for unit, size in _UNITS:
        count = int(seconds // size)
        if count:
            return f"{count} {unit}{'s' if count > 1 else ''} ago"
    return "just now"


# ------------------------------------------------------------------ lengths


class LengthChoice(App[int]):
    """Holds the unit of lengths; it begins with the one the build's pushrods are in."""

    lengths: var[str] = var(INCHES)

    def lengths_of(self, setup: Setup) -> None:
        """Show lengths in the unit a setup's pushrods were typed in."""
        from heelwise.sheet.setup_words import unit_of

        self.lengths = unit_of(setup)

    def action_lengths(self) -> None:
        """Show lengths in the other unit, on every screen that has some."""
        self.lengths = INCHES if self.lengths == MILLIMETERS else MILLIMETERS


def lengths_in(node: DOMNode) -> str:
    """The unit lengths are shown in where a node is."""
    app = node.app
    return app.lengths if isinstance(app, LengthChoice) else INCHES


def number_in(typed: str, unit: str) -> str:
    """The number of a typed length alone, in a unit; as typed where it is in that unit."""
    from heelwise.documents.quantities import typed_length

    length = typed_length(typed)
    if length.typed_unit == unit:
        return typed.split()[0]
    return replace(length, typed="").painted(unit).split()[0]
