"""A rigid rocker solved numerically, against the arithmetic that leaves its angles out.

The rocker is two arms fixed to each other, in the plane of pushrod and valve. Down is
negative. The valve tip is a line at the height of its stem; the fulcrum goes down by one
pitch; scipy finds the angle at which the far end still rests on that line.
"""

from dataclasses import dataclass
from math import cos, isclose, radians, sin

import pytest
from scipy.optimize import brentq, minimize_scalar

from heelwise.valvetrain.engine import Valve, ValveKind
from heelwise.valvetrain.travel import travel_in_play, worked_out
from heelwise.valvetrain.trials import Reading
from heelwise.valvetrain.window import never_past
from heelwise.wording import MM_PER_INCH

ARM_MM = 20.0


@dataclass(frozen=True)
class Rocker:
    """Pushrod arm of 20 mm, valve arm ratio times as long; each hangs at its own angle."""

    ratio: float
    pushrod_hangs: float = 0.0
    valve_hangs: float = 0.0

    def pushrod_end(self, fulcrum: float, turned: float) -> float:
        """Height of the pushrod end; turned is positive when the valve end goes up."""
        return fulcrum - ARM_MM * sin(radians(self.pushrod_hangs) + turned)

    def valve_end(self, fulcrum: float, turned: float) -> float:
        """Height of the valve end."""
        return fulcrum - self.ratio * ARM_MM * sin(radians(self.valve_hangs) - turned)

    def plunger_travel(self, down: float) -> float:
        """How far the pushrod end goes down when the fulcrum does, the valve held shut."""
        rest = self.valve_end(0.0, 0.0)
        turned = brentq(lambda a: self.valve_end(-down, a) - rest, -0.5, 0.5, xtol=1e-14)
        return self.pushrod_end(0.0, 0.0) - self.pushrod_end(-down, turned)

    def valve_opening(self, down: float) -> float:
        """How far the valve end goes down when the fulcrum does, the pushrod held."""
        rest = self.pushrod_end(0.0, 0.0)
        turned = brentq(lambda a: self.pushrod_end(-down, a) - rest, -0.5, 0.5, xtol=1e-14)
        return self.valve_end(0.0, 0.0) - self.valve_end(-down, turned)

    def true_ratio(self) -> float:
        """The ratio of the arms as they stand, each with the cosine of its angle."""
        return self.ratio * cos(radians(self.valve_hangs)) / cos(radians(self.pushrod_hangs))


CASES = [(1.25, 1.7), (25.4 / 24, 1.5), (1.27, 1.5), (1.27, 1.6), (1.27, 1.7), (25.4 / 18, 1.6)]


@pytest.mark.parametrize(("pitch", "ratio"), CASES)
def test_level_rocker_agrees_exactly(pitch: float, ratio: float) -> None:
    assert isclose(Rocker(ratio).plunger_travel(pitch), worked_out(pitch, ratio), rel_tol=1e-9)


@pytest.mark.parametrize("hangs", [(10.0, 10.0), (20.0, 5.0), (5.0, 20.0), (-10.0, 15.0)])
@pytest.mark.parametrize(("pitch", "ratio"), CASES)
def test_slanted_rockers_agree_with_their_true_ratio(
    pitch: float, ratio: float, hangs: tuple[float, float]
) -> None:
    rocker = Rocker(ratio, *hangs)
    solved = rocker.plunger_travel(pitch)
    assert isclose(solved, worked_out(pitch, rocker.true_ratio()), rel_tol=0.01)
    # With the ratio as sold, still within 4 %; the pitch alone is off by more than a third.
    assert isclose(solved, worked_out(pitch, ratio), rel_tol=0.04)
    assert solved > 1.5 * pitch


def test_finding_the_pitch_alone_against_the_solved_rocker() -> None:
    # M8x1.25, ratio 1.7: pitch alone .0492 in, lever and solved rocker .0782 in a turn.
    solved = Rocker(1.7).plunger_travel(1.25) / MM_PER_INCH
    assert isclose(solved, 0.0782, abs_tol=5e-5)
    assert isclose(1.25 / MM_PER_INCH, 0.0492, abs_tol=5e-5)
    assert isclose(solved / (1.25 / MM_PER_INCH), 1.588, abs_tol=5e-4)


def test_two_turns_are_twice_one() -> None:
    rocker = Rocker(1.7, 15.0, 10.0)
    assert isclose(rocker.plunger_travel(2.5), 2 * rocker.plunger_travel(1.25), rel_tol=0.02)


def settle(down: float, ratio: float, plunger_n: float, plunger_n_mm: float) -> tuple[float, float]:
    """Where valve and plunger settle: least energy of both springs, arms level.

    A valve spring of 500 N shut and 50 N/mm; a lever joins the three heights, so that the
    fulcrum goes down by (ratio · plunger + valve) / (1 + ratio).
    """

    def plunger(valve: float) -> float:
        return ((1 + ratio) * down - valve) / ratio

    def energy(valve: float) -> float:
        held = 500.0 * valve + 25.0 * valve**2
        return held + plunger_n * plunger(valve) + plunger_n_mm / 2 * plunger(valve) ** 2

    most = (1 + ratio) * down
    best = minimize_scalar(energy, bounds=(0.0, most), method="bounded", options={"xatol": 1e-10})
    return float(best.x), plunger(float(best.x))


def test_the_valve_spring_holds_the_valve_shut() -> None:
    # A soft plunger spring (20 N, 5 N/mm) gives way: the valve stays shut, the plunger goes.
    valve, plunger = settle(1.25, 1.7, 20.0, 5.0)
    assert isclose(valve, 0.0, abs_tol=1e-6)
    assert isclose(plunger, worked_out(1.25, 1.7), rel_tol=1e-6)


def test_a_pumped_lifter_opens_its_valve() -> None:
    # Oil can't be pressed together: the plunger stays, and one turn of M8x1.25 at ratio 1.7
    # opens the valve by p·(1 + r) = .133 in until it bleeds down (worked).
    valve, plunger = settle(1.25, 1.7, 0.0, 1e7)
    assert isclose(plunger, 0.0, abs_tol=0.001)
    assert isclose(valve / MM_PER_INCH, 0.133, abs_tol=5e-4)
    assert isclose(Rocker(1.7).valve_opening(1.25) / MM_PER_INCH, 0.133, abs_tol=5e-4)


def test_worked_finding_a_little_lobe_falsifies_the_count() -> None:
    # .010 in of lobe under the lifter is about an eighth of a turn, .020 in a quarter.
    travel = Rocker(1.7).plunger_travel(1.25) / MM_PER_INCH
    assert isclose(0.010 / travel, 1 / 8, abs_tol=0.005)
    assert isclose(0.020 / travel, 1 / 4, abs_tol=0.01)


def test_worked_finding_never_past_by_the_larger() -> None:
    # Plunger travel .180 in bottoms at 2.3 turns by the lever, 3.6 by the .050 in of practice.
    plunger, lever = 0.180 * MM_PER_INCH, worked_out(1.25, 1.7)
    assert never_past(plunger, lever, 0.0).turns == pytest.approx(2.3, abs=0.05)
    assert never_past(plunger, 0.050 * MM_PER_INCH, 0.0).turns == pytest.approx(3.6, abs=0.05)
    assert never_past(plunger, lever).turns == pytest.approx(2.05, abs=0.05)


def counted(rocker: Rocker, pitch: float, longer: float, step: float = 0.125) -> float:
    """Turns to the seat with a pushrod so much longer than just touches there, to a step.

    It is touched with the fulcrum so much higher that coming down presses the plunger as far.
    """
    higher = float(brentq(lambda up: rocker.plunger_travel(up) - longer, 0.0, 6.0, xtol=1e-12))
    return round(higher / pitch / step) * step


@pytest.mark.parametrize(("pitch", "ratio"), CASES)
def test_two_trials_measure_what_the_solved_rocker_does(pitch: float, ratio: float) -> None:
    # Whatever the sheet says (.050 in a turn is common practice): read finely the solved rocker's
    # own travel, in eighths within its uncertainty.
    rocker = Rocker(ratio, 10.0, 5.0)
    solved = rocker.plunger_travel(pitch)
    one = Valve(1, ValveKind.INTAKE)
    for step, within in ((0.125, 0.12), (1 / 64, 0.02)):
        trials = [
            Reading(one, 180.0 + longer, counted(rocker, pitch, longer, step), step)
            for longer in (1.0, 3.0)
        ]
        play = travel_in_play(trials, 0.050 * MM_PER_INCH, pitch, ratio)
        assert play.measured
        assert isclose(play.used.mm, solved, rel_tol=within)
        assert abs(play.used.mm - solved) <= 3 * (play.used.uncertainty_mm or 0)
    # Before a second trial the sheet's figure, and never past goes by the larger all the same.
    first = travel_in_play(trials[:1], 0.050 * MM_PER_INCH, pitch, ratio)
    assert first.used.mm == pytest.approx(0.050 * MM_PER_INCH)
    assert first.largest_mm == pytest.approx(worked_out(pitch, ratio))
    last = never_past(4.0, first.largest_mm).turns
    assert last is not None
    assert rocker.plunger_travel(pitch * last) < 4.0
    assert rocker.plunger_travel(pitch * (last + 0.5)) > 4.0


def test_a_miscount_of_half_a_turn_is_not_taken_for_a_travel() -> None:
    rocker, one = Rocker(1.7), Valve(1, ValveKind.INTAKE)
    first, second = (counted(rocker, 1.25, longer) for longer in (2.0, 3.27))
    wrong = [Reading(one, 182.0, first + 0.5), Reading(one, 183.27, second)]
    play = travel_in_play(wrong, 1.32, 1.25, 1.7)
    assert [each.reading for each in play.odd_readings]
    assert play.used.mm == 1.32


def test_one_miscount_among_four_valves_is_found_and_the_rest_measure() -> None:
    rocker = Rocker(1.7, 10.0, 5.0)
    valves = [Valve(cylinder, ValveKind.INTAKE) for cylinder in (1, 2, 3, 4)]
    trials = [
        Reading(valve, 180.0 + longer, counted(rocker, 1.25, longer + 0.1 * place))
        for place, valve in enumerate(valves)
        for longer in (1.0, 2.27)
    ]
    wrong = Reading(valves[0], trials[1].pushrod_mm, trials[1].turns - 0.5)
    play = travel_in_play([trials[0], wrong, *trials[2:]], 1.32, 1.25, 1.7)
    assert [each.reading for each in play.odd_readings] == [wrong]
    assert play.measured
    assert isclose(play.used.mm, rocker.plunger_travel(1.25), rel_tol=0.12)
