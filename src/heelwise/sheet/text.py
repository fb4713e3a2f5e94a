"""A sheet as plain text, for terminals and printers of lines, and as Markdown."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Sequence
from itertools import accumulate

from heelwise.pictures.cells import columns, glyph, text_of
from heelwise.pictures.window_bar import bar_cells
from heelwise.sheet.sections import BAR_HEAD, BAR_WIDTH, Cells, Row, Section, Shape, Sheet
from heelwise.wording import BOTH

WIDTH = 100
GAP = 2
GROUP_HEAD = "bank"
"""A first column that is written once above the rows it is the same for."""


def as_text(sheet: Sheet) -> str:
    """Write a sheet as plain text, at most `WIDTH` columns wide."""
    lines = [sheet.name, *_wrapped(sheet.result), *_wrapped(sheet.status)]
    for section in sheet.sections:
        if section.key == "valves":
            lines += ["", text_of(sheet.above).rstrip("\n")]
        lines += ["", *section_lines(section, sheet.unit)]
    return "\n".join(lines) + "\n"


def section_lines(section: Section, unit: str) -> list[str]:
    """A section under its title, lengths in tables in a unit, those in facts in both."""
    lines = [section.title, "-" * len(columns(section.title)), *_wrapped(section.caption)]
    if section.shape is Shape.TABLE:
        lines += _table(section.used(), unit)
    for cells in (row.painted() for row in section.rows if section.shape is Shape.LIST):
        lines += _wrapped(cells[0], "- ")
    wide = max(len(row.cells[0]) for row in section.rows) + GAP
    for row in section.rows if section.shape is Shape.FACTS else ():
        label, value, source = row.painted()
        lines += _wrapped(f"{value} [{source}]" if source else value, f"{label:<{wide}}")
    for row in section.rows if section.shape is Shape.ENTRIES else ():
        number, at, by, what, *_ = row.painted()
        words = f"[{row.struck.upper()}] {what}" if row.struck else what
        lines += _wrapped(words, f"{number:>4} {at} {by}  ", 6)
    return [line.rstrip() for line in lines]


def _wrapped(text: str, first: str = "", indent: int | None = None) -> list[str]:
    under = " " * (len(first) if indent is None else indent)
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=under)


def _table(section: Section, unit: str) -> list[str]:
    """Rows under heads; columns that have no room stand under their row."""
    grouped = section.heads[0] == GROUP_HEAD
    heads, *rows = [section.heads[grouped:], *(_cells(section, row, unit) for row in section.rows)]
    widths = [max(map(_width, column)) for column in zip(heads, *rows, strict=True)]
    ends = [end + GAP * at for at, end in enumerate(accumulate(widths))]
    fit = max(sum(end <= WIDTH for end in ends), 1)
    lines, group = [_columns(heads[:fit], widths)], ""
    for row, cells in zip(section.rows, rows, strict=True):
        if grouped and row.cells[0] != group:
            group = row.cells[0]
            lines.append(group)
        below = "; ".join(f"{h}: {c}" for h, c in zip(heads[fit:], cells[fit:], strict=True) if c)
        lines += [_columns(cells[:fit], widths), *_wrapped(below, " " * 6)]
    return lines


def _cells(section: Section, row: Row, unit: str) -> Cells:
    cells = dict(zip(section.heads, row.painted(unit), strict=True))
    if row.state is not None:
        cells["valve"] = f"{glyph(row.state)} {cells['valve']}"
    if row.bar is not None:
        cells[BAR_HEAD] = text_of(bar_cells(row.bar, BAR_WIDTH))
    return tuple(cell for head, cell in cells.items() if head != GROUP_HEAD)


def _columns(cells: Sequence[str], widths: Sequence[int]) -> str:
    padded = (cell + " " * (wide - _width(cell)) for cell, wide in zip(cells, widths, strict=False))
    return (" " * GAP).join(padded)


def _width(text: str) -> int:
    return len(columns(text))


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
    return "\n".join(lines) + "\n" + sections_markdown(sheet.sections, sheet.unit)


def sections_markdown(sections: Iterable[Section], unit: str) -> str:
    """Write sections as Markdown, each after an empty line."""
    lines: list[str] = []
    for section in sections:
        lines += ["", f"## {escaped(section.title)}", ""]
        lines += [escaped(section.caption), ""] if section.caption else []
        lines += _markdown_rows(section, unit)
    return "\n".join(lines) + "\n"


def _markdown_rows(section: Section, unit: str) -> Iterable[str]:
    if section.shape is Shape.LIST:
        yield from (f"- {escaped(row.painted()[0])}" for row in section.rows)
        return
    section, struck = section.used(), any(row.struck for row in section.rows)
    heads = [*section.heads, "does not count"] if struck else section.heads
    yield _markdown_row(heads)
    yield _markdown_row(["---"] * len(heads))
    for row in section.rows:
        cells = [*map(escaped, row.painted(BOTH if section.shape is Shape.FACTS else unit))]
        if row.struck:
            what = section.heads.index("what")
            cells[what] = f"~~{cells[what]}~~"
        yield _markdown_row([*cells, escaped(row.struck)] if struck else cells)


def _markdown_row(cells: Sequence[str]) -> str:
    return f"| {' | '.join(cells)} |"
