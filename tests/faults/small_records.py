"""Records as small as they come, made by the program's own writing."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path

from heelwise.documents import entries as e
from heelwise.documents.entries import AnyBody, Draft
from heelwise.documents.files import parse_toml
from heelwise.documents.procedure import Procedure, parse_procedure
from heelwise.documents.record import OpenRecord, begin_record
from heelwise.documents.setup import Setup, parse_setup
from heelwise.storage.files import Files

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
PROCEDURE = """\
format = 1
[procedure]
title = "Short"
for_mount = ["bolt-down"]
for_lifter = ["hydraulic roller"]
source = "common practice, no source"
[[step]]
id = "zero"
phase = "prepare"
each = "build"
say = "Is cylinder 1 at TDC on compression?"
why = "All is counted from there."
ask = "confirm"
fills = "crank_reference"
yes = "at TDC on compression"
if_not = "Turn it there."
[[step]]
id = "trial"
phase = "trial"
each = "valve"
say = "How many turns to the click?"
why = "They tell the preload."
ask = "turns"
fills = "count"
[[step]]
id = "count"
phase = "fit"
each = "valve"
say = "How many turns to the click?"
why = "They tell the preload."
ask = "turns"
fills = "count"
[[step]]
id = "proof"
phase = "prove"
each = "valve"
say = "What did the bolt do?"
why = "A click proves clamping."
ask = "choice"
fills = "proof"
options = [
    { key = "1", label = "it clicked", value = "clicked" },
    { key = "2", label = "it settled", value = "settled" },
    { key = "3", label = "it moved", value = "moved" },
]
"""
SETUP: dict[str, object] = {
    "format": 1,
    "engine": {"firing_order": [1, 2]},
    "cam": {"known": False},
    "rocker": {
        "mount": "bolt-down",
        "ratio": 1.6,
        "thread": "5/16-18",
        "torque": "20 lbf ft",
    },
    "lifter": {"kind": "hydraulic roller", "least_turns": 0.5, "most_turns": 1.0},
    "pushrods": {"intake": "7 in", "exhaust": "7 in"},
}


def parsed(text: str = PROCEDURE) -> Procedure:
    """A procedure of a text."""
    return parse_procedure(parse_toml(text.encode(), "it"), "short", text)


@cache
def short_procedure() -> Procedure:
    """The short procedure, read once."""
    return parsed()


@cache
def small_setup() -> Setup:
    """The setup, read once."""
    return parse_setup(SETUP, "small")


BODIES: tuple[AnyBody, ...] = (
    e.Answered(step="zero", answer="yes", said='it "is" \\ so', fills="crank_reference"),
    e.Crank(at_deg=0.0, how="reference", seen="1I closed"),
    e.Noted(text="Öl auf 1E; see photograph 3", valve="1E"),
)


def small(path: Path, files: Files | None = None) -> OpenRecord:
    """A record of four entries, open for work."""
    made = begin_record(path, small_setup(), short_procedure(), "AB", AT, files=files)
    for number, body in enumerate(BODIES, start=1):
        made.keep(Draft(body), AT + timedelta(minutes=number), "AB")
    return made


@cache
def small_bytes() -> bytes:
    """The bytes of such a record."""
    from tests.storage.memory_files import MemoryFiles

    memory, path = MemoryFiles(), Path("/builds/small.toml")
    small(path, memory).close()
    return memory.content(path)
