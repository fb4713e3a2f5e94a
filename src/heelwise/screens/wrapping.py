"""Lines of text in tones, wrapped to a width with what follows the first line set in."""

from __future__ import annotations

import re
from collections.abc import Iterable

from heelwise.plain_text import plain
from heelwise.screens.tones import Part

_WORD = re.compile(r"\S+\s*|\s+")


def wrapped(parts: Iterable[Part], width: int, indent: int = 0) -> list[list[Part]]:
    """Wrap one line.

    Args:
        parts: The line.
        width: Cells there are.
        indent: Cells every line but the first is set in by.

    Returns:
        One or more lines; a word longer than a line is cut.
    """
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
