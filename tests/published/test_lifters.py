"""Preload, pushrods and checking lengths as print gives them."""

from math import isclose, sqrt

import pytest

from heelwise.valvetrain.engine import Valve, ValveKind
from heelwise.valvetrain.pushrods import HOW_MEASURED, sold_lengths
from heelwise.valvetrain.readings import expected_turns
from heelwise.valvetrain.travel import worked_out
from heelwise.valvetrain.trials import Reading
from heelwise.valvetrain.window import WindowSheet, preload_mm, window_in_turns
from heelwise.wording import MM_PER_INCH

INCH = MM_PER_INCH
STUD_7_16 = worked_out(INCH / 20, 1.5)
STUD_3_8 = worked_out(INCH / 24, 1.5)
BOLT_M8 = worked_out(1.25, 1.7)


def inches(turns: float, travel_mm: float) -> float:
    return preload_mm(turns, travel_mm) / INCH


@pytest.mark.parametrize(
    ("turns", "travel", "lever_inch", "most"),
    [
        (0.75, STUD_7_16, 0.0625, 0.040),
        (1.00, STUD_3_8, 0.0694, 0.060),
        (1.25, BOLT_M8, 0.0977, 0.050),
    ],
)
def test_finding_by_the_lever_the_same_turns_are_more_than_the_same_print_allows(
    turns: float, travel: float, lever_inch: float, most: float
) -> None:
    assert isclose(inches(turns, travel), lever_inch, abs_tol=1e-4)
    assert inches(turns, travel) > most


def test_usual_preload_in_turns() -> None:
    # .020 to .060 in (Engine Builder, June 2011, seen) with M8x1.25 and ratio 1.7: by hand
    # .020/.0782 = .256 and .060/.0782 = .767 turn; by the pitch alone .406 and 1.219.
    sheet = WindowSheet(None, (0.020 * INCH, 0.060 * INCH))
    window = window_in_turns(sheet, BOLT_M8)
    assert (window.least_turns, window.most_turns) == pytest.approx((0.256, 0.767), abs=1e-3)
    alone = window_in_turns(sheet, 1.25)
    assert (alone.least_turns, alone.most_turns) == pytest.approx((0.406, 1.219), abs=1e-3)


@pytest.mark.parametrize(
    ("least", "most", "pitch_alone", "lever"),
    [
        # Billet rollers 1¼ to 1½ turns (Engine Builder 2011, seen); a training text for engine
        # repair ¾ to 1½ turns (grade not noted). No thread is printed with either: by hand
        # for M8x1.25, ratio 1.7, .0492126 in a turn alone and .0781612 by the lever.
        (1.25, 1.50, (0.0615, 0.0738), (0.0977, 0.1172)),
        (0.75, 1.50, (0.0369, 0.0738), (0.0586, 0.1172)),
    ],
)
def test_finding_turns_printed_for_other_lifters_pass_the_usual_preload(
    least: float, most: float, pitch_alone: tuple[float, float], lever: tuple[float, float]
) -> None:
    alone = (inches(least, 1.25), inches(most, 1.25))
    levered = (inches(least, BOLT_M8), inches(most, BOLT_M8))
    assert alone == pytest.approx(pitch_alone, abs=5e-5)
    assert levered == pytest.approx(lever, abs=5e-5)
    # Both tops are past the usual .060 in (Engine Builder, June 2011, seen), either way.
    assert alone[1] > 0.060
    assert levered[1] > 0.060


def test_a_short_travel_lifter_has_its_makers_figure_only() -> None:
    # Common practice, no source: without a sheet's limits there is no window to fall back on.
    with pytest.raises(ValueError, match="the window isn't given"):
        window_in_turns(WindowSheet(), BOLT_M8)


def test_pushrods_sold_and_service_lengths() -> None:
    # Steps of .025 in (common practice, no source): .32 turn a step by the lever, and
    # 6.600 to 7.200 in is 25 lengths. Service pushrods ± .060 in (1990 5.8 L, seen).
    sold = sold_lengths(6.600 * INCH, 7.200 * INCH, 0.025 * INCH)
    assert len(sold) == 25
    reading = Reading(Valve(1, ValveKind.INTAKE), 6.850 * INCH, 1.0)
    step = expected_turns(reading, 6.875 * INCH, BOLT_M8) - 1.0
    assert isclose(step, 0.32, abs_tol=0.005)
    service = expected_turns(reading, (6.850 + 0.060) * INCH, BOLT_M8) - 1.0
    assert isclose(service, 0.77, abs_tol=0.005)


def test_theoretical_length_over_oil_holes() -> None:
    # "About .017 in" longer for 5/16 with .100 in oil holes, "minimally chamfered" (the same
    # answers, seen). Ball ends of 5/16 in, cut off at a .100 in hole, lack by geometry
    # 2·(r - √(r² - .05²)) = .0164 in; a hole opened to .102 in gives .0171.
    def lacking(hole: float) -> float:
        radius = 0.3125 / 2
        return 2 * (radius - sqrt(radius**2 - (hole / 2) ** 2))

    assert isclose(lacking(0.100), 0.0164, abs_tol=5e-5)
    assert isclose(lacking(0.102), 0.017, abs_tol=2e-4)
    assert "0.017 in (0.43 mm)" in HOW_MEASURED
    # What that is in turns at the click, if a length is taken the one way and sold the other.
    assert isclose(0.017 * INCH / BOLT_M8, 0.22, abs_tol=0.005)
