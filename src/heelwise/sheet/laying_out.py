"""A record laid out as a sheet. Reads the record, never writes it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import TypeVar

from heelwise.documents import entries as e
from heelwise.documents.entries import AnyEntry
from heelwise.documents.faults import Faulty
from heelwise.documents.quantities import show_length, show_turns
from heelwise.documents.record_reading import Record
from heelwise.pictures.states import states_of
from heelwise.pictures.strip import Strip, strip
from heelwise.plain_text import one_line, plain
from heelwise.sheet.header import header, when
from heelwise.sheet.layout import SEAL_SAYS, Figure, PositionRow, SheetLayout, TimelineRow
from heelwise.sheet.valve_rows import bank_rows, positions_used, pushrod_rows, trial_rows
from heelwise.sheet.words import LONGEST, entry_valves, entry_words
from heelwise.valvetrain.valves import Kind
from heelwise.walk.build import Build
from heelwise.walk.limits import gauge_limits
from heelwise.walk.scene import Scene
from heelwise.walk.standing import Standing, fold

_T = TypeVar("_T")


def lay_out(record: Record) -> SheetLayout:
    """Lay a record out, signed off or under way.

    Args:
        record: the record as read.

    Returns:
        The sheet; all its text is plain.
    """
    build = Build(record.head.setup, record.head.procedure)
    standing = fold(build.engine.valves, record.entries)
    scene = Scene(build, standing)
    banks = bank_rows(scene)
    positions = positions_used(scene)
    return SheetLayout(
        name=one_line(record.head.build.name),
        status=_status(standing),
        header=header(record, standing),
        figures=_figures(scene),
        banks=banks,
        trials=trial_rows(standing),
        pushrods=pushrod_rows(standing),
        positions=positions,
        timeline=_timeline(standing),
        notes=_notes(standing),
        left_out=_left_out(standing),
        not_checked=tuple(plain(said) for said in record.head.procedure.covers_not),
        file_notes=_file_notes(record),
        last_seal=record.last_seal,
        seal_says=SEAL_SAYS,
        engine=build.engine,
        states=tuple(states_of(standing).items()),
        strip=_strip(scene, positions),
    )


def _status(standing: Standing) -> str:
    closed = standing.closed
    if closed is not None and isinstance(closed.body, e.SignedOff):
        person = one_line(closed.body.person)
        return f"signed off by {person} on {when(closed.at)} (entry {closed.number})"
    ones = standing.valves.values()
    counted = sum(one.settled_count for one in ones)
    proved = sum(one.proof is not None for one in ones)
    again = any(isinstance(entry.body, e.Reopened) for entry in standing.entries)
    return (
        f"{'reopened, ' if again else ''}under way: {counted} of {len(ones)} valves counted and "
        f"settled, {proved} proved"
    )


def _figures(scene: Scene) -> tuple[Figure, ...]:
    if scene.build.way.reads != "turns":
        return _gauged(scene)
    return (*_travel(scene), *_window(scene))


def _gauged(scene: Scene) -> tuple[Figure, ...]:
    """What valves are gauged by, one of each kind."""
    found = []
    for kind in Kind:
        valve = next(v for v in scene.build.engine.valves if v.kind is kind)
        limits = _known(partial(gauge_limits, scene, valve))
        facts = limits.facts if limits else ()
        found += [Figure(f"at {valve}", plain(fact.text), plain(fact.source)) for fact in facts]
    return tuple(found)


def _travel(scene: Scene) -> tuple[Figure, ...]:
    travel = _known(lambda: scene.travel)
    if travel is None:
        return (Figure("travel per turn", "not known", "nothing to work it out from"),)
    used = travel.used
    both = f"{show_length(used.mm, 'in')} ({show_length(used.mm, 'mm')})"
    if used.uncertainty_mm:
        both += f", standard uncertainty {show_length(used.uncertainty_mm, 'in')}"
    said = [Figure("travel per turn", both, plain(used.said))]
    said += [
        Figure("not used", show_length(other.mm, "in"), plain(other.said))
        for other in travel.candidates
        if other != used
    ]
    return (*said, *(Figure("", plain(note)) for note in travel.notes))


def _window(scene: Scene) -> tuple[Figure, ...]:
    window = _known(lambda: scene.window)
    if window is None:
        return (Figure("window", "not known", "the setup"),)
    limits = f"{show_turns(window.least_turns)} to {show_turns(window.most_turns)} turns"
    never = scene.never_past_fact
    return (
        Figure("window", limits, plain(window.said)),
        *(Figure("", plain(note)) for note in window.notes),
        Figure("never past", f"{show_turns(scene.never_past)} turns", plain(never.source)),
    )


def _known(ask: Callable[[], _T]) -> _T | None:
    """A figure of the scene, or None where the record has nothing to make it of."""
    try:
        return ask()
    except (ValueError, Faulty):
        return None


def _timeline(standing: Standing) -> tuple[TimelineRow, ...]:
    return tuple(
        TimelineRow(
            entry.number,
            entry.at,
            one_line(entry.by, 40),
            entry_words(entry),
            _struck(standing, entry),
            tuple(one_line(valve, 20) for valve in entry_valves(entry)),
            entry.body.kind,
        )
        for entry in standing.entries
    )


def _struck(standing: Standing, entry: AnyEntry) -> str:
    crossing = standing.crossed.get(entry.number)
    if crossing is not None:
        return f"crossed out by entry {crossing.number}"
    if entry.number in standing.void:
        fallen = [number for number in entry.rests_on if number in standing.void]
        return f"fell with entry {fallen[0]}"
    return ""


def _notes(standing: Standing) -> tuple[str, ...]:
    said = []
    for entry in standing.entries:
        if isinstance(entry.body, e.Noted):
            about = f"{one_line(entry.body.valve, 20)}: " if entry.body.valve else ""
            struck = _struck(standing, entry)
            said.append(
                f"{about}{one_line(entry.body.text, LONGEST)} "
                f"(entry {entry.number}, {one_line(entry.by, 40)}{', ' + struck if struck else ''})"
            )
    return tuple(said)


def _left_out(standing: Standing) -> tuple[str, ...]:
    return tuple(
        f"{entry_words(entry)} (entry {entry.number})"
        for entry in standing.steps.values()
        if isinstance(entry.body, e.Skipped)
    )


def _file_notes(record: Record) -> tuple[str, ...]:
    said = []
    if record.torn and record.scan is not None:
        said.append(
            f"The file's end is torn: what follows entry {len(record.entries)} was never finished "
            "and is not on this sheet."
        )
    for entry in record.entries:
        if isinstance(entry.body, e.Recovered):
            said.append(f"Entry {entry.number}: {entry_words(entry)}.")
        elif isinstance(entry.body, e.Resumed) and entry.body.clock_went_back:
            said.append(f"Entry {entry.number}: the clock had gone back. Number is the order.")
    return tuple(said)


def _strip(scene: Scene, positions: tuple[PositionRow, ...]) -> Strip:
    build = scene.build
    view = strip(build.engine, build.cam, build.margin_deg, scene.crank_deg)
    worked = ", ".join(f"{row.number} at {row.crank_deg:g}°" for row in positions)
    return replace(
        view,
        at_deg=None if scene.standing.closed else view.at_deg,
        positions=tuple((row.number, row.crank_deg) for row in positions),
        said=f"Lobes in firing order. Fitted and proved at: {worked or 'nowhere yet'}.",
    )
