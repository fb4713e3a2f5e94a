"""What a sheet says, before it takes a form: titled sections of rows, all text safe to show."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import Enum
from itertools import compress

from heelwise.pictures.cells import Grid, ValveSign
from heelwise.pictures.window_bar import Bar
from heelwise.plain_text import one_line
from heelwise.wording import BOTH, painted

LONGEST = 2000
"""Characters of one cell; the record keeps all of it."""


class Shape(Enum):
    """How a section's rows are laid out."""

    FACTS = "facts"
    """Label, value, where it comes from; a label may be empty."""
    TABLE = "table"
    LIST = "list"
    """One cell a row."""
    ENTRIES = "entries"
    """Number, when, who, what."""


@dataclass(frozen=True)
class Row:
    """One line of a section: cells are `str`, or `Text` where lengths are to be painted in a unit.

    `struck`: why it doesn't count. `bar`: drawn in place of the cell under `BAR_HEAD`.
    """

    cells: tuple[str, ...]
    struck: str = ""
    valves: tuple[str, ...] = ()
    state: ValveSign | None = None
    bar: Bar | None = None

    def painted(self, unit: str = BOTH) -> tuple[str, ...]:
        """Its cells, every length in a unit."""
        return tuple(painted(cell, unit) for cell in self.cells)


Cells = tuple[str, ...]


@dataclass(frozen=True)
class Section:
    """Rows under a title; the caption says what holds for all of them."""

    key: str
    title: str
    heads: Cells
    rows: tuple[Row, ...]
    shape: Shape = Shape.TABLE
    caption: str = ""

    def used(self) -> Section:
        """The section without the columns that are empty in every row."""
        full = [any(row.cells[at] for row in self.rows) for at in range(len(self.heads))]
        rows = (replace(row, cells=tuple(compress(row.cells, full))) for row in self.rows)
        return replace(self, heads=tuple(compress(self.heads, full)), rows=tuple(rows))


BAR_HEAD, BAR_WIDTH = "window", 18
"""The column of a window's limits, where a form that can draws the bar, so many cells wide."""


def table(
    key: str,
    title: str,
    heads: str,
    rows: Iterable[Row | Cells],
    caption: str = "",
    shape: Shape = Shape.TABLE,
) -> Section:
    """A section of rows under heads, "valve|count"; a row is about the valve under "valve"."""
    names, made = tuple(heads.split("|")), []
    for row in rows:
        row = row if isinstance(row, Row) else Row(row)
        about = row.valves or tuple(compress(row.cells, [name == "valve" for name in names]))
        made.append(replace(row, valves=tuple(filter(None, about))))
    return Section(key, title, names, tuple(made), shape, caption)


def facts(key: str, title: str, rows: Iterable[Cells]) -> Section:
    """A section of facts: label, figure, and where it comes from, if that is to be said."""
    heads = ("what", "figure", "where it comes from")
    return Section(key, title, heads, tuple(Row((*r, "")[:3]) for r in rows), Shape.FACTS)


def sentences(key: str, title: str, texts: Iterable[str]) -> Section:
    """A section of sentences, one a row."""
    return Section(key, title, (title.lower(),), tuple(Row((t,)) for t in texts), Shape.LIST)


def safe(text: str, limit: int = LONGEST) -> str:
    """Text from outside on one line, control characters visible; a clean text keeps its lengths."""
    line = one_line(text, limit)
    return text if text == line else line


@dataclass(frozen=True)
class Sheet:
    """A whole sheet: its sections in the order to be read, those without rows left out.

    `result`: what it came to, in one line. `unit`: the one the build is worked in, for tables.
    `above`, `cycle`: pictures of the engine from above and of one cycle of the crank.
    """

    name: str
    result: str
    status: str
    sections: tuple[Section, ...]
    unit: str
    above: Grid
    cycle: Grid

    def section(self, key: str) -> Section | None:
        """The section of a name, if it has rows."""
        return next((section for section in self.sections if section.key == key), None)

    def of_valve(self, valve: str) -> tuple[Section, ...]:
        """What is said of one valve: of each section the rows about it alone or among others."""
        found = []
        for section in self.sections:
            rows = tuple(row for row in section.rows if valve in row.valves)
            if rows:
                found.append(replace(section, rows=rows))
        return tuple(found)
