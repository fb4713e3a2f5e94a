"""Which valves are counted again: one a bank, and every odd one.

A click on the heel proves clamping, not preload: a rocker drawn down a little up
its lobe seats all the same, and only its count was false.
"""

from bisect import bisect
from collections.abc import Collection, Mapping
from itertools import pairwise
from statistics import median

from heelwise.documents import quantities
from heelwise.documents.entries import HandedOver, Read, Resumed
from heelwise.documents.entry_base import Entry
from heelwise.documents.steps import Records
from heelwise.valvetrain.engine import Valve, ValveKind
from heelwise.valvetrain.figures import turns_text
from heelwise.valvetrain.positions import Plan, other_plan
from heelwise.walk.prompts import Fact, Option, Prompt, Reply
from heelwise.walk.scene import Scene, reading_of
from heelwise.walk.state import ValveState
from heelwise.walk.steps import back_off

LOOSEN = "walk/recount-loosen"

SAME_PLACE_DEG = 1.0
"""Crank places nearer than this are one."""

LEAST_OF_A_KIND = 3
"""With fewer counts of a kind their median says nothing. Our own figure."""


def sample(scene: Scene) -> dict[Valve, str]:
    """The valves to count again, each with the reason."""
    rule = scene.state.answers.get(Records.RECOUNT, scene.defaults.recount)
    if rule == "none":
        return {}
    if rule == "all":
        return dict.fromkeys(scene.build.engine.valves, "every valve is counted")
    chosen = {**_widened(scene), **_one_a_bank(scene)}
    if rule == "sample":
        reasons = ((v, _odd(scene, each)) for v, each in scene.state.valves.items())
        chosen |= {valve: reason for valve, reason in reasons if reason}
    return dict(sorted(chosen.items()))


def false_first(scene: Scene, valve_state: ValveState) -> Entry[Read] | None:
    """A valve's first count that a re-count found false; None where they agree."""
    allowed = scene.defaults.recount_allowance_turns + 1e-9
    for before, after in pairwise(valve_state.reads):
        first, again = (quantities.turns(entry.body.turns) for entry in (before, after))
        same = before.body.pushrod == after.body.pushrod
        if after.body.recount and same and abs(again - first) > allowed:
            return before
    return None


def _widened(scene: Scene) -> dict[Valve, str]:
    """Every valve counted at the place, or in the session, of a count found false."""
    widened: dict[Valve, str] = {}
    taken_up = [x.number for x in scene.state.entries if isinstance(x.body, Resumed | HandedOver)]
    states = scene.state.valves.values()
    for false in filter(None, (false_first(scene, each) for each in states)):
        session = bisect(taken_up, false.number)
        for other in states:
            if any(
                abs(e.body.at_deg - false.body.at_deg) < SAME_PLACE_DEG
                or bisect(taken_up, e.number) == session
                for e in other.reads
                if not e.body.recount
            ):
                widened[other.valve] = f"{false.body.valve}'s count there was false"
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
    firsts = ((v, _first_reading(scene.state.valves[v])) for v in valves)
    return elsewhere(scene, {v: first for v, first in firsts if first})


def elsewhere(scene: Scene, counts: Mapping[Valve, Read]) -> Plan:
    """Another place of each valve's heel than that of its count."""
    used = {valve: read.at_deg for valve, read in counts.items()}
    return other_plan(scene.build.engine, scene.build.cam, used, scene.build.margin_deg)


def under_way(scene: Scene, valve_state: ValveState) -> bool:
    """Whether a valve is slack for its re-count, and there is a first count to check."""
    slack = valve_state.loosened_for == "recount"
    return slack and not counted_again(scene, valve_state.valve) and _known(valve_state)


def counted_again(scene: Scene, valve: Valve) -> bool:
    """Whether a valve of the sample was counted: again, or at all where it came as found."""
    valve_state = scene.state.valves[valve]
    return valve_state.recounted or (not scene.build.method.fits and bool(valve_state.reads))


def loosen_prompt(scene: Scene, valve: Valve, reason: str) -> Prompt:
    """The slackening by which a valve's re-count begins."""
    margin = scene.margin(valve)
    place = "here" if margin is None else f"on its heel here, {margin:.0f}° from its lobe"
    slack = Reply((back_off(scene, (valve,), "recount"),))
    return Prompt(
        id=LOOSEN,
        question=f"Count {valve} again {place}. Back its rocker all the way off.",
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
    return next((e.body for e in reversed(valve_state.reads) if not e.body.recount), None)


def _known(valve_state: ValveState) -> bool:
    return valve_state.as_found or _first_reading(valve_state) is not None


def _one_a_bank(scene: Scene) -> dict[Valve, str]:
    """The valve with the least margin on each bank, so that a worst place is looked at."""
    chosen: dict[Valve, str] = {}
    banks = scene.build.engine.banks
    for bank in banks:
        known = [v for v, each in scene.state.valves.items() if _known(each)]
        read = [v for v in known if v.cylinder in bank.cylinders]
        if read:
            least = min(read, key=lambda v: (_margin(scene, v), v))
            where = f"on bank {bank.name}, " if len(banks) > 1 else ""
            chosen[least] = f"{where}it was counted closest to its lobe"
    return chosen


def _margin(scene: Scene, valve: Valve) -> float:
    first = _first_reading(scene.state.valves[valve])
    if first is None or scene.state.valves[valve].as_found:
        placed = (p for position in scene.plan.positions for p in position.valves)
        return next((p.margin_deg or 0.0 for p in placed if p.valve == valve), 0.0)
    return first.margin_deg or 0.0


def _odd(scene: Scene, valve_state: ValveState) -> str:
    """Why a valve is counted again by itself; "" where nothing is odd."""
    if any(proof.body.outcome == "settled" for proof in valve_state.proofs):
        return "settled in the proof"
    first = _first_reading(valve_state)
    if first is None:
        return ""
    if first.verdict != "inside":
        return "accepted outside its window"
    if first.near:
        return "near a limit"
    if valve_state.struck_counts:
        return "a count was crossed out"
    kind = valve_state.valve.kind
    firsts = (_first_reading(each) for v, each in scene.state.valves.items() if v.kind is kind)
    others = [_level(scene, read) for read in firsts if read is not None]
    away = _level(scene, first) - median(others)
    if len(others) < LEAST_OF_A_KIND or abs(away) <= first.resolution_turns + 1e-9:
        return ""
    kinds = "intakes" if kind is ValveKind.INTAKE else "exhausts"
    return (
        f"about {turns_text(round(8 * abs(away)) / 8)} "
        f"{'more' if away > 0 else 'fewer'} than the median of the {kinds}"
    )


def _level(scene: Scene, read: Read) -> float:
    """A count with the pushrod's length taken out, so that different lengths compare."""
    reading = reading_of(read)
    return reading.turns - reading.pushrod_mm / scene.travel.used.mm
