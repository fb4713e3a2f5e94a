"""Where to put the crank: every plan the walk and the commands ask for.

The plans themselves are described in ``plan``, the fewest positions worked out in ``fewest``;
their names are to be had here too.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from heelwise.valvetrain.arcs import CYCLE, apart
from heelwise.valvetrain.cam import ANY_CAM, Cam
from heelwise.valvetrain.engine import Engine
from heelwise.valvetrain.fewest import (
    DEFAULT_MARGIN_DEG,
    Zone,
    check_margin,
    fewest_for,
    fewest_positions,
)
from heelwise.valvetrain.landmarks import SHOWN_DEG, degrees
from heelwise.valvetrain.lobes import heel_arc
from heelwise.valvetrain.plan import (
    EACH,
    AlsoFree,
    NoPlan,
    Placed,
    Plan,
    Position,
    lay_out,
    place_valves,
    replace_at,
)
from heelwise.valvetrain.valves import Valve

__all__ = [
    "DEFAULT_MARGIN_DEG",
    "AlsoFree",
    "NoPlan",
    "Placed",
    "Plan",
    "Position",
    "PreferredPlan",
    "each_cylinder",
    "fewest_positions",
    "other_plan",
    "place_valves",
    "preferred_plan",
    "replace_at",
]

COMMON_MARK_DEG = 90.0
"""Marks that most dampers carry or that are easily added: a quarter turn. Common practice."""
LEAST_SHARE_OF_MARGIN = 0.5
"""Common marks are preferred while they keep at least this share of the exact plan's margin."""
MORE_POSITIONS_FOR_PISTONS = 1
"""Pistons down are preferred while they cost at most so many more positions."""
ANOTHER_PLACE_DEG = 60.0
"""A valve counted again is put at least so far from where it was read, where its heel allows."""


@dataclass(frozen=True)
class PreferredPlan:
    """The plan the walk follows.

    Attributes:
        plan: the plan.
        said: what was preferred and its price, one sentence each.
        marks_deg: the marks its positions lie on; None for exact angles.
        pistons_down_deg: how far pistons were kept from TDC for it; 0 for not at all.
    """

    plan: Plan
    said: tuple[str, ...]
    marks_deg: float | None = None
    pistons_down_deg: float = 0.0


def each_cylinder(engine: Engine, cam: Cam | None, margin_deg: float = DEFAULT_MARGIN_DEG) -> Plan:
    """One cylinder at a time, at its TDC on compression: right for any four-stroke cam.

    Args:
        engine: the engine.
        cam: the cam; None if not known, and then no margin can be told.
        margin_deg: crank degrees every valve must keep from its lobe's ends, 0 or more.

    Returns:
        The plan; cylinders that fire together share a position.

    Raises:
        NoPlan: the cam is known and some valve has less margin at that place.
        ValueError: the margin is negative.
    """
    check_margin(margin_deg)
    groups: dict[float, list[Valve]] = {}
    for valve in engine.valves:
        groups.setdefault(engine.phase(valve.cylinder), []).append(valve)
    plan = lay_out(engine, cam, EACH, sorted(groups.items()))
    most = plan.least_margin_deg
    if most is not None and most < margin_deg - 1e-9:
        raise NoPlan(
            f"at TDC on compression not every valve keeps {margin_deg:g}° from its lobe's ends: "
            f"the most that can be had there is {most:g}°",
            most,
        )
    return plan


def preferred_plan(
    engine: Engine,
    cam: Cam | None,
    margin_deg: float = DEFAULT_MARGIN_DEG,
    pistons_down_deg: float = 0.0,
) -> PreferredPlan:
    """The plan for the walk: few positions, on common marks and with pistons down where cheap.

    Args:
        engine: the engine.
        cam: the cam; None if not known.
        margin_deg: crank degrees every valve must keep from its lobe's ends, 0 or more.
        pistons_down_deg: crank degrees pistons should be from TDC, 0 to 180.

    Returns:
        The plan with what was preferred and its price in words.

    Raises:
        NoPlan: even without any preference some valve has no place.
        ValueError: the margin is negative, or pistons are asked further from TDC than BDC is.
    """
    if cam is None:
        return PreferredPlan(
            each_cylinder(engine, None, margin_deg),
            (
                "The cam is not known: one cylinder at a time at its TDC on compression, "
                "which is right for any four-stroke cam.",
            ),
        )
    plan, said, pistons = _with_pistons_down(engine, cam, margin_deg, pistons_down_deg)
    on_marks = _on_common_marks(engine, cam, margin_deg, pistons, plan)
    if on_marks is None:
        why = "Exact angles: common marks would cost another position or over half of the margin."
        return PreferredPlan(plan, (*said, why), None, pistons)
    marks, better = on_marks
    wish = f"positions on marks every {degrees(marks)}"
    price = f"Preferred: {wish}. Its price: {_price(plan, better)}."
    return PreferredPlan(better, (*said, price), marks, pistons)


def _with_pistons_down(
    engine: Engine, cam: Cam, margin_deg: float, pistons_deg: float
) -> tuple[Plan, tuple[str, ...], float]:
    exact = fewest_positions(engine, cam, margin_deg)
    if pistons_deg == 0.0:
        return exact, (), 0.0
    wish = f"every valve worked on with its piston at least {degrees(pistons_deg)} from TDC"
    instead = "a valve whose piston is near TDC waits for its lifter to bleed down"
    try:
        down = fewest_positions(engine, cam, margin_deg, pistons_down_deg=pistons_deg)
    except NoPlan:
        return exact, (f"There is no plan with {wish}: {instead}.",), 0.0
    count, fewest = len(down.positions), len(exact.positions)
    if count > fewest + MORE_POSITIONS_FOR_PISTONS:
        return (
            exact,
            (f"{count} positions instead of {fewest} would be needed for {wish}: {instead}.",),
            0.0,
        )
    return down, (f"Preferred: {wish}. Its price: {_price(exact, down)}.",), pistons_deg


def _on_common_marks(
    engine: Engine, cam: Cam, margin_deg: float, pistons_deg: float, exact: Plan
) -> tuple[float, Plan] | None:
    found = []
    for marks in common_marks(engine):
        try:
            plan = fewest_positions(engine, cam, margin_deg, marks, pistons_deg)
        except NoPlan:
            continue
        if len(plan.positions) == len(exact.positions) and _keeps_enough(plan, exact):
            found.append((marks, plan))
    return max(found, key=lambda each: (_least(each[1]), each[0]), default=None)


def common_marks(engine: Engine) -> tuple[float, ...]:
    """Marks at which the crank is easily put.

    Args:
        engine: the engine.

    Returns:
        Degrees between marks: the damper's own or else quarter turns, and the firing gap if
        even, which puts a cylinder at TDC.
    """
    marks = {engine.damper_marks_deg or COMMON_MARK_DEG}
    gap = CYCLE / engine.cylinders
    if all(abs(each - gap) < 1e-6 for each in engine.firing_gaps):
        marks.add(gap)
    return tuple(sorted(marks))


def _keeps_enough(plan: Plan, exact: Plan) -> bool:
    return _least(plan) >= LEAST_SHARE_OF_MARGIN * _least(exact)


def _least(plan: Plan) -> float:
    return 0.0 if plan.least_margin_deg is None else plan.least_margin_deg


def _price(exact: Plan, plan: Plan) -> str:
    """What a plan costs against the exact one, in words."""
    price = []
    if len(plan.positions) > len(exact.positions):
        price.append(f"{len(plan.positions)} positions instead of {len(exact.positions)}")
    if _least(plan) < _least(exact) - SHOWN_DEG:
        price.append(f"least margin {degrees(_least(plan))} instead of {degrees(_least(exact))}")
    return ", ".join(price) or "none"


def other_plan(
    engine: Engine,
    cam: Cam | None,
    used: Mapping[Valve, float],
    margin_deg: float = DEFAULT_MARGIN_DEG,
) -> Plan:
    """A plan for counting some valves again, each at another place of its heel.

    A reading taken a little up the lobe repeats itself at the same place: only another place
    shows it. With the cam not known an intake is counted again during its cylinder's power
    stroke and an exhaust during its compression stroke, when any four-stroke cam has them shut.

    Args:
        engine: the engine.
        cam: the cam; None if not known.
        used: the valves, with the crank angle each was read at, in degrees.
        margin_deg: crank degrees every valve must keep from its lobe's ends, 0 or more.

    Returns:
        The fewest positions for these valves, each at least 60 degrees from where it was read,
        or as far as its heel allows; without positions if no valve is named.

    Raises:
        NoPlan: a valve has no place with that margin.
        ValueError: the margin is negative or a valve is not the engine's.
    """
    check_margin(margin_deg)
    if not used:
        return Plan("fewest", None, ())
    known, asked = (ANY_CAM, 0.0) if cam is None else (cam, margin_deg)
    zones = {
        valve: (_away_from(engine, known, valve, read_at, asked),)
        for valve, read_at in used.items()
    }
    plan = fewest_for(engine, known, used, asked, None, zones)
    if cam is not None:
        return plan
    groups = [
        (position.crank_deg, [placed.valve for placed in position.valves])
        for position in plan.positions
    ]
    return lay_out(engine, None, plan.method, groups)


def _away_from(engine: Engine, cam: Cam, valve: Valve, read_at: float, margin_deg: float) -> Zone:
    heel = heel_arc(engine, cam, valve)
    ends = (heel.start + margin_deg, heel.start + heel.length - margin_deg)
    farthest = max(apart(read_at, end) for end in ends)
    # A hair less than the farthest, so that rounding can't close the way to it.
    away = max(min(ANOTHER_PLACE_DEG, farthest - 1e-6), 0.0)
    return Zone(read_at + away, CYCLE - 2.0 * away)
