"""Decisions near a limit: ILAC-G8, JCGM 106, and figures worked by hand."""

from math import hypot, isclose

import numpy as np
import pytest
from scipy import stats

from heelwise.valvetrain.engine import Valve, ValveKind
from heelwise.valvetrain.figures import COVERAGE, chance_inside, uniform
from heelwise.valvetrain.readings import Basis, expect
from heelwise.valvetrain.travel import Origin, Travel
from heelwise.valvetrain.trials import Reading
from heelwise.valvetrain.window import (
    Window,
    WindowSheet,
    Word,
    judge,
    window_in_turns,
)

STANDARD = hypot(uniform(0.001), 0.002)


def test_worked_uncertainty() -> None:
    # Limits .025 to .075, δ .001, other u .002: u .002021, U (k = 2) .004041 (worked).
    assert isclose(STANDARD, 0.002021, abs_tol=5e-7)
    assert isclose(COVERAGE * STANDARD, 0.004041, abs_tol=1e-6)


@pytest.mark.parametrize(
    ("value", "chance", "within"),
    [
        (0.030, 0.9933, 5e-5),
        (0.026, 0.690, 5e-4),
        (0.025, 0.500, 5e-4),
        (0.024, 0.310, 5e-4),
        (0.020, 0.0067, 5e-5),
    ],
)
def test_worked_chances(value: float, chance: float, within: float) -> None:
    ours = chance_inside(value, STANDARD, 0.025, 0.075)
    assert isclose(ours, chance, abs_tol=within)
    # JCGM 106:2012, 7.3: the share of the distribution between the limits.
    rival = stats.norm(value, STANDARD)
    assert isclose(ours, float(rival.cdf(0.075) - rival.cdf(0.025)), abs_tol=1e-12)


@pytest.mark.parametrize(
    ("turns", "outcome", "word"),
    [
        # ILAC-G8:09/2019, 4.2.3, non-binary statement with guard band w, limits .5 and 1.0:
        # pass inside by more than w, conditional pass within w inside, conditional fail
        # within w outside, fail beyond (seen).
        (0.75, "pass", Word.INSIDE),
        (0.55, "conditional pass", Word.INSIDE),
        (0.95, "conditional pass", Word.INSIDE),
        (0.45, "conditional fail", Word.SHORT),
        (1.05, "conditional fail", Word.LONG),
        (0.40, "fail", Word.SHORT),
        (1.10, "fail", Word.LONG),
    ],
)
def test_four_outcomes(turns: float, outcome: str, word: Word) -> None:
    verdict = judge(turns, Window(0.5, 1.0, "a test"), rule="guarded")
    assert verdict.word is word
    assert verdict.rule.startswith(f"guarded: {outcome} (")


def test_simple_acceptance() -> None:
    # ILAC-G8:09/2019, 4.2.1, w = 0: pass or fail at the limit alone (seen). Its own figure:
    # at most a 50 % chance of being wrong, on the limit.
    window = Window(0.5, 1.0, "a test")
    assert judge(0.5, window).word is Word.INSIDE
    assert judge(0.49, window).word is Word.SHORT
    assert isclose(chance_inside(0.5, uniform(0.125), 0.5, 1.0), 0.5, abs_tol=1e-9)


def test_finding_our_guard_band_is_a_little_less_than_the_usual_one() -> None:
    # ILAC-G8 takes w = U = 2u as its usual band; for a resolution alone that is
    # 2 · δ/√12 = .577 δ. Ours is δ/2: rounding can't move a reading by more (GUM 4.3.7), and
    # half of an eighth is a figure a hand can use.
    usual, ours = COVERAGE * uniform(0.125), 0.125 / 2
    assert isclose(usual, 0.0722, abs_tol=5e-5)
    assert isclose(ours, 0.0625)
    window = Window(0.0, 4.0, "a test")
    assert judge(ours - 1e-6, window).near
    assert not judge(ours + 1e-6, window).near


def test_finding_sheets_can_disagree() -> None:
    # Turns .75 to 1.25 make .0375 to .0625 in by a sheet's .050 in a turn, and .059 to
    # .098 in by the lever's .0782 (M8x1.25, ratio 1.7). Turns are what was specified.
    by_sheet = [turns * 0.050 for turns in (0.75, 1.25)]
    by_lever = [turns * 0.0782 for turns in (0.75, 1.25)]
    assert by_sheet == pytest.approx([0.0375, 0.0625])
    assert by_lever == pytest.approx([0.059, 0.098], abs=5e-4)
    sheet = WindowSheet((0.75, 1.25), (0.0375 * 25.4, 0.0625 * 25.4))
    agreed = window_in_turns(sheet, 0.050 * 25.4)
    assert agreed.notes == ()
    assert (agreed.least_turns, agreed.most_turns) == pytest.approx((0.75, 1.25))
    window = window_in_turns(sheet, 0.0782 * 25.4)
    assert (window.least_turns, window.most_turns) == (0.75, 1.25)
    assert "The sheets disagree" in window.notes[0]
    assert "The turns are kept" in window.notes[0]


@pytest.mark.parametrize(("turns", "longer"), [(0.75, 0.0), (1.25, 0.0), (0.25, 1.0), (0.5, 0.8)])
def test_the_chance_of_a_pushrod_by_scipy(turns: float, longer: float) -> None:
    # JCGM 106:2012, 7.3, with what a count brings: read to an eighth (uniform), zero lash .025 mm,
    # two lengths of .015 mm, Receive's tolerance of .127 mm, and a travel of 2.0 ± .1 mm: drawn.
    travel = Travel(2.0, Origin.MEASURED, 0.1, "a test")
    basis = Basis(Window(0.5, 1.0, "a test"), travel, received_mm=0.127)
    ours = expect(Reading(Valve(1, ValveKind.INTAKE), 180.0, turns), 180.0 + longer, basis)
    drawn = np.random.default_rng(1)
    size = 400_000
    slope = drawn.normal(1 / 2.0, 0.1 / 2.0**2, size)
    lengths = drawn.normal(0, 0.015 * 2**0.5, size) + drawn.uniform(-0.127, 0.127, size)
    lash = drawn.normal(0, 0.025, size)
    true = turns + drawn.uniform(-1 / 16, 1 / 16, size) + (longer + lengths + lash) * slope
    assert isclose(ours.chance, float(np.mean((true >= 0.5) & (true <= 1.0))), abs_tol=0.01)
    assert isclose(ours.uncertainty_turns, float(np.std(true)), rel_tol=0.02)
    assert isclose(ours.turns, turns + longer / 2.0)
