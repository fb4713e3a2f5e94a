"""Text made into content: plain, in one of a few tones, wrapped; times in words."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import datetime

from textual.content import Content

from heelwise.plain_text import plain
from heelwise.screens.theme import TONES

Part = tuple[str, str]
"""A piece of text and its tone."""


def shown(text: str, tone: str = "plain") -> Content:
    """A text in one tone, safe to show whatever it holds."""
    return content([(text, tone)])


def content(parts: Iterable[Part]) -> Content:
    """Pieces of text put together; line feeds are kept, other control characters made visible."""
    return Content.assemble(*((plain(t, keep_newlines=True), TONES[tone]) for t, tone in parts))


def lines(rows: Iterable[Iterable[Part]]) -> Content:
    """Rows of pieces, one under the other."""
    return Content("\n").join([content(row) for row in rows])


_WORD = re.compile(r"\S+\s*|\s+")


def wrapped(parts: Iterable[Part], width: int, indent: int = 0) -> list[list[Part]]:
    """Wrap one line."""
    width = max(width, indent + 4)
    rows: list[list[Part]] = [[]]
    used = 0
    for word, tone in _words(parts):
        fits = used + len(word.rstrip()) <= width
        if not fits and used > indent:
            rows.append([(" " * indent, "plain")])
            used = indent
        while len(word.rstrip()) > width - used:
            cut = width - used
            rows[-1].append((word[:cut], tone))
            rows.append([(" " * indent, "plain")])
            word, used = word[cut:], indent
        rows[-1].append((word, tone))
        used += len(word)
    return rows


def all_wrapped(rows: Iterable[Iterable[Part]], width: int, indent: int = 0) -> list[list[Part]]:
    """Wrap several lines."""
    return [line for row in rows for line in wrapped(row, width, indent)]


def _words(parts: Iterable[Part]) -> Iterable[Part]:
    for text, tone in parts:
        for word in _WORD.findall(plain(text)):
            yield word, tone


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
