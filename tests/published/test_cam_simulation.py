"""A cam simulated by the tests themselves, against the lobe ends we take from its card.

The lobe is H·(1 - (x/P)²)ⁿ, x in crank degrees from its nose. H is .320 in at the lifter (our own
figure); P and n are solved so that it lasts 220 degrees at .050 in and so much more at .006 in.
That difference, about 45 to 60 degrees for hydraulic rollers, is from memory. Crank angles and
lifts come from scipy's solvers; none from the code under test.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from scipy.optimize import brentq, fsolve

from heelwise.valvetrain.cam import Cam, Events, events_from_timing, margin, timing_from_events
from heelwise.valvetrain.engine import ValveKind, make_engine
from heelwise.valvetrain.positions import fewest_positions

INCH = 25.4
PEAK = 0.320
INTAKE_CENTER, EXHAUST_CENTER = 108.0, 112.0
ORDER = (1, 8, 4, 3, 6, 5, 7, 2)
TURN = 0.0782
"""Plunger travel a turn by the lever, M8x1.25 and ratio 1.7, in inches (worked)."""


@dataclass(frozen=True)
class Lobe:
    half: float
    power: float

    def lift(self, from_nose: float) -> float:
        """Inches at the lifter."""
        return float(PEAK * max(0.0, 1 - (from_nose / self.half) ** 2) ** self.power)

    def duration(self, lift: float) -> float:
        return float(2 * brentq(lambda x: self.lift(x) - lift, 1.0, self.half))


def lobe(longer_at_006: float) -> Lobe:
    """A lobe of 220 degrees at .050 in, so much longer at .006 in."""

    def off(guess: np.ndarray) -> list[float]:
        half, power = guess
        return [
            (1 - (110 / half) ** 2) ** power - 0.050 / PEAK,
            (1 - ((220 + longer_at_006) / 2 / half) ** 2) ** power - 0.006 / PEAK,
        ]

    half, power = fsolve(off, [(220 + longer_at_006) / 2 + 25, 3.0])
    return Lobe(float(half), float(power))


def events(shape: Lobe, lift: float) -> Events:
    """The card a cam grinder would print: where each valve passes a lift."""
    half = shape.duration(lift) / 2
    return Events(
        ivo_btdc=half - INTAKE_CENTER,
        ivc_abdc=half + INTAKE_CENTER - 180,
        evo_bbdc=half + EXHAUST_CENTER - 180,
        evc_atdc=half - EXHAUST_CENTER,
    )


def lifted(shape: Lobe, cylinder: int, kind: ValveKind, crank: float) -> float:
    """Inches of lift under a lifter, from the firing order counted off by 90 degrees."""
    nose = 360 + INTAKE_CENTER if kind is ValveKind.INTAKE else 360 - EXHAUST_CENTER
    away = (crank - 90 * ORDER.index(cylinder) - nose) % 720
    return shape.lift(min(away, 720 - away))


DIFFERENCES = [45.0, 50.0, 55.0, 60.0]


@pytest.mark.parametrize("longer", DIFFERENCES)
def test_the_simulated_cam_is_what_it_is_meant_to_be(longer: float) -> None:
    shape = lobe(longer)
    assert shape.duration(0.050) == pytest.approx(220, abs=1e-6)
    assert shape.duration(0.006) == pytest.approx(220 + longer, abs=1e-6)


@pytest.mark.parametrize("lift", [0.006, 0.050])
def test_a_card_of_the_simulated_cam_both_ways(lift: float) -> None:
    shape = lobe(50)
    timing = timing_from_events(events(shape, lift))
    assert timing.intake_duration == pytest.approx(shape.duration(lift))
    assert timing.intake_centerline == pytest.approx(INTAKE_CENTER)
    assert 2 * timing.lobe_separation - timing.intake_centerline == pytest.approx(EXHAUST_CENTER)
    assert timing.lobe_separation == pytest.approx(110)
    back = events_from_timing(timing)
    assert back.evo_bbdc == pytest.approx(events(shape, lift).evo_bbdc)


@pytest.mark.parametrize("longer", DIFFERENCES)
@pytest.mark.parametrize("lift", [0.006, 0.008, 0.050])
def test_what_lift_is_left_where_a_valve_may_be_set(lift: float, longer: float) -> None:
    """Whatever the card's lift: at our margin of 10 degrees less than .004 in, 1/20 turn."""
    shape = lobe(longer)
    cam = Cam(events(shape, lift), lift * INCH)
    engine = make_engine(ORDER)
    left = [
        lifted(shape, valve.cylinder, valve.kind, crank)
        for valve in engine.valves
        for crank in np.arange(0.0, 720.0, 1.0)
        if margin(engine, cam, valve, float(crank)) >= 10.0
    ]
    assert len(left) > 16 * 300
    assert max(left) < 0.004
    assert max(left) / TURN < 1 / 16


@pytest.mark.parametrize("longer", DIFFERENCES)
def test_positions_found_from_a_fifty_thousandths_card_stand_on_the_true_heel(
    longer: float,
) -> None:
    shape = lobe(longer)
    plan = fewest_positions(make_engine(ORDER), Cam(events(shape, 0.050), 0.050 * INCH), 10.0)
    placed = [(each.valve, at.crank_deg) for at in plan.positions for each in at.valves]
    assert len(placed) == 16
    assert max(lifted(shape, v.cylinder, v.kind, crank) for v, crank in placed) < 0.004


def test_without_the_allowance_the_same_card_would_be_far_up_the_lobe() -> None:
    # 10 degrees outside a .050 in end a lobe still lifts .0275 in: more than a third of a turn.
    shape = lobe(50)
    bare = shape.lift(110 + 10)
    assert bare == pytest.approx(0.0275, abs=5e-5)
    assert bare / TURN > 1 / 3
    # And the code does widen: 25 degrees at each end, half of this cam's 50.
    card = events(shape, 0.050)
    ends = Cam(card, 0.050 * INCH).lobe_ends
    assert ends.ivo_btdc == pytest.approx(events(shape, 0.006).ivo_btdc, abs=1e-6)


def test_finding_an_advertised_card_leaves_up_to_fifteen_degrees_at_each_end() -> None:
    # The checking height can change duration by up to 30 degrees between .002 and .008 in
    # (Popular Hot Rodding 2006, seen): 15 at each end, more than our margin of 10. Simulated:
    # 13 to 22 in all. What is missed is at most the .008 in still to go, and at the margin
    # .0023 in: three hundredths of a turn. So .010 in and less are taken as they are.
    changes = [lobe(d).duration(0.002) - lobe(d).duration(0.008) for d in DIFFERENCES]
    assert min(changes) == pytest.approx(13.0, abs=0.1)
    assert max(changes) == pytest.approx(21.6, abs=0.1)
    assert max(changes) <= 30
    worst = lobe(60)
    ends = Cam(events(worst, 0.008), 0.008 * INCH).lobe_ends
    from_nose = ends.intake_duration / 2
    assert from_nose == pytest.approx(worst.duration(0.008) / 2)
    assert worst.lift(from_nose + 10) == pytest.approx(0.0023, abs=1e-4)
    assert worst.lift(from_nose + 10) / TURN == pytest.approx(0.03, abs=0.001)
