"""A sheet as plain text, for terminals and printers of lines, and as Markdown."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Sequence

from heelwise.pictures.cells import columns, text_of
from heelwise.pictures.roles import glyph
from heelwise.pictures.top_view import engine_cells, engine_size
from heelwise.pictures.window_bar import bar_cells
from heelwise.sheet.sections import BAR_HEAD, Row, Section, Shape, Sheet
from heelwise.wording import BOTH

WIDTH = 100
BAR_WIDTH = 18
LEGEND_ROWS = 6
GAP = 2
LEAST_LAST = 24
"""Columns below which a table's last column isn't wrapped but stands under its row."""
GROUP_HEAD = "bank"
"""A first column that is written once above the rows it is the same for."""


def as_text(sheet: Sheet) -> str:
    """Write a sheet as plain text, at most `WIDTH` columns wide."""
    lines = [sheet.name, *_wrapped(sheet.result, ""), *_wrapped(sheet.status, "")]
    for section in sheet.sections:
        if section.key == "valves":
            lines += ["", *_picture(sheet)]
        lines += ["", *section_lines(section, sheet.unit)]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def section_lines(section: Section, unit: str) -> list[str]:
    """A section under its title, lengths in tables in a unit, those in facts in both."""
    lines = [section.title, "-" * len(columns(section.title)), *_wrapped(section.caption, "")]
    return [line.rstrip() for line in lines + _LAID_OUT[section.shape](section, unit)]


def _wrapped(text: str, first: str, indent: int | None = None) -> list[str]:
    under = " " * (len(first) if indent is None else indent)
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=under)


def _picture(sheet: Sheet) -> list[str]:
    size = engine_size(sheet.engine, WIDTH)
    height = size.height + LEGEND_ROWS
    grid = engine_cells(sheet.engine, sheet.states, None, size.width, height)
    return text_of(grid).rstrip("\n").split("\n")


def _facts(section: Section, unit: str) -> list[str]:
    wide = max(len(row.cells[0]) for row in section.rows) + GAP
    lines = []
    for row in section.rows:
        label, value, source = row.painted()
        lines += _wrapped(f"{value} [{source}]" if source else value, f"{label:<{wide}}")
    return lines


def _list(section: Section, unit: str) -> list[str]:
    return [line for row in section.rows for line in _wrapped(row.painted()[0], "- ")]


def _entries(section: Section, unit: str) -> list[str]:
    lines = []
    for row in section.rows:
        number, at, by, what, *_ = row.painted()
        words = f"[{row.struck.upper()}] {what}" if row.struck else what
        lines += _wrapped(words, f"{number:>4} {at} {by}  ", 6)
    return lines


def _table(section: Section, unit: str) -> list[str]:
    section = section.used()
    first = 1 if section.heads[0] == GROUP_HEAD else 0
    heads = section.heads[first:]
    rows = [_cells(section, row, unit) for row in section.rows]
    columns_of = zip(heads, *(row[first:] for row in rows), strict=True)
    widths = [max(map(_width, column)) for column in columns_of]
    room = WIDTH - _span(widths[:-1]) - GAP
    if LEAST_LAST <= room < widths[-1]:
        widths[-1] = room
    fit = next((at for at in range(len(widths)) if _span(widths[: at + 1]) > WIDTH), len(widths))
    lines, group = [_columns(heads[:fit], widths)], ""
    for name, cells in ((cells[0], cells[first:]) for cells in rows):
        if first and name != group:
            lines.append(name)
            group = name
        lines += _row(heads, cells, widths, fit)
    return lines


def _span(widths: Sequence[int]) -> int:
    return sum(widths) + GAP * (len(widths) - 1)


def _row(heads: Sequence[str], cells: Sequence[str], widths: Sequence[int], fit: int) -> list[str]:
    last = textwrap.wrap(cells[fit - 1], widths[fit - 1]) or [""]
    lines = [_columns([*cells[: fit - 1], last[0]], widths)]
    lines += [" " * (_span(widths[: fit - 1]) + GAP) + more for more in last[1:]]
    below = zip(heads[fit:], cells[fit:], strict=True)
    parts = [f"{head}: {cell}" for head, cell in below if cell]
    return lines + _wrapped("; ".join(parts), " " * 6)


def _cells(section: Section, row: Row, unit: str) -> list[str]:
    cells = list(row.painted(unit))
    if row.state is not None:
        at = section.heads.index("valve")
        cells[at] = f"{glyph(row.state)} {cells[at]}"
    if row.bar is not None:
        cells[section.heads.index(BAR_HEAD)] = text_of(bar_cells(row.bar, BAR_WIDTH))
    return cells


def _columns(cells: Sequence[str], widths: Sequence[int]) -> str:
    padded = (cell + " " * (wide - _width(cell)) for cell, wide in zip(cells, widths, strict=False))
    return (" " * GAP).join(padded)


def _width(text: str) -> int:
    return len(columns(text))


_LAID_OUT = {
    Shape.FACTS: _facts,
    Shape.LIST: _list,
    Shape.ENTRIES: _entries,
    Shape.TABLE: _table,
}


# ------------------------------------------------------------------ Markdown

_MEANS_SOMETHING = re.compile(r"[\\`*_{}\[\]#|~!$]")
_ENTITIES = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;", "@": "&#64;"})


def escaped(text: str) -> str:
    """Make a text mean only itself in Markdown, in a paragraph or a table cell: no link forms."""
    safe = _MEANS_SOMETHING.sub(lambda found: "\\" + found.group(), text).translate(_ENTITIES)
    safe = safe.replace("://", "&#58;//").replace("www.", "www&#46;").replace("WWW.", "WWW&#46;")
    # At the start of a line these begin a list or underline a heading.
    return re.sub(r"^(\s*\d*)([-+.)=])(?=\s|[-=]|$)", r"\1\\\2", safe)


def as_markdown(sheet: Sheet) -> str:
    """Write a sheet as Markdown."""
    lines = [f"# {escaped(sheet.name)}", "", f"**{escaped(sheet.result)}**", ""]
    lines.append(escaped(sheet.status))
    for section in sheet.sections:
        lines += ["", f"## {escaped(section.title)}", ""]
        lines += [escaped(section.caption), ""] if section.caption else []
        lines += _markdown_rows(section, sheet.unit)
    return "\n".join(lines) + "\n"


def _markdown_rows(section: Section, unit: str) -> Iterable[str]:
    if section.shape is Shape.LIST:
        return [f"- {escaped(row.painted()[0])}" for row in section.rows]
    section = section.used()
    shown = BOTH if section.shape is Shape.FACTS else unit
    rows = [list(map(escaped, row.painted(shown))) for row in section.rows]
    heads = list(section.heads)
    if any(row.struck for row in section.rows):
        heads.append("does not count")
        what = heads.index("what")
        for cells, row in zip(rows, section.rows, strict=True):
            cells[what] = f"~~{cells[what]}~~" if row.struck else cells[what]
            cells.append(escaped(row.struck))
    return [_markdown_row(heads), _markdown_row(["---"] * len(heads)), *map(_markdown_row, rows)]


def _markdown_row(cells: Sequence[str]) -> str:
    return f"| {' | '.join(cells)} |"
