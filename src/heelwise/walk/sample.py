"""Which valves are counted again: one a bank, and every odd one.

A click on the heel proves clamping, not preload: a rocker drawn down a little up
its lobe seats all the same, and only its count was false.
"""

from __future__ import annotations

from collections.abc import Mapping
from statistics import median

from heelwise.documents import quantities
from heelwise.documents.entries import Proved, Read
from heelwise.valvetrain.positions import Plan, other_plan
from heelwise.valvetrain.valves import Kind, Valve
from heelwise.walk.scene import Scene
from heelwise.walk.standing import ValveStanding


def sample(scene: Scene) -> dict[Valve, str]:
    """The valves to count again, each with the reason."""
    rule = scene.standing.fills.get("recount", scene.build.procedure.defaults.recount)
    if rule == "all":
        return dict.fromkeys(scene.build.engine.valves, "every valve is counted")
    chosen = _one_a_bank(scene)
    for valve, one in scene.standing.valves.items():
        reason = _odd(one) or _off_its_kind(scene, one)
        if reason:
            chosen[valve] = reason
    return dict(sorted(chosen.items()))


def recount_plan(scene: Scene, valves: Mapping[Valve, str]) -> Plan:
    """Where they are counted: another place of each one's heel, or its own as found."""
    if not scene.build.way.fits:
        return scene.plan
    used = {}
    for valve in valves:
        first = _first_reading(scene.standing.valve(valve))
        if first is not None:
            used[valve] = first.at_deg
    return other_plan(scene.build.engine, scene.build.cam, used, scene.build.margin_deg)


def under_way(scene: Scene, one: ValveStanding) -> bool:
    """Whether a valve is slack for its re-count, and there is a first count to check.

    One that was never counted has none, but for a valve as found in an engine that has run.
    """
    if one.loosened_for != "recount" or counted_again(scene, one.valve):
        return False
    return one.as_found or _first_reading(one) is not None


def counted_again(scene: Scene, valve: Valve) -> bool:
    """Whether a valve of the sample was counted: again, or at all where it came as found."""
    one = scene.standing.valve(valve)
    return one.recounted or (not scene.build.way.fits and bool(one.reads))


def _first_reading(one: ValveStanding) -> Read | None:
    """The reading the re-count checks: the last before it."""
    plain = [e.body for e in one.reads if isinstance(e.body, Read) and not e.body.recount]
    return plain[-1] if plain else None


def _one_a_bank(scene: Scene) -> dict[Valve, str]:
    """The valve with the least margin on each bank, so that a worst place is looked at."""
    chosen: dict[Valve, str] = {}
    for bank in scene.build.engine.banks:
        valves = [v for v in scene.build.engine.valves if v.cylinder in bank.cylinders]
        read = [v for v in valves if _known(scene.standing.valve(v))]
        if read:
            least = min(read, key=lambda v: (_margin(scene, scene.standing.valve(v)), v))
            chosen[least] = f"one of bank {bank.name}, read with its least margin"
    return chosen


def _known(one: ValveStanding) -> bool:
    return one.as_found or _first_reading(one) is not None


def _margin(scene: Scene, one: ValveStanding) -> float:
    first = _first_reading(one)
    if first is None or one.as_found:
        placed = (p for position in scene.plan.positions for p in position.valves)
        return next((p.margin_deg or 0.0 for p in placed if p.valve == one.valve), 0.0)
    return first.margin_deg if first and first.margin_deg is not None else 0.0


def _odd(one: ValveStanding) -> str:
    """What is odd about a valve's own history, or an empty text."""
    if any(isinstance(p.body, Proved) and p.body.outcome == "settled" for p in one.proofs):
        return "settled in the proof"
    first = _first_reading(one)
    if first is None:
        return ""
    if first.verdict != "inside":
        return "accepted outside its window"
    if first.near:
        return "near a limit"
    return "a count was crossed out" if one.struck_counts else ""


def _off_its_kind(scene: Scene, one: ValveStanding) -> str:
    """Whether a count stands out from its kind's median by more than its resolution."""
    mine = _first_reading(one)
    if mine is None:
        return ""
    others = [_level(scene, r) for r in _readings(scene, one.valve.kind)]
    if len(others) < 3:
        return ""
    away = _level(scene, mine) - median(others)
    if abs(away) <= mine.resolution_turns + 1e-9:
        return ""
    more = "more" if away > 0 else "fewer"
    word = "intakes" if one.valve.kind is Kind.INTAKE else "exhausts"
    return f"{abs(away):.2f} turn {more} than the median of the {word}"


def _readings(scene: Scene, kind: Kind) -> list[Read]:
    found = (_first_reading(o) for v, o in scene.standing.valves.items() if v.kind is kind)
    return [r for r in found if r is not None]


def _level(scene: Scene, read: Read) -> float:
    """A count with the pushrod's length taken out, so that different lengths compare."""
    turns = quantities.turns(read.turns)
    return turns - quantities.length_mm(read.pushrod) / scene.travel.used.mm
