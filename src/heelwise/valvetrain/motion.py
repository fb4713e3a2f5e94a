"""What each lifter does while the crank turns."""

from __future__ import annotations

from dataclasses import dataclass

from heelwise.valvetrain.arcs import CYCLE, SLACK
from heelwise.valvetrain.cam import Cam
from heelwise.valvetrain.engine import Engine
from heelwise.valvetrain.lobes import open_arc
from heelwise.valvetrain.valves import Valve

RISES_AND_FALLS = "rises and falls"
RISES = "rises"
FALLS = "falls"
FALLS_AND_RISES = "falls and rises"
UP_ALL_THE_WAY = "is up all the way"
STAYS_STILL = "stays still"


@dataclass(frozen=True)
class Seen:
    """What one valve's lifter does during a turn.

    Attributes:
        valve: the valve.
        what: "rises and falls", "rises", "falls", "falls and rises", "is up all the way" or
            "stays still" (on its heel).
        last_still_deg: crank degrees it is still on its heel up to the end of the turn.
    """

    valve: Valve
    what: str
    last_still_deg: float


def see(engine: Engine, cam: Cam, valve: Valve, from_deg: float, turn_deg: float) -> Seen:
    """Follow one lifter through a turn.

    Args:
        engine: the engine.
        cam: the cam.
        valve: one of the engine's valves.
        from_deg: crank angle at the start, in degrees.
        turn_deg: degrees turned in the direction of rotation, 0 to below 720.

    Returns:
        What it does between its lobe's ends.

    Raises:
        ValueError: the engine has no such cylinder.
    """
    lobe = open_arc(engine, cam, valve)
    if lobe.length >= CYCLE - SLACK:
        return Seen(valve, UP_ALL_THE_WAY, 0.0)
    rise = (lobe.start - from_deg) % CYCLE
    fall = rise + lobe.length
    if fall - CYCLE > SLACK:
        return _from_the_lobe(valve, rise, fall - CYCLE, turn_deg)
    if rise >= turn_deg - SLACK:
        return Seen(valve, STAYS_STILL, turn_deg)
    if fall <= turn_deg + SLACK:
        return Seen(valve, RISES_AND_FALLS, max(turn_deg - fall, 0.0))
    return Seen(valve, RISES, 0.0)


def _from_the_lobe(valve: Valve, rise: float, fall: float, turn_deg: float) -> Seen:
    if fall > turn_deg + SLACK:
        return Seen(valve, UP_ALL_THE_WAY, 0.0)
    if rise < turn_deg - SLACK:
        return Seen(valve, FALLS_AND_RISES, 0.0)
    return Seen(valve, FALLS, max(turn_deg - fall, 0.0))
