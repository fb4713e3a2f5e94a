"""What a sheet says, before it takes a form: titled sections of rows, all text safe to show."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import Enum

from heelwise.pictures.roles import ValveSign
from heelwise.pictures.strip import Strip
from heelwise.pictures.window_bar import Bar
from heelwise.plain_text import one_line
from heelwise.valvetrain.engine import Engine, Valve
from heelwise.wording import BOTH, Text, painted

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


@dataclass(frozen=True)
class Section:
    """Rows under a title; the caption says what holds for all of them."""

    key: str
    title: str
    heads: tuple[str, ...]
    rows: tuple[Row, ...]
    shape: Shape = Shape.TABLE
    caption: str = ""

    def used(self) -> Section:
        """The section without the columns that are empty in every row."""
        full = [any(row.cells[at] for row in self.rows) for at in range(len(self.heads))]
        return replace(
            self,
            heads=_kept(self.heads, full),
            rows=tuple(replace(row, cells=_kept(row.cells, full)) for row in self.rows),
        )


BAR_HEAD = "window"
"""The column of a window's limits, where a form that can draws the bar."""

FACT_HEADS = ("what", "figure", "where it comes from")


def _kept(cells: tuple[str, ...], full: list[bool]) -> tuple[str, ...]:
    return tuple(cell for cell, keep in zip(cells, full, strict=True) if keep)


def fact(label: str, value: str, source: str = "") -> Row:
    """A row of a section of facts."""
    return Row((label, value, source))


def facts(key: str, title: str, rows: Iterable[Row]) -> Section:
    """A section of facts."""
    return Section(key, title, FACT_HEADS, tuple(rows), Shape.FACTS)


def sentences(key: str, title: str, texts: Iterable[str], caption: str = "") -> Section:
    """A section of sentences, one a row."""
    rows = tuple(Row((text,)) for text in texts)
    return Section(key, title, (title.lower(),), rows, Shape.LIST, caption)


def safe(text: str, limit: int = LONGEST) -> str:
    """Text from outside on one line, control characters visible; lengths in it are kept."""
    if isinstance(text, Text) and len(text) <= limit:
        clean = [
            one_line(f".{p}.", limit + 2)[1:-1] if isinstance(p, str) else p for p in text.parts
        ]
        return Text(*clean)
    return one_line(text, limit)


@dataclass(frozen=True)
class Sheet:
    """A whole sheet: its sections in the order to be read, those without rows left out.

    `result`: what it came to, in one line. `unit`: the one the build is worked in, for tables.
    """

    name: str
    result: str
    status: str
    sections: tuple[Section, ...]
    unit: str
    engine: Engine
    states: dict[Valve, ValveSign]
    strip: Strip

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
