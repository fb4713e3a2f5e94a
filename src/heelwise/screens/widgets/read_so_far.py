"""What was read so far: every valve with its turns and mark, and the last entries."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import chain
from textwrap import wrap

from heelwise.documents import quantities
from heelwise.documents.entries import AnyEntry, Gauged, Read
from heelwise.documents.length_display import AS_WRITTEN, number_in
from heelwise.pictures.roles import ValveState, glyph, legend
from heelwise.pictures.states import states_of
from heelwise.plain_text import one_line
from heelwise.screens.glyphs import glyphs
from heelwise.screens.tones import ROLE_TONES, Part
from heelwise.sheet.words import entry_words
from heelwise.valvetrain.valves import Valve
from heelwise.walk.scene import Scene
from heelwise.walk.standing import Standing, ValveStanding

LONGEST_ENTRY = 200
TRIAL = "t"
"""Stands before turns counted with a trial pushrod."""
ROW = 13
"""Cells of one valve: its name, a sign, its turns."""


def valves(
    scene: Scene, asked: Valve | None, width: int, unit: str = AS_WRITTEN
) -> list[list[Part]]:
    """Every valve in columns, bank by bank, the one asked about pointed at.

    Args:
        scene: The moment.
        asked: The valve the prompt is about.
        width: Cells there are.
        unit: The unit gaps are shown in.
    """
    states = states_of(scene.standing)
    rows: list[list[Part]] = []
    columns = max(width // ROW // 2 * 2, 1)  # intake and exhaust side by side
    for bank in scene.build.engine.banks:
        members = [v for v in scene.build.engine.valves if v.cylinder in bank.cylinders]
        if len(scene.build.engine.banks) > 1:
            rows.append([(one_line(bank.name, width), "quiet")])
        cells = [_cell(scene.standing.valve(v), states[v], v == asked, unit) for v in members]
        starts = range(0, len(cells), columns)
        rows += [list(chain.from_iterable(cells[i : i + columns])) for i in starts]
    return rows


def signs(scene: Scene, width: int) -> list[list[Part]]:
    """The meaning of the signs in use now, one a line."""
    found = legend(states_of(scene.standing).values(), not glyphs().blocks)
    rows: list[list[Part]] = [
        [(sign, ROLE_TONES[role]), (f" {one_line(said, max(width - 2, 1))}", "quiet")]
        for sign, role, said in found
    ]
    if any(reading_of(one).startswith(TRIAL) for one in scene.standing.valves.values()):
        rows.append([(TRIAL, "plain"), (" counted with a trial pushrod", "quiet")])
    return rows


def _cell(one: ValveStanding, state: ValveState, asked: bool, unit: str) -> list[Part]:
    sign = glyph(state, not glyphs().blocks)
    name = f"{glyphs().next if asked else ' '}{one.valve}"
    return [
        (name.ljust(5), "next" if asked else "plain"),
        (sign, ROLE_TONES[state]),
        (f" {reading_of(one, unit)}".ljust(ROW - 6), "plain"),
    ]


def reading_of(one: ValveStanding, unit: str = AS_WRITTEN) -> str:
    """The reading that counts, turns or a gap; a trial's marked t until there are others."""
    gauged = one.gauged[-1].body if one.gauged else None
    if isinstance(gauged, Gauged):
        return number_in(gauged.reading, unit)
    entry = one.reading or (one.trials[-1] if one.trials else None)
    if entry is None or not isinstance(entry.body, Read):
        return ""
    said = quantities.show_turns(quantities.turns(entry.body.turns))
    return said if one.reading else f"{TRIAL}{said}"


def last_entries(
    entries: Sequence[AnyEntry], standing: Standing, width: int, high: int
) -> list[list[Part]]:
    """Entries with their numbers and times, a few lines each; crossed out ones shown so.

    Args:
        entries: Which.
        standing: To tell those that no longer count.
        width: Cells there are.
        high: Lines an entry may take.
    """
    rows: list[list[Part]] = []
    for entry in entries:
        tone = "plain" if standing.counts(entry) else "gone"
        said = one_line(f"{entry.number} {entry.at:%H:%M} {entry_words(entry)}", LONGEST_ENTRY)
        found = wrap(said, width, max_lines=high, placeholder=glyphs().more, subsequent_indent=" ")
        rows += [[(line, tone)] for line in found]
    return rows
