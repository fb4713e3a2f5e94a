"""A sheet as Markdown (tables as on the usual forges), everything from the record escaped."""

from __future__ import annotations

import re
from collections.abc import Sequence

from heelwise.sheet.header import when
from heelwise.sheet.layout import Figure, SheetLayout, ValveRow

_MEANS_SOMETHING = re.compile(r"[\\`*_{}\[\]#|~!$]")
_ENTITIES = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;", "@": "&#64;"})


def escaped(text: str) -> str:
    """Make a text mean only itself in Markdown, in a paragraph or a table cell.

    Args:
        text: plain text on one line.

    Returns:
        The text with markup escaped and links kept from forming.
    """
    safe = _MEANS_SOMETHING.sub(lambda found: "\\" + found.group(), text).translate(_ENTITIES)
    safe = safe.replace("://", "&#58;//").replace("www.", "www&#46;").replace("WWW.", "WWW&#46;")
    # At the start of a line these begin a list or underline a heading.
    return re.sub(r"^(\s*\d*)([-+.)=])(?=\s|[-=]|$)", r"\1\\\2", safe)


def as_markdown(layout: SheetLayout) -> str:
    """Write a sheet as Markdown.

    Args:
        layout: the sheet.

    Returns:
        Lines, a line feed after the last.
    """
    lines = [f"# {escaped(layout.name)}", "", f"**{escaped(layout.status)}**", ""]
    lines += _figures(layout.header)
    for bank in layout.banks:
        lines += _section(f"Bank {bank.name}", _valves(bank.rows))
    lines += _section("Figures used", _figures(layout.figures))
    lines += _trials(layout)
    lines += _pushrods(layout)
    lines += _positions(layout)
    for title, said in (
        ("Not checked by this procedure", layout.not_checked),
        ("Left out", layout.left_out),
        ("Notes", layout.notes),
        ("The file", layout.file_notes),
    ):
        lines += _section(title, [f"- {escaped(text)}" for text in said])
    lines += _entries(layout)
    lines += _section("Last seal", [f"`{layout.last_seal}`", "", escaped(layout.seal_says)])
    return "\n".join(lines) + "\n"


def _section(title: str, lines: Sequence[str]) -> list[str]:
    return ["", f"## {escaped(title)}", "", *lines] if lines else []


def _figures(figures: Sequence[Figure]) -> list[str]:
    rows = [(figure.label, figure.text, figure.source) for figure in figures]
    return _table(("", "", "where it comes from"), rows)


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    if not rows:
        return []
    written = [" | ".join(escaped(cell) for cell in row) for row in rows]
    rule = " | ".join("---" for _ in heads)
    return [f"| {' | '.join(heads)} |", f"| {rule} |", *(f"| {row} |" for row in written)]


def _valves(rows: Sequence[ValveRow]) -> list[str]:
    heads = ("valve", "pushrod", "turns", "verdict", "preload", "proof", "recount", "remarks")
    return _table(
        heads,
        [
            (
                row.valve,
                row.pushrod,
                row.turns,
                _verdict(row),
                f"{row.preload} ({row.preload_from})" if row.preload else "",
                row.proof,
                row.recount,
                _remarks(row),
            )
            for row in rows
        ],
    )


def _verdict(row: ValveRow) -> str:
    near = ", near a limit" if row.near else ""
    return f"{row.verdict}{near} ({row.window})" if row.verdict else ""


def _remarks(row: ValveRow) -> str:
    said = [f"accepted {row.accepted}" if row.accepted else ""]
    said.append(f"STILL TO DO: {row.outstanding}" if row.outstanding else "")
    return "; ".join(part for part in said if part)


def _trials(layout: SheetLayout) -> list[str]:
    rows = [(row.valve, row.pushrod, row.turns, row.verdict) for row in layout.trials]
    return _section("Trials", _table(("valve", "pushrod", "turns", "verdict"), rows))


def _pushrods(layout: SheetLayout) -> list[str]:
    rows = [(row.valve, row.ordered, row.received, row.remark) for row in layout.pushrods]
    return _section("Pushrods", _table(("valve", "ordered", "received", ""), rows))


def _positions(layout: SheetLayout) -> list[str]:
    rows = [
        (str(row.number), f"{row.crank_deg:g}°", row.place, row.counted, row.proved)
        for row in layout.positions
    ]
    heads = ("", "crank", "place", "counted (margin)", "proved")
    return _section("Positions worked at", _table(heads, rows))


def _entries(layout: SheetLayout) -> list[str]:
    rows = [
        (str(row.number), when(row.at), row.by, row.words, row.struck) for row in layout.timeline
    ]
    table = _table(("entry", "at", "by", "what", "does not count"), rows)
    for place, row in enumerate(layout.timeline, start=2):
        if row.struck:
            words = escaped(row.words)
            table[place] = table[place].replace(f"| {words} |", f"| ~~{words}~~ |")
    return _section("Entries (number is the order)", table)
