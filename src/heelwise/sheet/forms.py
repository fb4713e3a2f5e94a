"""The forms a sheet takes, by name; for other programs as JSON and CSV."""

import csv
import io
import json
from collections.abc import Iterable
from dataclasses import asdict
from typing import Any, Literal

from heelwise.documents.entries import AnyEntry
from heelwise.documents.record import Record
from heelwise.sheet.contents import sheet_of
from heelwise.sheet.html import as_html
from heelwise.sheet.sections import Cells, Section, Shape, sentences
from heelwise.sheet.text import sections_markdown, sections_text
from heelwise.sheet.words import turns_or_none
from heelwise.walk.prove import outcomes
from heelwise.walk.replay import replay_faults
from heelwise.walk.scene import scene_of
from heelwise.wording import BOTH

Form = Literal["text", "markdown", "html", "csv", "json"]


def sheet(record: Record, form: Form) -> str:
    """Write a record as a sheet. The record is not touched."""
    if form == "json":
        return as_json(record)
    laid = sheet_of(record)
    if form == "html":
        return as_html(laid)
    head = sentences("head", laid.name, (laid.result, laid.status))
    written = sections_as((head, *laid.sections), form, laid.unit)
    return written if form == "csv" else written + "\n"


def sections_as(sections: Iterable[Section], form: Form, unit: str) -> str:
    """Write sections as text, markdown or csv."""
    write = {"text": sections_text, "markdown": sections_markdown, "csv": _sections_csv}[form]
    return write(sections, unit)


FORMULA_SIGNS = "=+-@\t\r\n＝＋－＠"
"""What a spreadsheet may take for the beginning of a formula, full-width forms too."""


def guarded(text: str) -> str:
    """Keep a cell from being a formula: an apostrophe before it if a spreadsheet could run it."""
    bare = text.lstrip(" \u00a0\u3000")
    if text[:1] in ("\t", "\r", "\n") or (bare and bare[0] in FORMULA_SIGNS):
        return "'" + text
    return text


def _sections_csv(sections: Iterable[Section], unit: str) -> str:
    """As CSV (RFC 4180): a table a section, an empty line between them."""
    held = io.StringIO()
    written = csv.writer(held, lineterminator="\r\n")
    for section in sections:
        if held.tell():
            written.writerow(())
        rows = _csv_rows(section, BOTH if section.shape is Shape.FACTS else unit)
        written.writerows(map(guarded, cells) for cells in rows)
    return held.getvalue()


def _csv_rows(section: Section, unit: str) -> Iterable[Cells]:
    bars, entries = any(row.bar for row in section.rows), section.shape is Shape.ENTRIES
    more: Cells = ("does not count", "valves") if entries else ("count decimal",) if bars else ()
    yield (*section.heads, *more)
    for row in section.rows:
        if entries:
            more = row.struck, " ".join(row.valves)
        elif bars:
            more = (f"{row.bar.turns:g}" if row.bar and row.bar.turns is not None else "",)
        yield (*row.painted(unit), *more)
    if section.caption:
        yield (section.caption,)


def as_json(record: Record) -> str:
    """Write a record as JSON: one object, ASCII only.

    `entries` are flat, times in ISO 8601; `signoff` has the rows of every signing;
    `does_not_count` the numbers of entries crossed out or fallen with one.
    """
    state = scene_of(record.head.setup, record.head.procedure, record.entries).state
    whole = {
        "setup": record.head.setup.to_toml_dict(),
        "build": record.head.build.model_dump(exclude_none=True),
        "entries": [_entry(entry) for entry in record.entries],
        "signoff": list(record.signoff),
        "last_seal": record.last_seal,
        "valves": [
            {
                **asdict(outcome),
                "turns": outcome.turns and turns_or_none(outcome.turns),
                "proved": outcome.proved is not None,
                "proof": outcome.proved,
            }
            for outcome in outcomes(state)
        ],
        "does_not_count": sorted(state.void),
        "signed_off": state.closed is not None,
        "torn": record.torn,
        "replay_faults": [f"{each.where}: {each.problem}" for each in replay_faults(record)],
    }
    text = json.dumps(whole, indent=2, allow_nan=False, default=lambda day: day.isoformat())
    # The one control character that JSON may hold bare.
    return text.replace("\x7f", "\\u007f") + "\n"


def _entry(entry: AnyEntry) -> dict[str, Any]:
    head = {"number": entry.number, "at": entry.at, "by": entry.by, "kind": entry.body.kind}
    given = {key: value for key, value in entry.body.values().items() if value is not None}
    tail = {"rests_on": list(entry.rests_on), "seal": entry.seal}
    return {**head, **given, **entry.unknown, **tail}
