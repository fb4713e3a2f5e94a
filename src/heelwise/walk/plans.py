"""The orders of working round the crank: fewest positions, a cylinder at a time, or by eye.

By eye, for a cam that is not known: exhaust just opening, set that cylinder's intake; intake
almost closed, set its exhaust (a magazine's description, April 2014). How far open differs
between authors: a range, not a point, so the crank angles only put the places in their order.
"""

from __future__ import annotations

from functools import lru_cache

from heelwise.valvetrain.cam import Cam, tdc_distance
from heelwise.valvetrain.engine import Engine, Valve, ValveKind
from heelwise.valvetrain.positions import (
    Placed,
    Plan,
    Position,
    PreferredPlan,
    each_cylinder,
    preferred_plan,
)

BY_EYE = "by eye"
EACH = "each"

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
        sign = _sign(valve)
        positions.append(Position(number, deg, deg - before, sign, (placed,), ()))
        before = deg
    return Plan(BY_EYE, None, tuple(positions))


def _sign(valve: Valve) -> str:
    if valve.kind is ValveKind.INTAKE:
        return f"{valve.cylinder}E just begins to open"
    return f"{valve.cylinder}I is almost closed"


@lru_cache(maxsize=64)
def preferred(engine: Engine, cam: Cam | None, margin_deg: float, down_deg: float) -> PreferredPlan:
    """The fewest positions, common marks and pistons down where they cost little."""
    return preferred_plan(engine, cam, margin_deg, down_deg)


def by_eye(engine: Engine) -> PreferredPlan:
    """The plan by eye, as it is preferred where the cam is not known."""
    return PreferredPlan(by_eye_plan(engine), ("by eye: the cam is not known",))


def stand_by_stand(engine: Engine, cam: Cam | None, margin_deg: float) -> PreferredPlan:
    """A cylinder at a time, for stands that hold two rockers."""
    plan = each_cylinder(engine, cam, margin_deg)
    return PreferredPlan(plan, ("A cylinder's two valves are on their heels together.",))
