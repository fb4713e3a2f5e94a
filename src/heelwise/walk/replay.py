"""A record replayed entry by entry: the first one that no walk could have made.

Seals show that a file is as it was written; they don't show that a walk wrote it. What is asked of
an entry here holds for every version that has made records: what must have come before it, and
that its figures agree with each other and with the head.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from heelwise.documents.entries import (
    Accepted,
    AnyEntry,
    Begun,
    CrossedOut,
    Felt,
    Gauged,
    IndependentProof,
    NoClick,
    Ordered,
    Proved,
    Read,
    Received,
    Recovered,
    Reopened,
    Resumed,
    SignedOff,
)
from heelwise.documents.entry_base import Entry, NotKnown
from heelwise.documents.faults import Fault
from heelwise.documents.quantities import length_mm, turns
from heelwise.documents.record import Record
from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.window import window_in_turns
from heelwise.walk.scene import Scene, scene_of
from heelwise.walk.sign_off import rows_of
from heelwise.walk.state import advance, proof_in, same_person
from heelwise.walk.steps import steps_due
from heelwise.walk.walker import CLOCK_SET_RIGHT, FIXED

_SLACK_TURNS, _SLACK_MM, _SLACK_DEG = 1e-6, 1e-6, 0.01

_AS_WRITTEN = "a record as the walk writes it"

Found = Iterator[str]


def replay_faults(record: Record) -> list[Fault]:
    """The first entry that no walk could have made, as one fault; none where all could be.

    Judging ends at the first entry that this version doesn't know.
    """
    if record.slipped_in:
        problem = "stands among the entries, where the walk writes no table"
        return [Fault(record.slipped_in[0], problem, _AS_WRITTEN)]
    scene = scene_of(record.head.setup, record.head.procedure)
    rows = record.signoff
    for entry in record.entries:
        if isinstance(entry.body, NotKnown):
            return []
        try:
            problem = next(_problems(scene, entry, record), "")
        except ValueError as error:  # a head whose figures leave no window
            problem = f"can't be replayed: {error}"
        if problem:
            where = f"entry {entry.number}"
            return [Fault(where, problem, _AS_WRITTEN)]
        scene = Scene(scene.build, advance(scene.state, entry))
    signed = {entry.number for entry in record.entries if entry.when(SignedOff)}
    stray = next((row for row in rows if row.get("signed") not in signed), None)
    if stray is not None:
        problem = f"is signed by entry {stray.get('signed')}, which signs nothing off"
        return [Fault("signoff", problem, "the rows of a signature alone")]
    return []


def _problems(scene: Scene, entry: AnyEntry, record: Record) -> Found:
    yield from _in_order(scene, entry, record)
    for rule in _RULES:
        yield from rule(scene, entry)
    signed = entry.when(SignedOff)
    if signed is not None:
        yield from _signed(scene, signed, record)


def _in_order(scene: Scene, entry: AnyEntry, record: Record) -> Found:
    """What must hold of any entry: where it stands among the others, and when."""
    state, begun = scene.state, entry.when(Begun)
    if (entry.number == 1) != (begun is not None):
        yield "begins the build again" if begun else "comes before the build is begun"
    if begun and begun.body.procedure_digest != record.head.build.procedure_digest:
        yield "was begun by another procedure than the one in [build]: their digests differ"
    resumed = entry.when(Resumed)  # says that the clock went back; a torn end is entered before it
    told = entry.when(Recovered) or (resumed is not None and resumed.body.clock_went_back)
    if state.last is not None and entry.at < state.last.at - CLOCK_SET_RIGHT and not told:
        yield f"is dated {entry.at:%Y-%m-%d}, before the entry above it ({state.last.at:%Y-%m-%d})"
    if (state.closed is None) == (entry.when(Reopened) is not None):
        yield "was added to a signed-off record" if state.closed else "reopens an open record"
    if isinstance(entry.body, _AT_THE_ENGINE):
        yield from _at_the_engine(scene, entry)


_AT_THE_ENGINE = (Read, NoClick, Gauged, Proved, IndependentProof)


def _at_the_engine(scene: Scene, entry: AnyEntry) -> Found:
    """What is read or proved on a valve: after Prepare, the crank placed, on its heel."""
    due = steps_due(scene, scene.build.steps("prepare", "build"), 0)
    if due is not None:
        yield f"comes before Prepare was finished: {due.title or due.id} isn't answered"
    place, crank = getattr(entry.body, "at_deg", None), scene.state.crank
    if crank is None:
        yield "is made while the crank's place isn't known"
    elif place is not None and abs(place - crank.body.at_deg) > _SLACK_DEG:
        yield f"is made at {place:g}°, but the crank stands at {crank.body.at_deg:g}°"
    valve = Valve.parse(getattr(entry.body, "valve"))  # noqa: B009
    margin, stated = scene.margin(valve), getattr(entry.body, "margin_deg", None)
    if margin is not None and stated is not None and abs(margin - stated) > _SLACK_DEG:
        yield f"states a margin of {stated:g}°; by the cam it is {margin:g}°"


def _crossing(scene: Scene, entry: AnyEntry) -> Found:
    crossed = entry.when(CrossedOut)
    if crossed is None:
        return
    of = scene.state.entries[crossed.body.of - 1]
    if isinstance(of.body, FIXED):
        yield f"crosses out entry {of.number} ({of.body.kind}), which can't be"


def _accepted(scene: Scene, entry: AnyEntry) -> Found:
    accepted = entry.when(Accepted)
    if accepted is None:
        return
    valve = scene.state.by_name[accepted.body.valve]
    latest = (valve.last_count, valve.received, *valve.trials)
    counts = [e.number for e in latest if e is not None]
    if accepted.body.of not in counts:
        yield f"accepts entry {accepted.body.of}, which isn't what was last read or received"


def _received(scene: Scene, entry: AnyEntry) -> Found:
    received = entry.when(Received)
    if received is None:
        return
    order, body = scene.state.ordered, received.body
    if order is None:
        yield "receives a pushrod before any was ordered"
        return
    ordered = dict(zip(order.body.valves, order.body.pushrods, strict=True)).get(body.valve)
    if ordered != body.ordered:
        yield f"receives {body.ordered} as ordered; the order says {ordered}"
    tolerance = length_mm(scene.build.procedure.defaults.length_tolerance)
    fits = abs(length_mm(body.pushrod) - length_mm(body.ordered)) <= tolerance + _SLACK_MM
    if fits != body.as_ordered:
        word = "as ordered" if body.as_ordered else "not as ordered"
        yield f"takes {body.pushrod} for {body.ordered} as {word}"


def _read(scene: Scene, entry: AnyEntry) -> Found:
    read = entry.when(Read)
    if read is None:
        return
    body, valve = read.body, scene.state.by_name[read.body.valve]
    if body.phase != "trial" and length_mm(body.pushrod) != length_mm(scene.pushrod_text(valve)):
        yield f"counts a pushrod of {body.pushrod}; {scene.pushrod_text(valve)} is in the engine"
    counted = turns(body.turns)
    if counted > body.never_past_turns + _SLACK_TURNS:
        yield f"counts {body.turns} turns, past its own never-past of {body.never_past_turns:g}"
    if body.least_turns > body.most_turns:
        yield f"has a window from {body.least_turns:g} down to {body.most_turns:g} turns"
        return
    try:
        sheet = window_in_turns(scene.build.setup.window_sheet(), body.travel_mm, scene.seat_turns)
    except ValueError:
        sheet = scene.window  # by that travel the limits leave none: the walk used another
    if not (
        sheet.least_turns - _SLACK_TURNS <= body.least_turns
        and body.most_turns <= sheet.most_turns + _SLACK_TURNS
    ):
        own = f"{body.least_turns:g} to {body.most_turns:g}"
        yield f"has a window of {own} turns, which isn't in the setup's"
    verdict = _word(counted, body.least_turns, body.most_turns, ("short", "inside", "long"))
    if verdict != body.verdict:
        window = f"{body.least_turns:g} to {body.most_turns:g}"
        yield f"calls {body.turns} turns {body.verdict}; in a window of {window} it is {verdict}"


def _gauged(scene: Scene, entry: AnyEntry) -> Found:
    gauged = entry.when(Gauged)
    if gauged is None:
        return
    body = gauged.body
    if body.least_mm > body.most_mm:
        yield f"has limits from {body.least_mm:g} down to {body.most_mm:g} mm"
        return
    verdict = _word(
        length_mm(body.reading), body.least_mm, body.most_mm, ("tight", "inside", "loose")
    )
    if verdict != body.verdict:
        yield f"calls a gap of {body.reading} {body.verdict}; by its own limits it is {verdict}"


def _word(value: float, least: float, most: float, words: tuple[str, str, str]) -> str:
    if value < least - _SLACK_TURNS:
        return words[0]
    return words[1] if value <= most + _SLACK_TURNS else words[2]


def _proved(scene: Scene, entry: AnyEntry) -> Found:
    proof = proof_in(entry)
    if proof is None:
        return
    valve, rocker = scene.state.by_name[proof.body.valve], scene.build.setup.rocker
    if not (valve.settled_count or valve.untouched):
        yield f"proves {proof.body.valve}, which isn't set: not counted, or outside its window"
    torque = rocker.torque if rocker else None
    if torque and proof.body.torque and proof.body.torque != torque:
        yield f"is made at {proof.body.torque}; the setup says {torque}"
    first = valve.proof
    second = isinstance(proof.body, IndependentProof)
    if second and (first is None or same_person(first.by, proof.by)):
        yield "is an independent proof by whoever made the first, or before it"


def _ordered(scene: Scene, entry: AnyEntry) -> Found:
    ordered = entry.when(Ordered)
    if ordered is not None and set(ordered.body.valves) != set(scene.state.by_name):
        yield "orders pushrods for other valves than the engine's"


def _felt(scene: Scene, entry: AnyEntry) -> Found:
    if entry.when(Felt) and scene.state.crank is not None:
        yield "feels for the crank's place while it is known"


_RULES = (_crossing, _accepted, _ordered, _received, _felt, _read, _gauged, _proved)


def _signed(scene: Scene, signed: Entry[SignedOff], record: Record) -> Found:
    unproved = [str(valve) for valve, each in scene.state.valves.items() if each.proof is None]
    if unproved:
        yield f"signs the build off with {', '.join(unproved[:4])} not proved"
    if scene.state.troubles:
        yield f"signs the build off with entry {min(scene.state.troubles)} still to be put right"
    rows = [row for row in record.signoff if row.get("signed") == signed.number]
    kept = rows_of(scene.state)
    if sorted(map(_plain, rows)) != sorted(map(_plain, kept)):
        yield "has [[signoff]] rows that differ from what its entries come to"


_COMPARED = ("valve", "pushrod", "turns", "verdict", "accepted_by", "proved", "gauged")


def _plain(row: Mapping[str, object]) -> tuple[str, ...]:
    return tuple(str(row.get(key, "")) for key in _COMPARED)
