"""Figures told large, each with a word or two of what it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from textual.content import Content
from textual.geometry import Size
from textual.widget import Widget

from heelwise.screens.glyphs import glyphs
from heelwise.screens.tones import Part, lines
from heelwise.screens.widgets.large_letters import ROWS, large

GAP = 3


@dataclass(frozen=True)
class Figure:
    """One figure: up to three short lines of words before it, the figure, its tone."""

    words: str
    large: str
    tone: str = "strong"


class Placard(Widget):
    """A row of figures; those that don't fit are left out, the last first."""

    DEFAULT_CSS = "Placard { height: auto; width: 1fr; }"

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._figures: tuple[Figure, ...] = ()

    def show(self, figures: Sequence[Figure]) -> None:
        """Show these from now on."""
        self._figures = tuple(figures)
        self.display = bool(figures)
        self.refresh(layout=True)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """Three rows, or one on a console without block signs."""
        return ROWS if glyphs().blocks else 1

    def render(self) -> Content:
        """The figures that fit, side by side."""
        return placard(self._figures, self.content_size.width)


def placard(figures: Sequence[Figure], width: int) -> Content:
    """Figures side by side.

    Args:
        figures: The most important first.
        width: Cells there are.

    Returns:
        As many figures as fit; the first one always.
    """
    rows: list[list[Part]] = [[] for _ in range(ROWS if glyphs().blocks else 1)]
    used = 0
    for figure in figures:
        drawn = _drawn(figure, len(rows))
        wide = sum(len(text) for text, _ in drawn[0])
        if used and used + GAP + wide > width:
            break
        for row, parts in zip(rows, drawn, strict=True):
            row += [(" " * GAP, "plain"), *parts] if used else parts
        used += wide + (GAP if used else 0)
    return lines(rows)


def _drawn(figure: Figure, height: int) -> list[list[Part]]:
    words = figure.words.split("\n")
    words = [" ".join(words)] if height == 1 else words[:height] + [""] * (height - len(words))
    wide = max(map(len, words))
    big = large(figure.large)
    return [
        [(word.ljust(wide) + (" " if wide else ""), "quiet"), (row, figure.tone)]
        for word, row in zip(words, big, strict=True)
    ]
