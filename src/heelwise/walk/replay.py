"""A record replayed entry by entry: the first one that no walk could have made.

Seals don't show that a walk wrote a file. What is asked here holds for every version's records.
"""

from collections.abc import Iterator, Mapping

from heelwise.documents import entries as e
from heelwise.documents.entries import AnyEntry
from heelwise.documents.entry_base import NotKnown, OnItsHeel
from heelwise.documents.faults import Fault
from heelwise.documents.quantities import length_mm, turns
from heelwise.documents.record import Record
from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.window import window_in_turns
from heelwise.walk.prove import rows_of
from heelwise.walk.scene import Scene, scene_of
from heelwise.walk.state import advance, same_person
from heelwise.walk.steps import build_step_due
from heelwise.walk.walker import CLOCK_SET_RIGHT, FIXED

_SLACK_TURNS, _SLACK_MM, _SLACK_DEG = 1e-6, 1e-6, 0.01

_AS_WRITTEN = "a record as the walk writes it"

Found = Iterator[str]


def replay_faults(record: Record) -> list[Fault]:
    """The first entry that no walk could have made, as one fault; none where all could be.

    Judging ends at the first entry that this version doesn't know.
    """
    if record.more:
        problem = "stands among the entries, where the walk writes no table"
        return [Fault(record.more[0], problem, _AS_WRITTEN)]
    scene = scene_of(record.head.setup, record.head.procedure)
    for entry in record.entries:
        if isinstance(entry.body, NotKnown):
            return []
        try:
            problem = next(_problems(scene, entry, record), "")
        except ValueError as error:  # a head whose figures leave no window
            problem = f"can't be replayed: {error}"
        if problem:
            return [Fault(f"entry {entry.number}", problem, _AS_WRITTEN)]
        scene = Scene(scene.build, advance(scene.state, entry))
    signed = {entry.number for entry in record.entries if entry.when(e.SignedOff)}
    for row in record.signoff:
        if row.get("signed") not in signed:
            problem = f"is signed by entry {row.get('signed')}, which signs nothing off"
            return [Fault("signoff", problem, "the rows of a signature alone")]
    return []


def _problems(scene: Scene, entry: AnyEntry, record: Record) -> Found:
    """What no walk could have done: of any entry, of one at the engine, of one of its kind."""
    state, body, last = scene.state, entry.body, scene.state.last
    begun = isinstance(body, e.Begun)
    if (entry.number == 1) != begun:
        yield "begins the build again" if begun else "comes before the build is begun"
    if isinstance(body, e.Begun) and body.procedure_digest != record.head.build.procedure_digest:
        yield "was begun by another procedure than the one in [build]: their digests differ"
    # Resuming says that the clock went back; a torn end is entered before that is known.
    clock = isinstance(body, e.Recovered) or getattr(body, "clock_went_back", False)
    if last is not None and entry.at < last.at - CLOCK_SET_RIGHT and not clock:
        yield f"is dated {entry.at:%Y-%m-%d}, before the entry above it ({last.at:%Y-%m-%d})"
    if (state.closed is None) == isinstance(body, e.Reopened):
        yield "was added to a signed-off record" if state.closed else "reopens an open record"
    if isinstance(body, OnItsHeel):
        yield from _on_its_heel(scene, body)
    match body:
        case e.Received():
            yield from _received(scene, body)
        case e.Read():
            yield from _read(scene, body)
        case e.Proved() | e.IndependentProof():
            yield from _proved(scene, body, entry.by)
        case e.SignedOff():
            yield from _signed(scene, entry.number, record)
        case _:
            yield from _about_others(scene, body)


def _on_its_heel(scene: Scene, body: OnItsHeel) -> Found:
    """What is read or proved on a valve: after Prepare, the crank placed, at its margin."""
    due = build_step_due(scene, "prepare")
    if due is not None:
        yield f"comes before Prepare was finished: {due.title or due.id} isn't answered"
    place, crank = getattr(body, "at_deg", None), scene.state.crank
    if crank is None:
        yield "is made while the crank's place isn't known"
    elif place is not None and abs(place - crank.body.at_deg) > _SLACK_DEG:
        yield f"is made at {place:g}°, but the crank stands at {crank.body.at_deg:g}°"
    margin, stated = scene.margin(Valve.parse(body.valve)), getattr(body, "margin_deg", None)
    if margin is not None and stated is not None and abs(margin - stated) > _SLACK_DEG:
        yield f"states a margin of {stated:g}°; by the cam it is {margin:g}°"


def _about_others(scene: Scene, body: e.AnyBody) -> Found:
    state = scene.state
    match body:
        case e.Accepted():
            valve = state.by_name[body.valve]
            latest = (valve.last_count, valve.received, *valve.trials)
            if body.of not in [each.number for each in latest if each is not None]:
                yield f"accepts entry {body.of}, which isn't what was last read or received"
        case e.CrossedOut() if isinstance(state.entries[body.of - 1].body, FIXED):
            yield f"crosses out entry {body.of}, which can't be"
        case e.Ordered() if set(body.valves) != set(state.by_name):
            yield "orders pushrods for other valves than the engine's"
        case e.Gauged():
            words = ("tight", "inside", "loose")
            verdict = _word(length_mm(body.reading), body.least_mm, body.most_mm, words)
            if verdict != body.verdict:
                yield f"calls a gap of {body.reading} {body.verdict}; by its limits it is {verdict}"


def _received(scene: Scene, body: e.Received) -> Found:
    order = scene.state.ordered
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


def _read(scene: Scene, body: e.Read) -> Found:
    in_engine = scene.pushrod_text(scene.state.by_name[body.valve])
    if body.phase != "trial" and length_mm(body.pushrod) != length_mm(in_engine):
        yield f"counts a pushrod of {body.pushrod}; {in_engine} is in the engine"
    counted, own = turns(body.turns), f"{body.least_turns:g} to {body.most_turns:g}"
    if counted > body.never_past_turns + _SLACK_TURNS:
        yield f"counts {body.turns} turns, past its own never-past of {body.never_past_turns:g}"
    sheet = window_in_turns(scene.build.setup.window_sheet(), body.travel_mm, scene.seat_turns)
    least, most = sheet.least_turns - _SLACK_TURNS, sheet.most_turns + _SLACK_TURNS
    if body.least_turns < least or body.most_turns > most:
        yield f"has a window of {own} turns, which isn't in the setup's"
    verdict = _word(counted, body.least_turns, body.most_turns, ("short", "inside", "long"))
    if verdict != body.verdict:
        yield f"calls {body.turns} turns {body.verdict}; in a window of {own} it is {verdict}"


def _word(value: float, least: float, most: float, words: tuple[str, str, str]) -> str:
    return words[(value >= least - _SLACK_TURNS) + (value > most + _SLACK_TURNS)]


def _proved(scene: Scene, body: e.Proved | e.IndependentProof, by: str) -> Found:
    valve, rocker = scene.state.by_name[body.valve], scene.build.setup.rocker
    if not (valve.settled_count or valve.untouched):
        yield f"proves {body.valve}, which isn't set: not counted, or outside its window"
    torque = rocker.torque if rocker else None
    if torque and body.torque and body.torque != torque:
        yield f"is made at {body.torque}; the setup says {torque}"
    first, second = valve.proof, isinstance(body, e.IndependentProof)
    if second and (first is None or same_person(first.by, by)):
        yield "is an independent proof by whoever made the first, or before it"


def _signed(scene: Scene, number: int, record: Record) -> Found:
    unproved = [str(valve) for valve, each in scene.state.valves.items() if each.proof is None]
    if unproved:
        yield f"signs the build off with {', '.join(unproved[:4])} not proved"
    if scene.state.troubles:
        yield f"signs the build off with entry {min(scene.state.troubles)} still to be put right"
    rows = [row for row in record.signoff if row.get("signed") == number]
    if sorted(map(_plain, rows)) != sorted(map(_plain, rows_of(scene.state))):
        yield "has [[signoff]] rows that differ from what its entries come to"


def _plain(row: Mapping[str, object]) -> tuple[str, ...]:
    compared = ("valve", "pushrod", "turns", "verdict", "accepted_by", "proved", "gauged")
    return tuple(str(row.get(key, "")) for key in compared)
