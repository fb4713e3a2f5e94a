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
from heelwise.sheet.sections import BAR_HEAD, Row, Section, Shape, Sheet
from heelwise.wording import BOTH

POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
"""Nothing may be loaded or run; only the style in the page itself is allowed."""

STYLE = """
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { margin: 2rem auto; max-width: 70rem; padding: 0 1rem; background: #fff; color: #1a1a1a;
  font: 15px/1.4 system-ui, "Liberation Sans", Arial, sans-serif; overflow-wrap: break-word; }
h1 { font-size: 1.7rem; margin: 0; }
h2 { font-size: 1.05rem; margin: 1.1rem 0 .3rem; border-bottom: 1px solid #8a8a8a; }
.result { font-size: 1.3rem; font-weight: bold; margin: .2rem 0 0; }
.status { margin: 0 0 .4rem; }
.caption { color: #444; font-size: .88em; margin: .1rem 0 .3rem; }
table { border-collapse: collapse; width: 100%; }
th, td { text-align: left; vertical-align: top; padding: .16rem .6rem .16rem 0;
  border-bottom: 1px solid #d9d9d9; }
thead th { border-bottom: 1px solid #1a1a1a; font-size: .85em; white-space: nowrap; }
.facts th { width: 9.5rem; font-weight: normal; color: #444; }
.from { color: #555; font-size: .88em; }
.from::before { content: "["; } .from::after { content: "]"; }
.valves td.valve, .valves td.count { font-weight: bold; }
.valves td:not(.remarks) { white-space: nowrap; }
td.window svg { width: 130px; height: 18px; vertical-align: middle; margin-right: .5rem; }
.heads { columns: 2; column-gap: 1.5rem; } .heads section { break-inside: avoid; }
.heads .engine { break-inside: auto; }
.pictures { display: flex; flex-wrap: wrap; gap: .5rem 1.5rem; margin: 1rem 0;
  align-items: center; }
.pictures svg { max-width: 100%; height: auto; display: block; }
.above { flex: 1 1 14rem; } .strip { flex: 3 1 30rem; }
.checksums td { overflow-wrap: anywhere; font-size: .9em;
  font-family: ui-monospace, "Liberation Mono", monospace; }
.checksums .from { font-family: system-ui, "Liberation Sans", Arial, sans-serif; }
.entries p { margin: 0 0 .3rem; } .entries h3 { font-size: 1em; margin: .5rem 0 .2rem; }
.number { font-size: .85em; color: #555; }
s { color: #444; text-decoration: line-through 1px rgba(179, 50, 10, .65); }
.struck { font-style: italic; }
ul { margin: .2rem 0; padding-left: 1.1rem; }
@media screen and (min-width: 800px) { .entries { columns: 2; column-gap: 2rem; }
  .entries h2 { column-span: all; } }
@media screen and (max-width: 700px) {
  body { margin: .6rem auto; padding: 0 .6rem; }
  .heads { columns: 1; }
  * { overflow-wrap: anywhere; }
  .facts, .facts tbody, .facts tr, .facts th, .facts td { display: block; width: auto; }
  .facts tr { border-bottom: 1px solid #d9d9d9; padding: .2rem 0; }
  .facts th, .facts td { border: 0; padding: 0; }
  .rows thead { display: none; }
  .rows, .rows tbody, .rows tr { display: block; }
  .rows tr { border-bottom: 1px solid #8a8a8a; padding: .3rem 0; }
  .rows td { display: inline-block; border: 0; padding: 0 .8rem 0 0; white-space: normal; }
  .valves td:not(.remarks) { white-space: normal; }
  .rows td::before { content: attr(data-head) " "; color: #555; font-size: .8em; }
  .rows td.valve::before, .rows td:empty { content: none; display: none; }
  .above, .strip { flex-basis: 100%; }
}
@page { margin: 10mm; }
@media print {
  body { margin: 0; padding: 0; max-width: none; font-size: 8.5pt; line-height: 1.2; }
  h1 { font-size: 14pt; } .result { font-size: 12pt; } .status { margin-bottom: 1mm; }
  h2 { font-size: 9.5pt; margin: 2.2mm 0 .8mm; break-after: avoid; }
  th, td { padding: .25mm 2mm .25mm 0; } tr, li { break-inside: avoid; }
  .facts th { width: 24mm; } .heads { font-size: 7.4pt; line-height: 1.15; }
  .heads .facts th { width: 20mm; }
  td.window svg { height: 3.4mm; width: 30mm; }
  .pictures { flex-wrap: nowrap; margin: 2mm 0 0; }
  .above { flex: 1 1 32%; } .strip { flex: 2 1 64%; }
  .above svg, .strip svg { max-height: 43mm; margin: 0 auto; }
  .rest { break-before: page; }
  .entries { columns: 2; column-gap: 6mm; font-size: 8pt; line-height: 1.25; }
  .entries h2 { column-span: all; }
  .entries p { margin: 0 0 .8mm; } p { margin: .6mm 0; } ul { margin: .5mm 0; }
}
"""

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
    days = []
    for day, rows in groupby(section.rows, key=lambda row: row.cells[1][:10]):
        paragraphs = [list(group) for _, group in groupby(rows, key=_subject)]
        inside = "\n".join(f"<p>{_run(paragraph)}</p>" for paragraph in paragraphs)
        days.append(f"<h3>{escape(day)}</h3>\n{inside}")
    return "".join(days)


def _subject(row: Row) -> tuple[str, str]:
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
