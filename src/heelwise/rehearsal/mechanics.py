"""How the virtual engine moves: crank, lobes, rigid rockers on an arc. Solved numerically.

Nothing of `valvetrain` but the valves' names is used here or anywhere in this package: an engine
that shared its arithmetic with what it tests would agree with every mistake in it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import cos, sin, sqrt

from heelwise.documents.setup_engine import CamTable, EngineTable
from heelwise.valvetrain.engine import Valve, ValveKind

CYCLE_DEG = 720.0
NOSE_MM = 8.0
"""Lift at the nose of every lobe."""

_WIDEST_RISE_MM = 15.0
_WIDEST_SWING = 0.6


def dead_centers(engine: EngineTable) -> dict[int, float]:
    """Crank angle of each cylinder's TDC on compression, cylinder 1 at 0."""
    order = engine.firing_order
    gaps = engine.firing_gaps or [CYCLE_DEG / len(order)] * len(order)
    place, at = {}, 0.0
    for cylinder, gap in zip(order, gaps, strict=False):
        place[cylinder] = at
        at += gap
    return {cylinder: (deg - place[1]) % CYCLE_DEG for cylinder, deg in place.items()}


@dataclass(frozen=True)
class Lobe:
    """A lobe: where its nose is in its cylinder's own cycle, and half its width, crank degrees."""

    nose_deg: float
    half_deg: float

    def lift_mm(self, own_deg: float) -> float:
        """Lift of the lifter, (1 − u²)³ of the nose's: smooth at both ends, no maker's profile."""
        off = abs((own_deg - self.nose_deg + CYCLE_DEG / 2) % CYCLE_DEG - CYCLE_DEG / 2)
        u = min(off / self.half_deg, 1.0)
        return NOSE_MM * float((1 - u * u) ** 3)


def lobes(cam: CamTable, at_lift_mm: float) -> Mapping[ValveKind, Lobe]:
    """The lobes that open and close at the card's figures, measured at its lift."""
    if cam.intake_opens_btdc is not None:
        ivo, ivc = cam.intake_opens_btdc, cam.intake_closes_abdc or 0.0
        evo, evc = cam.exhaust_opens_bbdc or 0.0, cam.exhaust_closes_atdc or 0.0
        intake = (360 - ivo, 540 + ivc)
        exhaust = (180 - evo, 360 + evc)
    else:
        center, apart = cam.intake_centerline or 0.0, cam.lobe_separation or 0.0
        half_i = (cam.intake_duration or cam.duration or 0.0) / 2
        half_e = (cam.exhaust_duration or cam.duration or 0.0) / 2
        nose_i = 360 + center
        nose_e = 360 - (2 * apart - center)
        intake = (nose_i - half_i, nose_i + half_i)
        exhaust = (nose_e - half_e, nose_e + half_e)
    early = cam.advance or 0.0
    # u at which (1 − u²)³ is the card's lift: the lobe goes on that much further either way.
    u = sqrt(1 - (at_lift_mm / NOSE_MM) ** (1 / 3))
    return {
        kind: Lobe((opens + closes) / 2 - early, (closes - opens) / 2 / u)
        for kind, (opens, closes) in ((ValveKind.INTAKE, intake), (ValveKind.EXHAUST, exhaust))
    }


@dataclass(frozen=True)
class Rocker:
    """A rigid rocker between a valve tip and a leaning pushrod; lengths in mm, angles in radians.

    Attributes:
        valve_arm: fulcrum to valve tip.
        pushrod_arm: fulcrum to pushrod cup.
        valve_slant: how far the valve arm points up, drawn down and the valve shut.
        pushrod_slant: the same of the other arm.
        lean: how far the lifter's cup stands inboard of the rocker's.
        touching: pushrod length with no lash and no preload once the rocker is drawn down.
    """

    valve_arm: float
    pushrod_arm: float
    valve_slant: float
    pushrod_slant: float
    lean: float
    touching: float

    def preload(self, length: float, lift: float = 0.0, rise: float = 0.0) -> float:
        """How far the plunger is down, the valve held shut; below 0: so much play.

        Args:
            length: The pushrod's.
            lift: Of the lifter by its lobe.
            rise: How far the fulcrum is above where it is drawn down to.
        """
        shut = self._tip(0.0)
        swing = _solve(lambda s: self._tip(s) + rise - shut, -_WIDEST_SWING, _WIDEST_SWING)
        return self._heel_top() + lift - self._lifter_top(length, rise, swing)

    def rise_at(self, length: float, down: float, lift: float = 0.0) -> float:
        """How far the fulcrum is up where the plunger is `down`; 0 at 0: zero lash."""
        return _solve(
            lambda rise: down - self.preload(length, lift, rise), -_WIDEST_RISE_MM, _WIDEST_RISE_MM
        )

    def gap(self, length: float, lifter_up: float) -> float:
        """The gap at the valve, drawn down, with the lifter's cup held so far above the heel's.

        Below 0 the pushrod is tight. `lifter_up`: less than 0 with a plunger pressed down.
        """
        top = self._heel_top() + lifter_up
        swing = _solve(
            lambda s: top - self._lifter_top(length, 0.0, s), -_WIDEST_SWING, _WIDEST_SWING
        )
        return self._tip(swing) - self._tip(0.0)

    def _tip(self, swing: float) -> float:
        return self.valve_arm * sin(self.valve_slant + swing)

    def _cup(self, rise: float, swing: float) -> tuple[float, float]:
        angle = self.pushrod_slant - swing
        return self.pushrod_arm * cos(angle), rise + self.pushrod_arm * sin(angle)

    def _lifter_top(self, length: float, rise: float, swing: float) -> float:
        out, up = self._cup(rise, swing)
        across = out - (self._cup(0.0, 0.0)[0] - self.lean)
        return up - sqrt(length * length - across * across)

    def _heel_top(self) -> float:
        return self._lifter_top(self.touching, 0.0, 0.0)


def _solve(rises: Callable[[float], float], low: float, high: float) -> float:
    """Where a rising function passes 0, by halving."""
    for _ in range(50):
        middle = (low + high) / 2
        if rises(middle) < 0:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def lift_of(
    lobe: Mapping[ValveKind, Lobe], centers: Mapping[int, float], valve: Valve, crank_deg: float
) -> float:
    """How far a lobe lifts its lifter at a crank angle, in mm; 0 on the heel."""
    own = crank_deg - centers[valve.cylinder]
    return lobe[valve.kind].lift_mm(own)
