"""Sections of a sheet as lines for the screen: facts, sentences, entries, and tables with heads."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from heelwise.pictures.cells import glyph
from heelwise.pictures.window_bar import bar_cells
from heelwise.screens.drawn import grid_lines
from heelwise.screens.styled_text import Part, wrapped
from heelwise.screens.theme import ROLE_TONES, glyphs
from heelwise.sheet.sections import BAR_HEAD, Row, Section, Shape

Line = list[Part]

LEAST_BAR, MOST_BAR = 16, 40
STATE = 2
"""Cells before a row of a table, for a valve's state."""

GAP = 1
WORDY = ("remarks", "notes", "place")
"""Columns that are told below a table instead, where there is no room for them in it."""


def section_lines(sections: Iterable[Section], width: int, unit: str) -> list[Line]:
    """Sections under their titles, lengths in a unit, each line no wider than the width."""
    lines: list[Line] = []
    for section in sections:
        title: Line = [(section.title, "next")]
        if section.caption:
            title.append((f"  {section.caption}", "quiet"))
        lines += [[], *wrapped(title, width, 2), *_SHAPES[section.shape](section, width, unit)]
    return lines[1:]


def _facts(section: Section, width: int, unit: str) -> list[Line]:
    label_width = min(max(len(row.cells[0]) for row in section.rows) + 2, 20)
    lines: list[Line] = []
    for row in section.rows:
        label, value, source = row.painted(unit)
        tail = f"  {source}" if source else ""
        parts = [(f"{label:<{label_width}}", "quiet"), (value, "plain"), (tail, "quiet")]
        lines += wrapped(parts, width, label_width)
    return lines


def _sentences(section: Section, width: int, unit: str) -> list[Line]:
    lines: list[Line] = []
    for row in section.rows:
        lines += wrapped(
            [(f"{glyphs().bullet} ", "quiet"), (row.painted(unit)[0], "plain")], width, 2
        )
    return lines


def _entries(section: Section, width: int, unit: str) -> list[Line]:
    lines: list[Line] = []
    for row in section.rows:
        number, at, by, words, *_ = row.painted(unit)
        start = f"{number:>4} {at[:16]} {by:<3} "
        tone, struck = ("gone", f"  {glyphs().bad} {row.struck}") if row.struck else ("plain", "")
        lines += wrapped([(start, "quiet"), (words, tone), (struck, "bad")], width, 6)
    return lines


def _table(section: Section, width: int, unit: str) -> list[Line]:
    section = section.used()
    rows = [row.painted(unit) for row in section.rows]
    widths = [max(map(len, column)) for column in zip(section.heads, *rows, strict=True)]
    has_bar = BAR_HEAD in section.heads and any(row.bar for row in section.rows)
    if has_bar:
        widths[section.heads.index(BAR_HEAD)] = LEAST_BAR
    shown, room = [], width - STATE
    for at, wide in enumerate(widths):
        if wide + GAP <= room and section.heads[at] not in WORDY[:2]:
            shown.append(at)
            room -= wide + GAP
    if has_bar:
        widths[section.heads.index(BAR_HEAD)] += min(max(room, 0), MOST_BAR - LEAST_BAR)
    heads = " ".join(f"{section.heads[at]:<{widths[at]}}" for at in shown)
    lines: list[Line] = [[(" " * STATE + heads, "quiet")]]
    lines += [
        _row(row, [(at, widths[at]) for at in shown], section.heads, unit) for row in section.rows
    ]
    below = [at for at in range(len(widths)) if at not in shown]
    return [*lines, *(line for at in below for line in _below(section, at, width, unit))]


def _row(row: Row, shown: list[tuple[int, int]], heads: Sequence[str], unit: str) -> Line:
    bare = not glyphs().blocks
    tone = ROLE_TONES[row.state] if row.state else "plain"
    line: Line = [(f"{glyph(row.state, bare)} " if row.state else " " * STATE, tone)]
    cells = row.painted(unit)
    for at, wide in shown:
        if heads[at] == BAR_HEAD and row.bar:
            line += [*grid_lines(bar_cells(row.bar, wide))[0], (" ", "plain")]
        else:
            looks = {"valve": "strong", "verdict": tone}.get(heads[at], "plain")
            line.append((f"{cells[at]:<{wide}} ", looks))
    return line


def _below(section: Section, at: int, width: int, unit: str) -> list[Line]:
    by_words: dict[str, list[str]] = {}
    for row in section.rows:
        cells = row.painted(unit)
        if cells[at]:
            name = " ".join(row.valves) if len(row.valves) == 1 else cells[0]
            by_words.setdefault(cells[at], []).append(name)
    head = "" if section.heads[at] in WORDY else f"{section.heads[at]} "
    lines: list[Line] = []
    for words, names in by_words.items():
        lines += wrapped(
            [(f"  {', '.join(names)}: ", "strong"), (f"{head}{words}", "plain")], width, 4
        )
    return lines


_SHAPES = {
    Shape.FACTS: _facts,
    Shape.LIST: _sentences,
    Shape.ENTRIES: _entries,
    Shape.TABLE: _table,
}
