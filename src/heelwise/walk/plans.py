"""The orders of working round the crank: fewest positions, a cylinder at a time, or by eye.

By eye, for a cam that is not known: exhaust just opening, set that cylinder's intake; intake
almost closed, set its exhaust (a magazine's description, April 2014). How far open differs
between authors: a range, not a point, so the crank angles only put the places in their order.
"""

from __future__ import annotations

from functools import lru_cache

from heelwise.valvetrain.cam import Cam, margin, tdc_distance
from heelwise.valvetrain.engine import Engine, Valve, ValveKind
from heelwise.valvetrain.positions import (
    EACH,
    FEWEST,
    NoPlan,
    Placed,
    Plan,
    Position,
    PreferredPlan,
    each_cylinder,
    preferred_plan,
)

BY_EYE = "by eye"

ORDER_NAMES = {
    FEWEST: "the fewest positions",
    EACH: "one cylinder at a time, at its TDC on compression",
    BY_EYE: "by eye: exhaust just opening, set the intake; intake almost closed, set the exhaust",
}

EXHAUST_OPENING_DEG = 115.0
"""About where any exhaust begins to open, after its cylinder's firing TDC (a range: 90 to 140)."""
INTAKE_CLOSING_DEG = 585.0
"""About where any intake is almost closed (a range: 560 to 610)."""


def by_eye_plan(engine: Engine) -> Plan:
    """Two places a cylinder, in the direction of rotation; nominal angles, margins not known."""
    places = sorted(
        (round((engine.phase(c) + nominal) % 720.0, 6), c, kind)
        for c in range(1, engine.cylinders + 1)
        for nominal, kind in (
            (EXHAUST_OPENING_DEG, ValveKind.INTAKE),
            (INTAKE_CLOSING_DEG, ValveKind.EXHAUST),
        )
    )
    positions, before = [], 0.0
    for number, (deg, cylinder, kind) in enumerate(places, start=1):
        valve = Valve(cylinder, kind)
        placed = Placed(valve, None, tdc_distance(engine, cylinder, deg))
        intake = kind is ValveKind.INTAKE
        sign = f"{cylinder}E just begins to open" if intake else f"{cylinder}I is almost closed"
        positions.append(Position(number, deg, deg - before, sign, (placed,), ()))
        before = deg
    return Plan(BY_EYE, None, tuple(positions))


@lru_cache(maxsize=64)
def plan_by(
    order: str, engine: Engine, cam: Cam | None, margin_deg: float, down_deg: float
) -> PreferredPlan:
    """The plan of an order of work, and why it is as it is.

    The fewest positions prefer common marks, and pistons `down_deg` from TDC, where those cost
    little. Raises NoPlan where the cam leaves a valve without its margin.
    """
    if order == BY_EYE:
        return PreferredPlan(by_eye_plan(engine), ("Set by eye, by the cylinder's other valve.",))
    if order == EACH and cam is not None:
        why = "A cylinder's two valves are on their heels together."
        return PreferredPlan(each_cylinder(engine, cam, margin_deg), (why,))
    return preferred_plan(engine, cam, margin_deg, down_deg)


def orders(
    engine: Engine, cam: Cam | None, margin_deg: float, down_deg: float
) -> dict[str, PreferredPlan]:
    """The orders that put every valve on its heel with its margin, the fewest positions first."""
    found = {}
    for order in (FEWEST, EACH, BY_EYE) if cam is not None else (EACH, BY_EYE):
        try:
            plan = plan_by(order, engine, cam, margin_deg, down_deg)
        except NoPlan:
            continue
        placed = [(p.valve, at.crank_deg) for at in plan.plan.positions for p in at.valves]
        if cam is None or all(margin(engine, cam, v, at) >= margin_deg - 1e-9 for v, at in placed):
            found[order] = plan
    return found
