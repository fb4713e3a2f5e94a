"""A plan for a cam that is not known: each valve set by what its cylinder's other valve does.

Exhaust just opening: set that cylinder's intake. Intake almost closed: set its
exhaust (a magazine's description, April 2014). How far open differs between
authors: a range, not a point, so the crank angles here only put the places in
their order.
"""

from __future__ import annotations

from datetime import datetime

from heelwise.documents.entries import Answered, Draft
from heelwise.valvetrain.engine import Engine
from heelwise.valvetrain.lobes import tdc_distance
from heelwise.valvetrain.positions import Placed, Plan, Position
from heelwise.valvetrain.valves import Kind, Valve
from heelwise.walk.prompts import Ask, Fact, Option, Prompt, Taken

BY_EYE = "by eye"
EACH = "each"
UNKNOWN_CAM = "walk/unknown-cam"

EXHAUST_OPENING_DEG = 115.0
"""About where any exhaust begins to open, after its cylinder's firing TDC (a range: 90 to 140)."""
INTAKE_CLOSING_DEG = 585.0
"""About where any intake is almost closed (a range: 560 to 610)."""


def by_eye_plan(engine: Engine) -> Plan:
    """Two places a cylinder, in the direction of rotation.

    Args:
        engine: The engine.

    Returns:
        A plan of method "by eye"; its crank angles are nominal and its margins not known.
    """
    places = sorted(
        (round((engine.phase(c) + nominal) % 720.0, 6), c, kind)
        for c in range(1, engine.cylinders + 1)
        for nominal, kind in (
            (EXHAUST_OPENING_DEG, Kind.INTAKE),
            (INTAKE_CLOSING_DEG, Kind.EXHAUST),
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
    """What is seen when a valve may be set."""
    if valve.kind is Kind.INTAKE:
        return f"{valve.cylinder}E just begins to open"
    return f"{valve.cylinder}I is almost closed"


def unknown_cam_prompt() -> Prompt:
    """Which of the two plans that need no cam card is to be followed."""

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        plan = EACH if answer == "1" else BY_EYE
        said = "one cylinder at a time" if answer == "1" else "by eye"
        return Taken((Draft(Answered(step=UNKNOWN_CAM, answer=plan, said=said)),))

    return Prompt(
        id=UNKNOWN_CAM,
        phase="prepare",
        ask=Ask.CHOICE,
        question="The cam is not known. How are the valves to be put on their heel (base circle)?",
        why="Without a cam card no margin can be worked out, so only places that are right for "
        "any four-stroke cam are used.",
        options=(
            Option("1", "one cylinder at a time, at its TDC on compression"),
            Option(
                "2",
                "by eye: exhaust just opening, set the intake; intake almost closed, "
                "set the exhaust",
            ),
        ),
        facts=(
            Fact("at compression TDC both valves are shut", "how a four-stroke works"),
            Fact("how far open differs between authors: a range", "a magazine, April 2014"),
        ),
        guarded=True,
        take=take,
    )
