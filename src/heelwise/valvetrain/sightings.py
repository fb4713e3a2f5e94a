"""The fewest sightings that prove a place of the crank: revolution and heel together.

The same damper reading comes twice in a cycle, a lifter's fall onto its heel only once. So a
fall seen a known number of degrees before the end proves both at one blow. Where no lifter to
be worked on falls on the way, its stillness proves the heel, and another lifter the revolution.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence

from heelwise.valvetrain.arcs import CYCLE, SLACK, wrap
from heelwise.valvetrain.cam import Cam
from heelwise.valvetrain.engine import Engine
from heelwise.valvetrain.lobes import margin
from heelwise.valvetrain.motion import FALLS, RISES_AND_FALLS, STAYS_STILL, Seen
from heelwise.valvetrain.valves import Kind, Valve

REVOLUTION = 360.0
PLAINLY_UP_DEG = 40.0
"""So far from either end of its lobe a lifter is seen to be up. Common practice, no source."""
PLAINLY_STILL_DEG = 5.0
"""A lifter is seen to be still when it is so for at least so many degrees."""
NOTHING_TELLS = (
    "Nothing seen here tells the two revolutions apart: "
    "count the turns from cylinder 1 at TDC on compression"
)


def proof(
    engine: Engine,
    cam: Cam,
    seen: Sequence[Seen],
    from_deg: float,
    to_deg: float,
    valves: Collection[Valve] = (),
) -> str:
    """Say what proves the end of a turn.

    Args:
        engine: the engine.
        cam: the cam.
        seen: what the lifters do on the way.
        from_deg: crank angle at the start, in degrees.
        to_deg: crank angle at the end, in degrees.
        valves: valves to be worked on there; if empty, any plainly on its heel there.

    Returns:
        A sentence with no more sightings than it takes.
    """
    mine = [
        each
        for each in seen
        if each.last_still_deg >= PLAINLY_STILL_DEG
        and (each.valve in valves or not valves)
        and margin(engine, cam, each.valve, to_deg) >= PLAINLY_STILL_DEG
    ]
    heel = min(mine, key=_stillness, default=None)
    if heel is not None and _plainly_falls(engine, cam, heel, from_deg):
        return _falls(heel)
    fall = _last_fall(engine, cam, mine, from_deg) or _last_fall(engine, cam, seen, from_deg)
    revolution = _state(engine, cam, to_deg) if fall is None else _falls(fall)
    return revolution if heel is None else f"{_still(heel)}; {revolution}"


def proof_for_any_cam(engine: Engine, turn_deg: float, to_deg: float) -> str:
    """Say what proves the end of a turn, whatever the cam of a four-stroke engine.

    An exhaust is shut all through its cylinder's compression stroke, an intake all through the
    power stroke; one revolution off the first would be falling, the second rising.

    Args:
        engine: the engine.
        turn_deg: degrees turned, 0 to below 720.
        to_deg: crank angle at the end, in degrees.

    Returns:
        A sentence.
    """
    cylinder, past = _nearest_compression(engine, to_deg)
    if abs(past) > 180.0 - PLAINLY_STILL_DEG:
        return NOTHING_TELLS
    if past <= SLACK:
        still, moving, shut = Valve(cylinder, Kind.EXHAUST), "falling", 180.0 + past
    else:
        still, moving, shut = Valve(cylinder, Kind.INTAKE), "rising", past
    shut = min(shut, turn_deg)
    if shut < PLAINLY_STILL_DEG:
        words = f"{still} is down and stays still when the crank is moved a little"
    else:
        words = f"{still} stays still for the last {_whole(shut)}"
    return f"{words}; one revolution off it would be up or {moving} there"


def _last_fall(engine: Engine, cam: Cam, seen: Sequence[Seen], from_deg: float) -> Seen | None:
    """The lifter that falls last before the end, of those plainly seen to fall."""
    falls = [
        each
        for each in seen
        if each.last_still_deg >= PLAINLY_STILL_DEG and _plainly_falls(engine, cam, each, from_deg)
    ]
    return min(falls, key=_stillness, default=None)


def _plainly_falls(engine: Engine, cam: Cam, each: Seen, from_deg: float) -> bool:
    if each.what == FALLS:
        return margin(engine, cam, each.valve, from_deg) <= -PLAINLY_UP_DEG
    return each.what == RISES_AND_FALLS


def _stillness(each: Seen) -> tuple[float, Valve]:
    return round(each.last_still_deg, 6), each.valve


def _falls(each: Seen) -> str:
    return (
        f"{each.valve} {each.what}, then {STAYS_STILL} for the last {_whole(each.last_still_deg)}"
    )


def _still(each: Seen) -> str:
    return f"{each.valve} {STAYS_STILL} for the last {_whole(each.last_still_deg)}"


def _whole(deg: float) -> str:
    # Rounded down: still for at least so many.
    return f"{math.floor(deg + SLACK)}°"


def _state(engine: Engine, cam: Cam, crank_deg: float) -> str:
    """A lifter that is down here and up one revolution off, or the other way about."""

    def told(valve: Valve) -> tuple[float, bool]:
        here = margin(engine, cam, valve, crank_deg)
        off = margin(engine, cam, valve, crank_deg + REVOLUTION)
        return max(min(here, -off), min(-here, off)), here > 0.0

    valve = max(engine.valves, key=told)
    plainly, down = told(valve)
    if plainly < PLAINLY_STILL_DEG:
        return NOTHING_TELLS
    if down:
        return f"{valve} is down on its heel; one revolution off it would be up on its lobe"
    return f"{valve} is up on its lobe; one revolution off it would be down on its heel"


def _nearest_compression(engine: Engine, crank_deg: float) -> tuple[int, float]:
    """The cylinder whose TDC on compression is nearest, and degrees past it, negative before."""

    def past(cylinder: int) -> float:
        deg = wrap(crank_deg - engine.phase(cylinder))
        return deg - CYCLE if deg > REVOLUTION else deg

    numbers = range(1, engine.cylinders + 1)
    nearest = min(numbers, key=lambda number: (round(abs(past(number)), 6), -past(number)))
    return nearest, past(nearest)
