"""A sheet as Markdown (tables as on the usual forges), everything from the record escaped."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from heelwise.sheet.sections import Section, Shape, Sheet
from heelwise.wording import BOTH

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
        lines += _rows(section, sheet.unit)
    return "\n".join(lines) + "\n"


def _rows(section: Section, unit: str) -> Iterable[str]:
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
    return [_line(heads), _line(["---"] * len(heads)), *map(_line, rows)]


def _line(cells: Sequence[str]) -> str:
    return f"| {' | '.join(cells)} |"
