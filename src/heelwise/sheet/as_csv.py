"""A sheet as CSV: valves, then trials, pushrods and entries, an empty line between the tables."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from heelwise.sheet.header import when
from heelwise.sheet.layout import SheetLayout

FORMULA_SIGNS = "=+-@\t\r\n＝＋－＠"
"""What a spreadsheet may take for the beginning of a formula, full-width forms too."""


def guarded(text: str) -> str:
    """Keep a cell from being a formula.

    Args:
        text: its text.

    Returns:
        The text, an apostrophe before it if a spreadsheet could run it.
    """
    bare = text.lstrip(" \u00a0\u3000")
    if text[:1] in ("\t", "\r", "\n") or (bare and bare[0] in FORMULA_SIGNS):
        return "'" + text
    return text


def as_csv(layout: SheetLayout) -> str:
    """Write a sheet as CSV (RFC 4180).

    Args:
        layout: the sheet.

    Returns:
        Rows ended by CR LF.
    """
    held = io.StringIO()
    writer = csv.writer(held, lineterminator="\r\n")
    for number, (heads, rows) in enumerate(_tables(layout)):
        if number:
            writer.writerow([])
        writer.writerow(heads)
        writer.writerows([guarded(cell) for cell in row] for row in rows)
    return held.getvalue()


def _tables(layout: SheetLayout) -> Iterable[tuple[Sequence[str], list[Sequence[str]]]]:
    yield _VALVE_HEADS, _valves(layout)
    yield (
        ("build", "status", "last seal", "what seals are good for"),
        [(layout.name, layout.status, layout.last_seal, layout.seal_says)],
    )
    figures = (*layout.header, *layout.figures)
    yield ("what", "figure", "where it comes from"), [(f.label, f.text, f.source) for f in figures]
    yield (
        ("trial valve", "pushrod", "turns", "verdict"),
        [(row.valve, row.pushrod, row.turns, row.verdict) for row in layout.trials],
    )
    yield (
        ("valve", "pushrod ordered", "pushrod received", "remark"),
        [(row.valve, row.ordered, row.received, row.remark) for row in layout.pushrods],
    )
    yield (
        ("position", "crank deg", "place", "counted (margin)", "proved"),
        [
            (str(row.number), f"{row.crank_deg:g}", row.place, row.counted, row.proved)
            for row in layout.positions
        ],
    )
    yield ("remark", "text"), _remarks(layout)
    yield (
        ("entry", "at", "by", "kind", "what", "does not count", "valves"),
        [
            (
                str(row.number),
                when(row.at),
                row.by,
                row.kind,
                row.words,
                row.struck,
                " ".join(row.valves),
            )
            for row in layout.timeline
        ],
    )


_VALVE_HEADS = (
    "bank",
    "valve",
    "pushrod",
    "turns",
    "turns decimal",
    "window",
    "verdict",
    "near a limit",
    "preload",
    "worked out with",
    "accepted",
    "proof",
    "counted again",
    "still to do",
)


def _valves(layout: SheetLayout) -> list[Sequence[str]]:
    return [
        (
            bank.name,
            row.valve,
            row.pushrod,
            row.turns,
            f"{row.bar.turns:g}" if row.bar and row.bar.turns is not None else "",
            row.window,
            row.verdict,
            "yes" if row.near else "",
            row.preload,
            row.preload_from,
            row.accepted,
            row.proof,
            row.recount,
            row.outstanding,
        )
        for bank in layout.banks
        for row in bank.rows
    ]


def _remarks(layout: SheetLayout) -> list[Sequence[str]]:
    kinds = (
        ("not checked", layout.not_checked),
        ("left out", layout.left_out),
        ("note", layout.notes),
        ("file", layout.file_notes),
    )
    return [(kind, text) for kind, texts in kinds for text in texts]
