"""The sheet: a record under way or finished, laid out for reading."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.widgets import Static

from heelwise.documents.length_display import AS_WRITTEN
from heelwise.documents.record import Record
from heelwise.pictures.roles import glyph
from heelwise.pictures.window_bar import bar_cells
from heelwise.plain_text import one_line
from heelwise.screens.key_actions import key
from heelwise.screens.lengths import lengths_in, lengths_key
from heelwise.screens.styled_text import ROLE_TONES, Part, all_wrapped, content
from heelwise.screens.theme import glyphs
from heelwise.screens.widgets.bars import KeyBar
from heelwise.screens.widgets.drawn import Drawn
from heelwise.sheet.contents import sheet_of
from heelwise.sheet.sections import BAR_HEAD, Row, Section, Shape, Sheet

Line = list[Part]

LEAST_BAR, MOST_BAR = 16, 40
REMARKS = "remarks"
MARGIN = 2
"""Cells before a row, for a valve's state."""


def sheet_lines(sheet: Sheet, width: int, valve: str = "", unit: str = AS_WRITTEN) -> list[Line]:
    """A whole sheet, or one valve's part of it.

    Args:
        sheet: The sheet.
        width: Cells there are.
        valve: A valve's name to show alone; all of them where it is left out.
        unit: The unit of lengths in tables; the build's own where it is left out.
    """
    unit = unit or sheet.unit
    sections = sheet.of_valve(valve) if valve else sheet.sections
    lines: list[Line] = [] if valve else [[(sheet.result, "strong")], [(sheet.status, "plain")]]
    for section in sorted(sections, key=lambda section: section.key != "valves"):
        title = f"{section.title}: {valve}" if valve else section.title
        lines += [[("", "plain")], [(title, "next"), (f"  {section.caption}", "quiet")]]
        if section.shape is Shape.TABLE:
            lines += _table(section, width, unit)
        else:
            lines += [_LINES[section.shape](row, unit) for row in section.rows]
    return lines


def _fact(row: Row, unit: str) -> Line:
    label, value, source = row.painted(unit)
    return [(f"{label}: ", "quiet"), (value, "plain"), (f"  {source}" if source else "", "quiet")]


def _sentence(row: Row, unit: str) -> Line:
    return [(f"{glyphs().bullet} ", "quiet"), (row.painted(unit)[0], "plain")]


def _entry(row: Row, unit: str) -> Line:
    number, at, by, words, *_ = row.painted(AS_WRITTEN)
    struck = f"  {glyphs().bad} {row.struck}" if row.struck else ""
    tone = "gone" if row.struck else "plain"
    return [(f"{number:>4} {at[:16]} {by}  ", "quiet"), (words, tone), (struck, "bad")]


_LINES = {Shape.FACTS: _fact, Shape.LIST: _sentence, Shape.ENTRIES: _entry}


def _table(section: Section, width: int, unit: str) -> list[Line]:
    """Heads and rows, each on one line: columns as far as there is room, remarks below."""
    section = section.used()
    rows = [row.painted(unit) for row in section.rows]
    widths = [max(map(len, column)) for column in zip(section.heads, *rows, strict=True)]
    bar = section.heads.index(BAR_HEAD) if any(row.bar for row in section.rows) else None
    if bar is not None:
        spare = width - MARGIN - sum(w + 1 for at, w in enumerate(widths) if at != bar)
        widths[bar] = min(max(spare - 1, LEAST_BAR), MOST_BAR)
    shown = [
        (at, wide)
        for at, wide in enumerate(widths)
        if MARGIN + sum(w + 1 for w in widths[: at + 1]) <= width + 1 or bar is None
        if section.heads[at] != REMARKS
    ]
    heads = " ".join(f"{section.heads[at]:<{wide}}" for at, wide in shown)
    lines: list[Line] = [[(" " * MARGIN + heads, "quiet")]]
    lines += [_row(row, shown, section.heads, unit) for row in section.rows]
    return [*lines, *_remarks(section, unit)]


def _row(row: Row, shown: list[tuple[int, int]], heads: Sequence[str], unit: str) -> Line:
    bare = not glyphs().blocks
    tone = ROLE_TONES[row.state] if row.state else "plain"
    line: Line = [(f"{glyph(row.state, bare)} " if row.state else "  ", tone)]
    cells = row.painted(unit)
    for at, wide in shown:
        if heads[at] == BAR_HEAD and row.bar:
            drawn = bar_cells(row.bar, wide, 1, bare)[0]
            line += [(c.char, ROLE_TONES.get(c.role, "plain")) for c in drawn]
            line.append((" ", "plain"))
        else:
            looks = {"valve": "strong", "verdict": tone}.get(heads[at], "plain")
            line.append((f"{cells[at]:<{wide}} ", looks))
    return line


def _remarks(section: Section, unit: str) -> list[Line]:
    if REMARKS not in section.heads:
        return []
    at = section.heads.index(REMARKS)
    remarks: dict[str, list[str]] = {}
    for row in section.rows:
        remarks.setdefault(row.painted(unit)[at], []).extend(row.valves)
    return [
        [(f"  {', '.join(valves)}: ", "strong"), (words, "plain")]
        for words, valves in remarks.items()
        if words
    ]


class SheetScreen(Screen[None]):
    """One page that scrolls, of all valves or of one."""

    CSS_PATH = "sheet.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("f1", "app.help", "Help", "What this shows, and every key.", shown=True),
        key("down", "scroll(3)", "Down", "Read on."),
        key("up", "scroll(-3)", "Up", "Read back."),
        key("pagedown,space", "page(1)", "Page down", "A screenful on.", shown=True),
        key("pageup", "page(-1)", "Page up", "A screenful back.", shown=True),
        key("home", "top", "Top", "To the top."),
        key("end", "end", "End", "To the last seal.", shown=True),
        key(
            "v,right",
            "valve(1)",
            "Valve",
            "One valve alone, then the next; at last all.",
            shown=True,
        ),
        key("left", "valve(-1)", "Valve before", "The valve before."),
        lengths_key(),
        key("escape,f6", "back", "Back", "Back to where you were.", shown=True),
    ]

    def __init__(self, record: Record, said: str = "") -> None:
        super().__init__()
        self._sheet = sheet_of(record)
        self._said = said
        self._valve = ""

    def compose(self) -> ComposeResult:
        """The title and the page."""
        yield Static(id="title")
        with VerticalScroll(id="page", can_focus=False):
            yield Drawn(id="lines")
        yield KeyBar()

    def on_mount(self) -> None:
        """Show all valves."""
        self._draw()

    def _draw(self) -> None:
        sheet = self._sheet
        name = one_line(sheet.name, 60)
        parts: list[Part] = [(f" {name}  ", "next"), (self._said, "warn")]
        self.query_one("#title", Static).update(content(parts))
        valve, unit = self._valve, lengths_in(self)

        def lines_for(width: int) -> list[list[Part]]:
            return all_wrapped(sheet_lines(sheet, width, valve, unit), width, indent=4)

        self.query_one("#lines", Drawn).show(lines_for)

    def show_lengths(self) -> None:
        """Show the page in the unit chosen."""
        self._draw()

    def action_scroll(self, by: int) -> None:
        """Scroll some lines."""
        self.query_one("#page", VerticalScroll).scroll_relative(y=by, animate=False)

    def action_page(self, pages: int) -> None:
        """Scroll most of a screenful."""
        page = self.query_one("#page", VerticalScroll)
        page.scroll_relative(y=pages * max(page.size.height - 2, 1), animate=False)

    def action_top(self) -> None:
        """To the top."""
        self.query_one("#page", VerticalScroll).scroll_home(animate=False)

    def action_end(self) -> None:
        """To the end, where the last seal is."""
        self.query_one("#page", VerticalScroll).scroll_end(animate=False)

    def action_valve(self, by: int) -> None:
        """Another valve alone, or all of them."""
        names = ["", *map(str, self._sheet.engine.valves)]
        self._valve = names[(names.index(self._valve) + by) % len(names)]
        self._draw()
        self.action_top()

    def action_back(self) -> None:
        """Back to where it was called from."""
        self.dismiss(None)
