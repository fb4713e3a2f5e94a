"""Lines and pictures made for whatever room there is."""

from __future__ import annotations

from collections.abc import Callable
from itertools import groupby

from textual.content import Content
from textual.geometry import Size
from textual.widget import Widget

from heelwise.pictures.cells import Grid
from heelwise.screens.styled_text import ROLE_TONES, Part, lines

DrawLines = Callable[[int], list[list[Part]]]
"""Gives lines no wider than a number of cells."""


class Drawn(Widget):
    """Shows what a drawing function gives for its width."""

    DEFAULT_CSS = "Drawn { width: 1fr; height: auto; }"

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._draw: DrawLines | None = None
        self._drawn: tuple[int, list[list[Part]]] = (0, [])

    def show(self, draw: DrawLines) -> None:
        """Draw with this from now on."""
        self._draw, self._drawn = draw, (0, [])
        self.refresh(layout=True)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """As many rows as there are lines."""
        return len(self._rows(width))

    def render(self) -> Content:
        """The lines for the present width."""
        return lines(self._rows(self.content_size.width))

    def _rows(self, width: int) -> list[list[Part]]:
        """The lines for a width, made once: every layout asks how many there are."""
        width = max(width, 1)
        if self._draw is not None and self._drawn[0] != width:
            self._drawn = (width, self._draw(width))
        return self._drawn[1]


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
