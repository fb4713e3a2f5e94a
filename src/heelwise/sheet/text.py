"""Sections as lines of text in tones, for screens, terminals and printers; and as Markdown."""

import re
from collections.abc import Iterable, Sequence
from itertools import accumulate

from heelwise.pictures.cells import columns, runs
from heelwise.pictures.window_bar import SMALLEST_BAR, bar_cells
from heelwise.plain_text import Part, wrapped
from heelwise.sheet.sections import BAR_HEAD, Cells, Row, Section, Shape
from heelwise.wording import BOTH

WIDTH = 100
"""Columns of a printed sheet."""
MOST_BAR = 40
GAP = 2
GROUP_HEAD = "bank"
"""A first column that is written once above the rows it is the same for."""

Line = list[Part]


def sections_text(sections: Iterable[Section], unit: str) -> str:
    """Sections as plain text, titles underlined; lengths in tables in a unit, elsewhere in both."""
    parts = []
    for section in sections:
        lines = _section(section, WIDTH, unit if section.shape is Shape.TABLE else BOTH)
        title, *rest = ("".join(text for text, _ in line).rstrip() for line in lines)
        parts.append("\n".join([title, "-" * len(columns(title)), *rest]))
    return "\n\n".join(parts)


def section_lines(sections: Iterable[Section], width: int, unit: str) -> list[Line]:
    """Sections under their titles, lengths in a unit."""
    return [line for each in sections for line in ([], *_section(each, width, unit))][1:]


def _section(section: Section, width: int, unit: str) -> list[Line]:
    lines = wrapped([(section.title, "next")], width)
    lines += wrapped([(section.caption, "quiet")], width) if section.caption else []
    if section.shape is Shape.TABLE:
        return lines + _table(section.used(), width, unit)
    wide = min(max(len(row.cells[0]) for row in section.rows) + GAP, 20)
    for row in section.rows:
        cells = row.painted(unit)
        if section.shape is Shape.LIST:
            lines += wrapped([("- ", "quiet"), (cells[0], "plain")], width, 2)
        elif section.shape is Shape.FACTS:
            label, value, source = cells
            start = [(label.ljust(wide - GAP) + " " * GAP, "quiet"), (value, "plain")]
            lines += wrapped([*start, (f" [{source}]" if source else "", "quiet")], width, wide)
        else:
            number, at, by, words, *_ = cells
            struck = f"[{row.struck.upper()}] " if row.struck else ""
            start = [(f"{number:>4} {at[:16]} {by}  ", "quiet"), (struck, "bad")]
            lines += wrapped([*start, (words, "gone" if struck else "plain")], width, 6)
    return lines


def _table(section: Section, width: int, unit: str) -> list[Line]:
    """Rows under heads; columns that have no room stand under their row."""
    grouped = section.heads[0] == GROUP_HEAD
    heads = section.heads[grouped:]
    rows = [row.painted(unit)[grouped:] for row in section.rows]
    widths = [max(len(columns(cell)) for cell in cells) for cells in zip(heads, *rows, strict=True)]
    bar = heads.index(BAR_HEAD) if any(row.bar for row in section.rows) else len(heads)
    widths[bar : bar + 1] = [SMALLEST_BAR] * len(widths[bar : bar + 1])
    ends = [end + GAP * at for at, end in enumerate(accumulate(widths), start=1)]
    fit = max(sum(end <= width for end in ends), 1)
    if bar < fit:
        widths[bar] += min(max(width - ends[fit - 1], 0), MOST_BAR - SMALLEST_BAR)
    lines, group = [_line(None, heads, heads, widths[:fit])], ""
    for row, cells in zip(section.rows, rows, strict=True):
        if grouped and row.cells[0] != group:
            group = row.cells[0]
            lines.append([(group, "quiet")])
        lines.append(_line(row, heads, cells, widths[:fit]))
        below = [f"{h}: {c}" for h, c in zip(heads[fit:], cells[fit:], strict=True) if c]
        lines += wrapped([(" " * 6 + "; ".join(below), "plain")], width, 6) if below else []
    return lines


def _line(row: Row | None, heads: Cells, cells: Cells, widths: Sequence[int]) -> Line:
    state = row.state if row else None
    tone = state or ("plain" if row else "quiet")
    line: Line = [(f"{state.shape} " if state else " " * GAP, tone)]
    for head, cell, wide in zip(heads, cells, widths, strict=False):
        if head == BAR_HEAD and row and row.bar:
            line += [*runs(bar_cells(row.bar, wide)[0]), (" " * GAP, "plain")]
            continue
        looks = {"valve": "strong", "verdict": tone}.get(head, "plain") if row else "quiet"
        line.append((cell + " " * (wide - len(columns(cell)) + GAP), looks))
    return line


# ------------------------------------------------------------------ Markdown

_MEANS_SOMETHING = re.compile(r"[\\`*_{}\[\]#|~!$]")
_ENTITIES = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;", "@": "&#64;"})


def escaped(text: str) -> str:
    """Make a text mean only itself in Markdown, in a paragraph or a table cell: no link forms."""
    safe = _MEANS_SOMETHING.sub(lambda found: "\\" + found.group(), text).translate(_ENTITIES)
    safe = safe.replace("://", "&#58;//").replace("www.", "www&#46;").replace("WWW.", "WWW&#46;")
    # At the start of a line these begin a list or underline a heading.
    return re.sub(r"^(\s*\d*)([-+.)=])(?=\s|[-=]|$)", r"\1\\\2", safe)


def sections_markdown(sections: Iterable[Section], unit: str) -> str:
    """Sections as Markdown, an empty line between them."""
    parts = []
    for section in sections:
        lines = [f"## {escaped(section.title)}", ""]
        lines += [escaped(section.caption), ""] if section.caption else []
        parts.append("\n".join([*lines, *_markdown_rows(section, unit)]))
    return "\n\n".join(parts)


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
