"""The sheet: a record under way or finished, laid out for reading."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.widgets import Static

from heelwise.documents.length_display import AS_WRITTEN, in_unit, with_other
from heelwise.documents.record_reading import Record
from heelwise.pictures.roles import glyph
from heelwise.pictures.window_bar import bar_cells
from heelwise.plain_text import one_line
from heelwise.screens.key_actions import key
from heelwise.screens.lengths import lengths_in, lengths_key
from heelwise.screens.styled_text import ROLE_TONES, Part, all_wrapped, content
from heelwise.screens.theme import glyphs
from heelwise.screens.widgets.bars import KeyBar
from heelwise.screens.widgets.drawn import Drawn
from heelwise.sheet.laying_out import lay_out
from heelwise.sheet.layout import Figure, SheetLayout, TimelineRow, ValveRow

Line = list[Part]

LEAST_BAR, MOST_BAR = 16, 40
BESIDE_BAR = 62
"""Cells of a valve's line besides its bar."""
GAPS = ("lash", "gap")
"""What a valve's reading begins with where a gap was gauged."""


def layout_of(record: Record) -> SheetLayout:
    """Lay a record out."""
    return lay_out(record)


def sheet_lines(
    sheet: SheetLayout, width: int, valve: str = "", unit: str = AS_WRITTEN
) -> list[Line]:
    """A whole sheet, or one valve's part of it."""
    if valve:
        rows = [row for row in sheet.rows if row.valve == valve]
        found = [*_heading(valve), *(_valve(row, width, unit) for row in rows)]
        found += [line for row in rows for line in _about(row, unit)]
        return [*found, *_timeline(f"entries of {valve}", sheet.of_valve(valve))]
    return [
        [(sheet.status, "strong")],
        *_banks(sheet, width, unit),
        *_heading("figures"),
        *(_figure(f, unit) for f in sheet.figures),
        *_listed(
            "trials",
            (
                f"{t.valve} {with_other(t.pushrod, unit)}: {t.turns}, {t.verdict}"
                for t in sheet.trials
            ),
        ),
        *_listed(
            "positions",
            (
                f"{p.crank_deg:g}° {p.place}. Counted: {p.counted}. Proved: {p.proved}"
                for p in sheet.positions
            ),
        ),
        *_listed("notes", sheet.notes),
        *_listed("left out or not confirmed", sheet.left_out),
        *_listed("not checked", (in_unit(said, unit) for said in sheet.not_checked)),
        *_listed("the file", sheet.file_notes),
        *_heading("the build"),
        *(_figure(f) for f in sheet.header),
        *_timeline("entries", sheet.timeline),
        *_seal(sheet),
    ]


def _figure(figure: Figure, unit: str = AS_WRITTEN) -> Line:
    source = f"  {in_unit(figure.source, unit)}" if figure.source else ""
    text = in_unit(figure.text, unit)
    label = f"{figure.label}: " if figure.label else ""
    return [(label, "quiet"), (text, "plain"), (source, "quiet")]


def _banks(sheet: SheetLayout, width: int, unit: str) -> list[Line]:
    found: list[Line] = []
    for bank in sheet.banks:
        found += _heading(bank.name if len(sheet.banks) > 1 else "valves")
        found += [_valve(row, width, unit) for row in bank.rows]
    return found


def _valve(row: ValveRow, width: int, unit: str) -> Line:
    tone = ROLE_TONES[row.state]
    wide = min(max(width - BESIDE_BAR, LEAST_BAR), MOST_BAR)
    bar: Line = [(" " * wide, "plain")]
    if row.bar is not None:
        cells = bar_cells(row.bar, wide, 1, not glyphs().blocks)[0]
        bar = [(cell.char, ROLE_TONES.get(cell.role, "plain")) for cell in cells]
    near = ", near" if row.near else ""
    return [
        (f"{row.valve:<4}", "strong"),
        (f"{glyph(row.state, not glyphs().blocks)} ", tone),
        *bar,
        (f" {_reading(row.turns, unit):<13} ", "strong"),
        (f"{row.verdict.upper()}{near}".ljust(13), tone),
        (f"{with_other(row.pushrod, unit):<9} ", "plain"),
        (row.outstanding or row.proof, "plain"),
        (", counted again" if row.recount else "", "quiet"),
    ]


def _reading(said: str, unit: str) -> str:
    """Turns, or a gap as it was typed."""
    what, _, typed = said.partition(" ")
    return f"{what} {with_other(typed, unit)}" if what in GAPS else said


def _about(row: ValveRow, unit: str) -> list[Line]:
    known = (
        ("window", in_unit(row.window, unit)),
        ("preload", in_unit(row.preload, unit)),
        ("accepted", row.accepted),
        ("proof", row.proof),
        ("counted again", row.recount),
        ("outstanding", row.outstanding),
    )
    return [[(f"{label}: ", "quiet"), (text, "plain")] for label, text in known if text]


def _heading(text: str) -> list[Line]:
    return [[("", "plain")], [(text, "next")]]


def _listed(heading: str, texts: Iterable[str]) -> list[Line]:
    found: list[Line] = [[(f"{glyphs().bullet} ", "quiet"), (text, "plain")] for text in texts]
    return [*_heading(heading), *found] if found else []


def _timeline(heading: str, rows: Iterable[TimelineRow]) -> list[Line]:
    return [*_heading(heading), *(_entry(row) for row in rows)]


def _entry(row: TimelineRow) -> Line:
    start = f"{row.number:>4} {row.at:%Y-%m-%d %H:%M} {row.by}  "
    struck = f"  {glyphs().bad} {row.struck}" if row.struck else ""
    return [(start, "quiet"), (row.words, "gone" if row.struck else "plain"), (struck, "bad")]


def _seal(sheet: SheetLayout) -> list[Line]:
    return [*_heading("last seal"), [(sheet.last_seal, "strong")], [(sheet.seal_says, "quiet")]]


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
        self._layout_of_record = layout_of(record)
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
        sheet = self._layout_of_record
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
        names = ["", *(row.valve for row in self._layout_of_record.rows)]
        self._valve = names[(names.index(self._valve) + by) % len(names)]
        self._draw()
        self.action_top()

    def action_back(self) -> None:
        """Back to where it was called from."""
        self.dismiss(None)
