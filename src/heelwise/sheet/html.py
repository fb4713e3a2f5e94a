"""A sheet as one self-contained HTML page: no script, nothing fetched, made for printing.

The first printed page holds the result, who and what, the valves, and the pictures; the rest
follows. On a narrow screen a row of a table becomes a block of its own.
"""

from collections.abc import Sequence
from html import escape
from importlib.resources import files
from itertools import groupby
from string import Template

from heelwise.pictures.cells import grid_svg
from heelwise.pictures.window_bar import bar_cells
from heelwise.sheet.sections import BAR_HEAD, BAR_WIDTH, Row, Section, Shape, Sheet
from heelwise.wording import BOTH

FIRST_PAGE = ("job", "people", "engine", "valves", "false counts", "troubles")
"""What stands on the first printed page, in this order, the pictures after the valves."""


def as_html(sheet: Sheet) -> str:
    """Write a sheet as an HTML page: every text escaped, nothing loads or runs."""
    parts: dict[str, list[str]] = {"heads": [], "valves": [], "findings": [], "rest": []}
    for section in sheet.sections:
        place = "valves" if section.key == "valves" else "findings"
        if section.key not in FIRST_PAGE:
            place = "rest"
        elif section.shape is Shape.FACTS:
            place = "heads"
        parts[place].append(_section(section, sheet.unit))
    page = Template((files("heelwise.sheet") / "page.html").read_text(encoding="utf-8"))
    return page.substitute(
        name=escape(sheet.name),
        result=escape(sheet.result),
        status=escape(sheet.status),
        above=grid_svg(sheet.above, "The engine from above"),
        strip=grid_svg(sheet.cycle, "One cycle of the crank, and where valves were worked on"),
        **{place: "\n".join(sections) for place, sections in parts.items()},
    )


def _section(section: Section, unit: str) -> str:
    caption = f'<p class="caption">{escape(section.caption)}</p>\n' if section.caption else ""
    if section.shape is Shape.TABLE:
        inside = _table(section.used(), unit)
    elif section.shape is Shape.ENTRIES:
        inside = _entries(section)
    elif section.shape is Shape.FACTS:
        inside = f'<table class="facts">{"".join(map(_fact, section.rows))}</table>'
    else:
        items = "".join(f"<li>{escape(row.painted(BOTH)[0])}</li>\n" for row in section.rows)
        inside = f"<ul>{items}</ul>"
    title, name = escape(section.title), escape(section.key.replace(" ", "-"))
    return f'<section class="{name}"><h2>{title}</h2>\n{caption}{inside}</section>'


def _fact(row: Row) -> str:
    label, value, source = map(escape, row.painted(BOTH))
    whence = f' <span class="from">{source}</span>' if source else ""
    return f'<tr><th scope="row">{label}</th><td>{value}{whence}</td></tr>\n'


def _table(section: Section, unit: str) -> str:
    heads = "".join(f'<th scope="col">{escape(head)}</th>' for head in section.heads)
    rows = "\n".join(_row(section.heads, row, unit) for row in section.rows)
    return f'<table class="rows"><thead><tr>{heads}</tr></thead>\n<tbody>{rows}</tbody></table>'


def _row(heads: Sequence[str], row: Row, unit: str) -> str:
    cells = []
    for head, cell in zip(heads, row.painted(unit), strict=True):
        drawn = (
            grid_svg(bar_cells(row.bar, BAR_WIDTH), cell) if head == BAR_HEAD and row.bar else ""
        )
        attributes = f'class="{escape(head.split(" ")[0])}" data-head="{escape(head)}"'
        cells.append(f"<td {attributes}>{drawn}{escape(cell)}</td>" if cell else "<td></td>")
    return f"<tr>{''.join(cells)}</tr>"


def _entries(section: Section) -> str:
    days = []
    for day, rows in groupby(section.rows, key=lambda row: row.cells[1][:10]):
        days.append(f"<h3>{escape(day)}</h3>\n{''.join(map(_entry, rows))}")
    return "".join(days)


def _entry(row: Row) -> str:
    number, at, by, words, *_ = map(escape, row.painted(BOTH))
    if row.struck:
        words = f'<s>{words}</s> <span class="struck">[{escape(row.struck)}]</span>'
    return f'<p><span class="number">{number} {at[11:16]} {by}</span> {words}</p>\n'
