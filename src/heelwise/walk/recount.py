"""Which valves are counted again: one a bank, and every odd one.

A click on the heel proves clamping, not preload: a rocker drawn down a little up
its lobe seats all the same, and only its count was false.
"""

from __future__ import annotations

from bisect import bisect
from collections.abc import Collection, Mapping
from itertools import pairwise
from statistics import median

from heelwise.documents import quantities
from heelwise.documents.entries import HandedOver, Read, Resumed
from heelwise.documents.entry_base import Entry
from heelwise.documents.steps import Records
from heelwise.valvetrain.engine import Valve, ValveKind
from heelwise.valvetrain.positions import Plan, other_plan
from heelwise.walk.prompts import Fact, Option, Prompt, Reply
from heelwise.walk.scene import Scene, reading_of
from heelwise.walk.state import ValveState
from heelwise.walk.steps import back_off

LOOSEN = "walk/recount-loosen"

SAME_PLACE_DEG = 1.0
"""Crank places nearer than this are one."""


def sample(scene: Scene) -> dict[Valve, str]:
    """The valves to count again, each with the reason."""
    rule = scene.state.answers.get(Records.RECOUNT, scene.defaults.recount)
    if rule == "none":
        return {}
    if rule == "all":
        return dict.fromkeys(scene.build.engine.valves, "every valve is counted")
    chosen = {**_widened(scene), **_one_a_bank(scene)}
    if rule == "sample":
        for valve, valve_state in scene.state.valves.items():
            if reason := _odd(valve_state) or _off_its_kind(scene, valve_state):
                chosen[valve] = reason
    return dict(sorted(chosen.items()))


def false_first(scene: Scene, valve_state: ValveState) -> tuple[Entry[Read], Entry[Read]] | None:
    """A valve's first count and the re-count that found it false; None where they agree."""
    allowed = scene.defaults.recount_allowance_turns + 1e-9
    for before, after in pairwise(valve_state.reads):
        first, again = (quantities.turns(entry.body.turns) for entry in (before, after))
        same = before.body.pushrod == after.body.pushrod
        if after.body.recount and same and abs(again - first) > allowed:
            return before, after
    return None


def _widened(scene: Scene) -> dict[Valve, str]:
    widened: dict[Valve, str] = {}
    for valve_state in scene.state.valves.values():
        false = false_first(scene, valve_state)
        if false is None:
            continue
        first, entries = false[0], scene.state.entries
        taken_up = [x.number for x in entries if isinstance(x.body, Resumed | HandedOver)]
        session = bisect(taken_up, first.number)
        for other, other_state in scene.state.valves.items():
            counts = [e for e in other_state.reads if not e.body.recount]
            near = [e for e in counts if abs(e.body.at_deg - first.body.at_deg) < SAME_PLACE_DEG]
            if near or any(bisect(taken_up, entry.number) == session for entry in counts):
                widened[other] = f"{valve_state.valve}'s count there was false"
    return widened


def moved_in_proof(scene: Scene) -> dict[Valve, Read]:
    """Valves whose bolt moved in a proof and that were not counted since, with that count."""
    moved = {}
    for valve, valve_state in scene.state.valves.items():
        read, proofs = valve_state.reading, valve_state.proofs
        if read is None or not proofs or proofs[-1].body.outcome != "moved":
            continue
        if read.number < proofs[-1].number == valve_state.touched:
            moved[valve] = read.body
    return moved


def recount_plan(scene: Scene, valves: Collection[Valve]) -> Plan:
    """Where they are counted: another place of each one's heel, or its own as found."""
    if not scene.build.method.fits:
        return scene.plan
    states = scene.state.valves
    return elsewhere(scene, {v: first for v in valves if (first := _first_reading(states[v]))})


def elsewhere(scene: Scene, counts: Mapping[Valve, Read]) -> Plan:
    """Another place of each valve's heel than that of its count."""
    used = {valve: read.at_deg for valve, read in counts.items()}
    return other_plan(scene.build.engine, scene.build.cam, used, scene.build.margin_deg)


def under_way(scene: Scene, valve_state: ValveState) -> bool:
    """Whether a valve is slack for its re-count, and there is a first count to check.

    One that was never counted has none, but for a valve as found in an engine that has run.
    """
    if valve_state.loosened_for != "recount" or counted_again(scene, valve_state.valve):
        return False
    return _known(valve_state)


def counted_again(scene: Scene, valve: Valve) -> bool:
    """Whether a valve of the sample was counted: again, or at all where it came as found."""
    valve_state = scene.state.valves[valve]
    return valve_state.recounted or (not scene.build.method.fits and bool(valve_state.reads))


def loosen_prompt(scene: Scene, valve: Valve, reason: str) -> Prompt:
    """The slackening by which a valve's re-count begins."""
    as_found, margin = scene.state.valves[valve].as_found, scene.margin(valve)
    heel = "its heel" if as_found else "another point on its heel"
    place = (
        f"{'on' if as_found else 'at'} {heel}, {margin:.0f}° from its lobe" if margin else "here"
    )
    slack = Reply((back_off(scene, (valve,), "recount"),))
    return Prompt(
        id=LOOSEN,
        phase="prove",
        question=f"Count {valve}{'' if as_found else ' again'} {place}. Back its rocker right off.",
        why="A click proves the bolt is tight, not that the preload is right: torqued with the "
        "lifter slightly up its lobe it clicks just the same, but the count is wrong.",
        options=(Option("y", "backed off, the pushrod spins freely", does=slack),),
        facts=(
            Fact(f"why this one: {reason}", "the readings so far"),
            Fact(f"crank at {scene.at_deg:g}°"),
        ),
        valve=valve,
    )


def _first_reading(valve_state: ValveState) -> Read | None:
    plain = [e.body for e in valve_state.reads if not e.body.recount]
    return plain[-1] if plain else None


def _one_a_bank(scene: Scene) -> dict[Valve, str]:
    """The valve with the least margin on each bank, so that a worst place is looked at."""
    chosen: dict[Valve, str] = {}
    for bank in scene.build.engine.banks:
        of_bank = (v for v in scene.build.engine.valves if v.cylinder in bank.cylinders)
        read = [v for v in of_bank if _known(scene.state.valves[v])]
        least = min(read, key=lambda v: (_margin(scene, v), v), default=None)
        if least is not None:
            chosen[least] = f"of bank {bank.name}, it was counted closest to its lobe"
    return chosen


def _known(valve_state: ValveState) -> bool:
    return valve_state.as_found or _first_reading(valve_state) is not None


def _margin(scene: Scene, valve: Valve) -> float:
    first = _first_reading(scene.state.valves[valve])
    if first is None or scene.state.valves[valve].as_found:
        placed = (p for position in scene.plan.positions for p in position.valves)
        return next((p.margin_deg or 0.0 for p in placed if p.valve == valve), 0.0)
    return first.margin_deg or 0.0


def _odd(valve_state: ValveState) -> str:
    if any(proof.body.outcome == "settled" for proof in valve_state.proofs):
        return "settled in the proof"
    first = _first_reading(valve_state)
    if first is None:
        return ""
    if first.verdict != "inside":
        return "accepted outside its window"
    if first.near:
        return "near a limit"
    return "a count was crossed out" if valve_state.struck_counts else ""


def _off_its_kind(scene: Scene, valve_state: ValveState) -> str:
    mine, kind = _first_reading(valve_state), valve_state.valve.kind
    firsts = [_first_reading(s) for v, s in scene.state.valves.items() if v.kind is kind]
    others = [_level(scene, read) for read in firsts if read is not None]
    if mine is None or len(others) < 3:
        return ""
    away = _level(scene, mine) - median(others)
    if abs(away) <= mine.resolution_turns + 1e-9:
        return ""
    more = "more" if away > 0 else "fewer"
    kinds = "intakes" if kind is ValveKind.INTAKE else "exhausts"
    return f"{abs(away):.2f} turn {more} than the median of the {kinds}"


def _level(scene: Scene, read: Read) -> float:
    """A count with the pushrod's length taken out, so that different lengths compare."""
    reading = reading_of(read)
    return reading.turns - reading.pushrod_mm / scene.travel.used.mm
