"""A sheet as one self-contained HTML page: no script, nothing fetched, made for printing.

The first printed page holds the result, who and what, the valves, and the pictures; the rest
follows. On a narrow screen a row of a table becomes a block of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape
from itertools import groupby

from heelwise.pictures.strip import strip_svg
from heelwise.pictures.top_view import engine_svg
from heelwise.pictures.window_bar import bar_svg
from heelwise.sheet.page_style import POLICY, STYLE
from heelwise.sheet.sections import BAR_HEAD, Row, Section, Shape, Sheet
from heelwise.wording import BOTH

FIRST_PAGE = ("job", "people", "engine", "valves", "false counts", "troubles")
"""What stands on the first printed page, in this order, the pictures after the valves."""


def as_html(sheet: Sheet) -> str:
    """Write a sheet as an HTML page: every text escaped, nothing loads or runs."""
    first = [section for section in sheet.sections if section.key in FIRST_PAGE]
    rest = [section for section in sheet.sections if section.key not in FIRST_PAGE]
    heads = [s for s in first if s.shape is Shape.FACTS]
    tables = [s for s in first if s.shape is not Shape.FACTS]
    body = (
        '<div class="first">',
        f"<h1>{escape(sheet.name)}</h1>",
        f'<p class="result">{escape(sheet.result)}</p>',
        f'<p class="status">{escape(sheet.status)}</p>',
        f'<div class="heads">{_sections(heads, sheet.unit)}</div>',
        _sections(tables[:1], sheet.unit),
        _pictures(sheet),
        _sections(tables[1:], sheet.unit),
        "</div>",
        f'<div class="rest">{_sections(rest, sheet.unit)}</div>',
    )
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{escape(POLICY)}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(sheet.name)}: sheet</title>\n<style>{STYLE}</style>\n</head>\n<body>\n"
        + "\n".join(body)
        + "\n</body>\n</html>\n"
    )


def _sections(sections: Iterable[Section], unit: str) -> str:
    return "\n".join(_section(section, unit) for section in sections)


def _section(section: Section, unit: str) -> str:
    caption = f'<p class="caption">{escape(section.caption)}</p>\n' if section.caption else ""
    inside = _LAID_OUT[section.shape](section, unit)
    name = escape(section.key.replace(" ", "-"))
    title = f"<h2>{escape(section.title)}</h2>"
    return f'<section class="{name}">{title}\n{caption}{inside}</section>'


def _facts(section: Section, unit: str) -> str:
    rows = []
    for row in section.rows:
        label, value, source = map(escape, row.painted(BOTH))
        whence = f' <span class="from">{source}</span>' if source else ""
        rows.append(f'<tr><th scope="row">{label}</th><td>{value}{whence}</td></tr>\n')
    return f'<table class="facts">{"".join(rows)}</table>'


def _list(section: Section, unit: str) -> str:
    items = "".join(f"<li>{escape(row.painted(BOTH)[0])}</li>\n" for row in section.rows)
    return f"<ul>{items}</ul>"


def _table(section: Section, unit: str) -> str:
    section = section.used()
    heads = "".join(f'<th scope="col">{escape(head)}</th>' for head in section.heads)
    rows = "\n".join(_row(section.heads, row, unit) for row in section.rows)
    return f'<table class="rows"><thead><tr>{heads}</tr></thead>\n<tbody>{rows}</tbody></table>'


def _row(heads: Sequence[str], row: Row, unit: str) -> str:
    cells = []
    for head, cell in zip(heads, row.painted(unit), strict=True):
        drawn = bar_svg(row.bar) if head == BAR_HEAD and row.bar else ""
        name = head.split(" ")[0]
        attributes = f'class="{escape(name)}" data-head="{escape(head)}"'
        cells.append(f"<td {attributes}>{drawn}{escape(cell)}</td>" if cell else "<td></td>")
    return f"<tr>{''.join(cells)}</tr>"


def _entries(section: Section, unit: str) -> str:
    """In a paragraph as long as they are about one valve, by one person, on one day."""
    days = []
    for day, rows in groupby(section.rows, key=lambda row: row.cells[1][:10]):
        paragraphs = [list(group) for _, group in groupby(rows, key=_subject)]
        inside = "\n".join(f"<p>{_run(paragraph)}</p>" for paragraph in paragraphs)
        days.append(f"<h3>{escape(day)}</h3>\n{inside}")
    return "".join(days)


def _subject(row: Row) -> tuple[str, str]:
    """What joins entries; one about no valve or several stands by itself."""
    alone = len(row.valves) != 1
    return (row.cells[0] if alone else row.valves[0]), row.cells[2]


def _run(rows: Sequence[Row]) -> str:
    parts = []
    for place, row in enumerate(rows):
        number, at, by, words, *_ = row.painted(BOTH)
        label = number if place else f"{number} {at[11:16]} {by}"
        if place:
            words = words.removeprefix(f"{row.valves[0]} ")
        parts.append(_entry(label, words, row.struck))
    return " · ".join(parts)


def _entry(label: str, words: str, struck: str) -> str:
    number = f'<span class="number">{escape(label)}</span>'
    if not struck:
        return f"{number} {escape(words)}"
    return f'{number} <s>{escape(words)}</s> <span class="struck">[{escape(struck)}]</span>'


def _pictures(sheet: Sheet) -> str:
    above = engine_svg(sheet.engine, sheet.states)
    return (
        f'<div class="pictures"><div class="above">{above}</div>\n'
        f'<div class="strip">{strip_svg(sheet.strip)}</div></div>'
    )


_LAID_OUT = {
    Shape.FACTS: _facts,
    Shape.LIST: _list,
    Shape.ENTRIES: _entries,
    Shape.TABLE: _table,
}
