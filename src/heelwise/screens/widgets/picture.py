"""A picture made of cells, drawn anew for whatever room it is given."""

from __future__ import annotations

from collections.abc import Callable
from itertools import groupby

from textual.content import Content
from textual.widget import Widget

from heelwise.pictures.cells import Grid
from heelwise.screens.tones import ROLE_TONES, lines

Draw = Callable[[int, int], Grid]
"""Draws for a width and a height in cells."""


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
        return grid_content(self._draw(size.width, size.height))


def grid_content(grid: Grid) -> Content:
    """A grid of cells as content, each role in its tone."""
    rows = []
    for row in grid:
        runs = groupby(row, key=lambda cell: cell.role)
        rows.append(
            [
                ("".join(c.char for c in cells), ROLE_TONES.get(role, "plain"))
                for role, cells in runs
            ]
        )
    return lines(rows)
