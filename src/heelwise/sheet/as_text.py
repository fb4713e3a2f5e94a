"""A sheet as plain text, for terminals and printers of lines."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from heelwise.pictures.cells import ascii_text, columns, text_of
from heelwise.pictures.roles import glyph
from heelwise.pictures.top_view import along_size, down_size
from heelwise.pictures.top_view_cells import engine_cells
from heelwise.pictures.window_bar import bar_cells
from heelwise.sheet.header import when
from heelwise.sheet.layout import Figure, SheetLayout, TimelineRow, ValveRow

WIDTH = 100
BAR_WIDTH = 24
LEGEND_ROWS = 6


def as_text(layout: SheetLayout, ascii_only: bool = False) -> str:
    """Write a sheet as plain text.

    Args:
        layout: the sheet.
        ascii_only: use no character outside ASCII.

    Returns:
        Lines, a line feed after the last.
    """
    lines = [layout.name, layout.status, ""]
    lines += _figures(layout.header)
    lines += ["", *_picture(layout, ascii_only)]
    for bank in layout.banks:
        lines += _section(f"Bank {bank.name}", _valves(bank.rows, ascii_only))
    lines += _section("Figures used", _figures(layout.figures))
    lines += _section(
        "Trials", [_joined(r.valve, r.pushrod, r.turns, r.verdict) for r in layout.trials]
    )
    lines += _section("Pushrods", _pushrods(layout))
    lines += _section("Positions worked at", _positions(layout))
    lines += _section("Not checked by this procedure", _listed(layout.not_checked))
    lines += _section("Left out", _listed(layout.left_out))
    lines += _section("Notes", _listed(layout.notes))
    lines += _section("The file", _listed(layout.file_notes))
    lines += _section("Entries (number is the order)", _entries(layout.timeline))
    lines += _section("Each valve's entries", _histories(layout))
    lines += _section("Last seal", [layout.last_seal, *textwrap.wrap(layout.seal_says, WIDTH)])
    text = "\n".join(line.rstrip() for line in lines) + "\n"
    return "\n".join(map(ascii_text, text.split("\n"))) if ascii_only else text


def _section(title: str, lines: Sequence[str]) -> list[str]:
    return ["", title, "-" * len(columns(title)), *lines] if lines else []


def _figures(figures: Sequence[Figure]) -> list[str]:
    lines: list[str] = []
    for figure in figures:
        source = f" [{figure.source}]" if figure.source else ""
        lines += textwrap.wrap(
            figure.text + source,
            WIDTH,
            initial_indent=f"{figure.label:<16} ",
            subsequent_indent=" " * 17,
        )
    return lines


def _picture(layout: SheetLayout, ascii_only: bool) -> list[str]:
    states = dict(layout.states)
    along, down = along_size(layout.engine), down_size(layout.engine)
    size = along if along.width <= WIDTH else down
    grid = engine_cells(
        layout.engine, states, None, size.width, size.height + LEGEND_ROWS, ascii_only
    )
    return text_of(grid).rstrip("\n").split("\n")


def _valves(rows: Sequence[ValveRow], ascii_only: bool) -> list[str]:
    lines = []
    for row in rows:
        bar = text_of(bar_cells(row.bar, BAR_WIDTH, 1, ascii_only)) if row.bar else " " * BAR_WIDTH
        verdict = f"{row.verdict}, near" if row.near else row.verdict
        lines.append(
            f"{glyph(row.state, ascii_only)} {row.valve:<4}{row.turns:<13} {bar} {verdict:<12} "
            f"{row.proof:<23} {row.pushrod}"
        )
        lines += _below(row)
    return lines


def _below(row: ValveRow) -> list[str]:
    """What does not fit a row: the rest of it, indented."""
    said = [
        f"window {row.window}" if row.window else "",
        f"preload {row.preload} ({row.preload_from})" if row.preload else "",
        "counted again from zero lash" if row.recount else "",
        f"accepted {row.accepted}" if row.accepted else "",
        f"STILL TO DO: {row.outstanding}" if row.outstanding else "",
    ]
    text = "; ".join(part for part in said if part)
    return textwrap.wrap(text, WIDTH, initial_indent=" " * 6, subsequent_indent=" " * 6)


def _pushrods(layout: SheetLayout) -> list[str]:
    return [
        _joined(
            row.valve,
            f"ordered {row.ordered}" if row.ordered else "",
            f"received {row.received}" if row.received else "not received yet",
            row.remark,
        )
        for row in layout.pushrods
    ]


def _positions(layout: SheetLayout) -> list[str]:
    lines: list[str] = []
    for row in layout.positions:
        lines.append(f"{row.number}. {row.crank_deg:g}°: {row.place}")
        for said, valves in (("counted (margin)", row.counted), ("proved", row.proved)):
            if valves:
                lines += textwrap.wrap(
                    f"{said}: {valves}", WIDTH, initial_indent="   ", subsequent_indent="   "
                )
    return lines


def _listed(said: Sequence[str]) -> list[str]:
    return [
        line
        for text in said
        for line in textwrap.wrap(text, WIDTH, initial_indent="- ", subsequent_indent="  ")
    ]


def _entries(timeline: Sequence[TimelineRow]) -> list[str]:
    lines: list[str] = []
    for row in timeline:
        words = f"[{row.struck.upper()}] {row.words}" if row.struck else row.words
        lines += textwrap.wrap(
            words,
            WIDTH,
            initial_indent=f"{row.number:>4} {when(row.at)} {row.by}  ",
            subsequent_indent=" " * 6,
        )
    return lines


def _histories(layout: SheetLayout) -> list[str]:
    lines: list[str] = []
    for row in layout.rows:
        numbers = [
            f"({entry.number})" if entry.struck else str(entry.number)
            for entry in layout.of_valve(row.valve)
        ]
        if numbers:
            lines += textwrap.wrap(
                " ".join(numbers),
                WIDTH,
                initial_indent=f"{row.valve:<4}",
                subsequent_indent="    ",
            )
    return [*lines, "In brackets: does not count."] if lines else []


def _joined(*parts: str) -> str:
    return ", ".join(part for part in parts if part)
