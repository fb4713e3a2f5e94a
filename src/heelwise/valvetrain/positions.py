"""Where to put the crank: positions, plans, and which plan the walk follows."""

from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from itertools import repeat

from heelwise.valvetrain import cam as cams
from heelwise.valvetrain.cam import SLACK, Cam
from heelwise.valvetrain.engine import CYCLE, Engine, Valve, ValveKind, wrap
from heelwise.valvetrain.piercing import Circle
from heelwise.valvetrain.turn import SHOWN_DEG, degrees, landmark
from heelwise.wording import Length, text

FEWEST = "fewest"
EACH = "each"
DEFAULT_MARGIN_DEG = 10.0

COMMON_MARK_DEG = 90.0  # most dampers carry these marks, or they are easily added
LEAST_SHARE_OF_MARGIN = 0.5  # of the exact plan's, which common marks must keep
MORE_POSITIONS_FOR_PISTONS = 1  # what pistons down may cost
ANOTHER_PLACE_DEG = 60.0  # a valve counted again stands so far from where it was read, if it can
_SLACK_DEG = 2e-9  # what rounding the ends of an arc can cost


@dataclass(frozen=True)
class Placed:
    """A valve worked on at a position: margin (None: cam not known), piston from TDC (0 to 180)."""

    valve: Valve
    margin_deg: float | None
    from_tdc_deg: float


@dataclass(frozen=True)
class Position:
    """A crank angle in [0, 720) at which work is done, numbered from 1.

    `turn_deg` is from the position before. `also_free`: the other valves on their heels there.
    """

    number: int
    crank_deg: float
    turn_deg: float
    landmark: str
    valves: tuple[Placed, ...]
    also_free: tuple[Placed, ...]


@dataclass(frozen=True)
class Plan:
    """Positions by growing crank angle, by a method, and what was preferred at which price."""

    method: str
    least_margin_deg: float | None
    positions: tuple[Position, ...]
    reasons: tuple[str, ...] = ()

    @property
    def crank_degs(self) -> tuple[float, ...]:
        """Where the positions are, the first being number 1."""
        return tuple(position.crank_deg for position in self.positions)


class NoPlan(ValueError):
    """No plan gives every valve the margin asked for; the most that would (None: not any)."""

    def __init__(self, message: str, most_margin_deg: float | None) -> None:
        super().__init__(message)
        self.most_margin_deg = most_margin_deg


def each_cylinder(
    engine: Engine, cam: Cam | None, margin_deg: float = DEFAULT_MARGIN_DEG, past_deg: float = 0.0
) -> Plan:
    """One cylinder at a time, `past_deg` past its TDC on compression; NoPlan without the margin.

    Right for any four-stroke cam at TDC. Cylinders that fire together share a position.
    """
    groups: dict[float, list[Valve]] = {}
    for valve in engine.valves:
        groups.setdefault((engine.phase(valve.cylinder) + past_deg) % 720.0, []).append(valve)
    plan = _lay_out(engine, cam, EACH, sorted(groups.items()))
    most = plan.least_margin_deg
    if most is not None and most < margin_deg - SLACK:
        raise NoPlan(
            f"at TDC on compression not every valve keeps {margin_deg:g}° from its lobe's ends: "
            f"the most possible there is {most:g}°",
            most,
        )
    return plan


def fewest_positions(
    engine: Engine,
    cam: Cam,
    margin_deg: float = DEFAULT_MARGIN_DEG,
    marks_deg: float | None = None,
    pistons_down_deg: float = 0.0,
) -> Plan:
    """The fewest positions that put every valve on its heel, and of those plans the safest.

    Exact: among all plans with the fewest positions at the margin asked for, the one whose least
    margin is largest. Each valve stands where its margin is largest, ties to the earlier position.
    `marks_deg`: only multiples of so many degrees. `pistons_down_deg`: a valve is worked on only
    with its piston at least so far from TDC. NoPlan where some valve has no such place.
    """
    zones: dict[Valve, _Zones] = {}
    for valve in engine.valves if pistons_down_deg else ():
        down = engine.phase(valve.cylinder) + pistons_down_deg
        length = 360.0 - 2.0 * pistons_down_deg
        zones[valve] = ((down, length), (down + 360.0, length))
    groups = _fewest_for(engine, cam, engine.valves, margin_deg, marks_deg, zones)
    return _lay_out(engine, cam, FEWEST, groups)


def preferred_plan(
    engine: Engine,
    cam: Cam | None,
    margin_deg: float = DEFAULT_MARGIN_DEG,
    pistons_down_deg: float = 0.0,
    most_down_deg: float = 0.0,
) -> Plan:
    """The plan for the walk: few positions, on common marks and with pistons down where cheap.

    Further down, in steps of 5 degrees and up to `most_down_deg`, where that costs no position, no
    marks, and no more than half the margin.
    """
    if cam is None:
        reason = (
            "The cam is not known: one cylinder at a time at its TDC on compression, "
            "which is right for any four-stroke cam."
        )
        return replace(each_cylinder(engine, None, margin_deg), reasons=(reason,))
    exact = fewest_positions(engine, cam, margin_deg)
    plan, down = _with_pistons_down(engine, cam, margin_deg, pistons_down_deg, exact)
    best, on_marks = _on_common_marks(engine, cam, margin_deg, down, plan)
    count, low, high = len(best.positions), 0, round((most_down_deg - down) // 5) if down else 0
    while low < high:
        steps = (low + high + 1) // 2
        plan, further = _with_pistons_down(engine, cam, margin_deg, down + 5.0 * steps, exact)
        other, marks = _on_common_marks(engine, cam, margin_deg, further, plan)
        same = further and len(other.positions) <= count and marks >= on_marks
        if same and _margin(other) >= LEAST_SHARE_OF_MARGIN * _margin(best):
            low, best = steps, other
        else:
            high = steps - 1
    return best


def other_plan(
    engine: Engine,
    cam: Cam | None,
    used: Mapping[Valve, float],
    margin_deg: float = DEFAULT_MARGIN_DEG,
) -> Plan:
    """A plan for counting some valves again, each at another place of its heel; NoPlan without.

    A reading taken a little up the lobe repeats itself at the same place. Each valve of `used`
    stands at least 60 degrees from the angle it was read at, or as far as its heel allows: with the
    cam not known, the power stroke for an intake and the compression stroke for an exhaust.
    """
    if not used:
        return Plan(FEWEST, None, ())
    known, asked = (cams.ANY_CAM, 0.0) if cam is None else (cam, margin_deg)
    zones: dict[Valve, _Zones] = {}
    for valve, read_at in used.items():
        heel = cams.heel_arc(engine, known, valve)
        ends = (heel.start + asked, heel.start + heel.length - asked)
        farthest = max(cams.degrees_between(read_at, end) for end in ends)
        # A hair less than the farthest, so that rounding can't close it.
        away = max(min(ANOTHER_PLACE_DEG, farthest - 1e-6), 0.0)
        zones[valve] = ((read_at + away, CYCLE - 2.0 * away),)
    groups = _fewest_for(engine, known, sorted(used), asked, None, zones)
    return _lay_out(engine, cam, FEWEST, groups)


def _margin(plan: Plan) -> float:
    return plan.least_margin_deg or 0.0


def _with_pistons_down(
    engine: Engine, cam: Cam, margin_deg: float, pistons_deg: float, exact: Plan
) -> tuple[Plan, float]:
    if pistons_deg == 0.0:
        return exact, 0.0
    wish = f"each valve's piston at least {degrees(pistons_deg)} from TDC"
    instead = "a valve whose piston is near TDC waits for its lifter to bleed down"
    try:
        down = fewest_positions(engine, cam, margin_deg, pistons_down_deg=pistons_deg)
    except NoPlan:
        return replace(exact, reasons=(f"No plan has {wish}: {instead}.",)), 0.0
    count, fewest = len(down.positions), len(exact.positions)
    if count > fewest + MORE_POSITIONS_FOR_PISTONS:
        reason = f"It would take {count} positions instead of {fewest} to keep {wish}: {instead}."
        return replace(exact, reasons=(reason,)), 0.0
    price, drop = _price(exact, down), engine.piston_drop_mm(pistons_deg)
    far = text(", {} down (worked out from stroke and rod)", Length(drop)) if drop else ""
    reason = text("Positions have {}{}{}.", wish, far, price and f"; that {price}")
    return replace(down, reasons=(reason,)), pistons_deg


def _on_common_marks(
    engine: Engine, cam: Cam, margin_deg: float, pistons_deg: float, exact: Plan
) -> tuple[Plan, bool]:
    """The best plan on common marks where that costs little, and whether there is one.

    The damper's own marks or else quarter turns, and an even firing gap: it puts a cylinder at TDC.
    """
    marks = {engine.damper_marks_deg or COMMON_MARK_DEG}
    gap = CYCLE / engine.cylinders
    if all(abs(each - gap) < 1e-6 for each in engine.firing_gaps):
        marks.add(gap)
    plans: list[tuple[float, float, Plan]] = []
    for each in sorted(marks):
        with suppress(NoPlan):
            plan = fewest_positions(engine, cam, margin_deg, each, pistons_deg)
            enough = _margin(plan) >= LEAST_SHARE_OF_MARGIN * _margin(exact)
            if enough and len(plan.positions) == len(exact.positions):
                plans.append((_margin(plan), each, plan))
    if not plans:
        reason = (
            "Exact angles, not marks: using the usual marks would take another position or lose "
            "over half the margin."
        )
        return replace(exact, reasons=(*exact.reasons, reason)), False
    _, deg, plan = max(plans, key=lambda each: each[:2])
    price = _price(exact, plan)
    reasons = (f"Positions kept to the {degrees(deg)} marks; that {price}.",) if price else ()
    return replace(plan, reasons=(*exact.reasons, *reasons)), True


def _price(exact: Plan, plan: Plan) -> str:
    price = []
    if len(plan.positions) > len(exact.positions):
        price.append(f"takes {len(plan.positions)} positions instead of {len(exact.positions)}")
    if _margin(plan) < _margin(exact) - SHOWN_DEG:
        most, least = degrees(_margin(exact)), degrees(_margin(plan))
        price.append(f"brings the smallest margin down from {most} to {least}")
    return " and ".join(price)


_Group = tuple[float, list[Valve]]
"""A crank angle, and the valves worked on there in the engine's own order."""

_Zones = tuple[tuple[float, float], ...]
"""Crank angles where a valve may be worked on, for a reason other than its lobe: start, length."""


def _fewest_for(
    engine: Engine,
    cam: Cam,
    valves: Sequence[Valve],
    margin_deg: float,
    marks_deg: float | None,
    zones: Mapping[Valve, _Zones],
) -> list[_Group]:
    marks = 1 if marks_deg is None else round(CYCLE / marks_deg)
    scale = 2 * marks  # ticks to a billionth of a degree: even, and whole at every mark

    def ticks(deg: float) -> int:
        return round(deg * 1e9) * scale

    def degrees_of(place: int) -> float:
        return round(place / (scale * 1e9), 9)

    circle = Circle(ticks(CYCLE), 1 if marks_deg is None else ticks(CYCLE) // marks)
    lobes = {kind: cams.lobe(cam, kind) for kind in ValveKind}
    arcs = []
    for valve in valves:
        (start, length), phase = lobes[valve.kind], engine.phase(valve.cylinder)
        left, right = ticks(phase + start + length), ticks(phase + start + CYCLE)
        spans = [(ticks(begin), ticks(begin + own)) for begin, own in zones.get(valve, ())]
        arcs.append(circle.arc((left + right) // 2, (right - left) // 2, spans or None))
    depths = [circle.most_depth(arc) for arc in arcs]
    known = [depth for depth in depths if depth is not None]
    if len(known) < len(depths):
        raise NoPlan("no crank angle is left for some valve, whatever its margin", None)
    most = degrees_of(min(known))
    if most < 0.0:
        raise NoPlan("some valve would have to be worked on while on its lobe", most)
    if most < margin_deg - _SLACK_DEG:
        raise NoPlan(
            f"not every valve can keep {margin_deg:g}° from its lobe's ends: "
            f"the most possible is {most:g}°",
            most,
        )
    asked = max(ticks(min(margin_deg, most) - _SLACK_DEG), 0)
    points, owner, _ = circle.deepest_points(arcs, asked)
    groups: list[_Group] = [(degrees_of(point), []) for point in points]
    for valve, place in zip(valves, owner, strict=True):
        groups[place][1].append(valve)
    return groups


def _lay_out(engine: Engine, cam: Cam | None, method: str, groups: Iterable[_Group]) -> Plan:
    positions: list[Position] = []
    least: list[float] = []
    before = 0.0
    for number, (crank, valves) in enumerate(groups, start=1):
        degs = repeat(None) if cam is None else cams.margins(engine, cam, crank)
        mine, placed, also_free = set(valves), list[Placed](), list[Placed]()
        for valve, deg in zip(engine.valves, degs, strict=False):
            own = valve in mine
            if own or (deg is not None and deg >= -SLACK):
                from_tdc = cams.tdc_distance(engine, valve.cylinder, crank)
                (placed if own else also_free).append(Placed(valve, deg, from_tdc))
            if own and deg is not None:
                least.append(deg)
        at, turn = wrap(crank), wrap(crank - before)
        sides = tuple(placed), tuple(also_free)
        positions.append(Position(number, at, turn, landmark(engine, crank), *sides))
        before = crank
    return Plan(method, min(least, default=None), tuple(positions))
