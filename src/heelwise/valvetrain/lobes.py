"""Where each lifter is on its lobe or on its heel."""

from __future__ import annotations

from heelwise.valvetrain.arcs import CYCLE, Arc, apart, wrap
from heelwise.valvetrain.cam import Cam
from heelwise.valvetrain.engine import Engine
from heelwise.valvetrain.valves import Kind, Valve


def lobe(cam: Cam, kind: Kind) -> tuple[float, float]:
    """A lobe in its own cylinder's cycle, 0 being TDC on compression.

    The intake is open from 360 - IVO to 540 + IVC, the exhaust from 180 - EVO to 360 + EVC.

    Args:
        cam: the cam.
        kind: intake or exhaust.

    Returns:
        Degrees at which the lobe begins, and its length, which may pass 720 once widened.
    """
    ends = cam.lobe_ends
    if kind is Kind.INTAKE:
        return 360.0 - ends.ivo_btdc, ends.intake_duration
    return 180.0 - ends.evo_bbdc, ends.exhaust_duration


def open_arc(engine: Engine, cam: Cam, valve: Valve) -> Arc:
    """Crank angles at which a lobe can lift its lifter.

    Args:
        engine: the engine.
        cam: the cam.
        valve: one of the engine's valves.

    Returns:
        The arc, lobe end to lobe end.

    Raises:
        ValueError: the engine has no such cylinder.
    """
    start, length = lobe(cam, valve.kind)
    return Arc(wrap(engine.phase(valve.cylinder) + start), min(length, CYCLE))


def heel_arc(engine: Engine, cam: Cam, valve: Valve) -> Arc:
    """Crank angles at which a lifter is on its heel (on the base circle).

    Args:
        engine: the engine.
        cam: the cam.
        valve: one of the engine's valves.

    Returns:
        The arc from the lobe's end round to its beginning; of no length if the lobe leaves none.

    Raises:
        ValueError: the engine has no such cylinder.
    """
    start, length = lobe(cam, valve.kind)
    return Arc(wrap(engine.phase(valve.cylinder) + start + length), max(CYCLE - length, 0.0))


def margin(engine: Engine, cam: Cam, valve: Valve, crank_deg: float) -> float:
    """Crank degrees from a lifter's place on its heel to the nearer end of its lobe.

    Args:
        engine: the engine.
        cam: the cam.
        valve: one of the engine's valves.
        crank_deg: crank angle, in degrees.

    Returns:
        Degrees, rounded to 1e-9; negative on the lobe.

    Raises:
        ValueError: the engine has no such cylinder.
    """
    return _margin(engine.phase(valve.cylinder), lobe(cam, valve.kind), crank_deg)


def margins(engine: Engine, cam: Cam, crank_deg: float) -> dict[Valve, float]:
    """Margins of all valves at a crank angle, each as `margin` gives it.

    Args:
        engine: the engine.
        cam: the cam.
        crank_deg: crank angle, in degrees.

    Returns:
        Degrees by valve.
    """
    lobes = {kind: lobe(cam, kind) for kind in Kind}
    return {
        valve: _margin(engine.phase(valve.cylinder), lobes[valve.kind], crank_deg)
        for valve in engine.valves
    }


def _margin(phase: float, its_lobe: tuple[float, float], crank_deg: float) -> float:
    start, length = its_lobe
    return round(apart(crank_deg, phase + start + length / 2.0) - length / 2.0, 9) + 0.0


def tdc_distance(engine: Engine, cylinder: int, crank_deg: float) -> float:
    """Crank degrees of a piston from its nearest TDC, on compression or at overlap.

    Args:
        engine: the engine.
        cylinder: its number.
        crank_deg: crank angle, in degrees.

    Returns:
        Degrees, 0 to 180, rounded to 1e-9.

    Raises:
        ValueError: the engine has no such cylinder.
    """
    past = round(crank_deg - engine.phase(cylinder), 9) % 360.0
    return round(min(past, 360.0 - past), 9) + 0.0
