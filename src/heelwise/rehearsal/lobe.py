"""A smooth lobe law for the virtual engine: no jerk at either end, no maker's profile."""

from __future__ import annotations

from math import pi, sin

from heelwise.valvetrain.cam import Cam
from heelwise.valvetrain.engine import Engine
from heelwise.valvetrain.lobes import open_arc
from heelwise.valvetrain.valves import Valve

PEAK_MM = 8.0


def lift_mm(engine: Engine, cam: Cam, valve: Valve, crank_deg: float) -> float:
    """How far a lobe lifts its lifter at a crank angle.

    Args:
        engine: The engine.
        cam: Its cam.
        valve: The valve.
        crank_deg: Degrees in the 720° cycle.

    Returns:
        Lift in mm, 0 on the heel. With x from 0 to 1 over the open arc and s = 2x up
        to the nose, the rise is cycloidal: s − sin(2πs)/2π, times the peak (the common
        cycloidal displacement of cam textbooks, from memory).
    """
    arc = open_arc(engine, cam, valve)
    into = (crank_deg - arc.start) % 720.0
    if into >= arc.length:
        return 0.0
    x = into / arc.length
    s = 2 * x if x <= 0.5 else 2 * (1 - x)
    return PEAK_MM * (s - sin(2 * pi * s) / (2 * pi))
