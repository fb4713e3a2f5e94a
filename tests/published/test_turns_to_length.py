"""Turns to preload to length, as print gives them: each value from outside, its source beside it.

Where the thread moves the pushrod's end itself (adjustable pushrods, and print that takes a turn of
the rocker's bolt for its pitch) a turn is the pitch; where it lowers the fulcrum, the lever rules.
"""

from math import isclose

import pytest

from heelwise.documents.quantities import turns as read_turns
from heelwise.documents.setup_lifters import checking_pushrod_mm
from heelwise.valvetrain.engine import Valve, ValveKind
from heelwise.valvetrain.pushrods import (
    CHECKING_PITCH_MM,
    length_from_lash,
    sold_lengths,
    try_pushrod,
)
from heelwise.valvetrain.readings import expected_turns
from heelwise.valvetrain.travel import travel_in_play, worked_out
from heelwise.valvetrain.trials import Reading
from heelwise.valvetrain.window import WindowSheet, never_past, preload_mm, window_in_turns
from heelwise.wording import MM_PER_INCH

INCH = MM_PER_INCH
ONE = Valve(1, ValveKind.INTAKE)

PUSHRODS = [
    # A motorcycle forum's table of adjustable pushrods (hdherd.com, "Pushrod adjustment for
    # hydraulic tappets", seen): threads per inch, turns to .100 in, in per turn, in per flat.
    (32, 3.2, 0.03125, 0.00520),
    (30, 3.0, 0.03333, 0.00555),
    (28, 2.8, 0.03571, 0.00595),
    (24, 2.4, 0.04165, 0.00694),
]


@pytest.mark.parametrize(("threads", "turns", "per_turn", "per_flat"), PUSHRODS)
def test_turns_of_an_adjustable_pushrod_to_a_tenth_of_an_inch(
    threads: int, turns: float, per_turn: float, per_flat: float
) -> None:
    pitch = INCH / threads
    assert isclose(preload_mm(turns, pitch) / INCH, 0.100, abs_tol=5e-5)
    assert isclose(preload_mm(1.0, pitch) / INCH, per_turn, abs_tol=2e-5)
    assert isclose(preload_mm(read_turns("1/6"), pitch) / INCH, per_flat, abs_tol=1e-5)
    # The window that preload alone gives, and the length that those turns add.
    window = window_in_turns(WindowSheet(None, (0.100 * INCH, 0.125 * INCH)), pitch)
    assert isclose(window.least_turns, turns, abs_tol=2e-3)
    longer = checking_pushrod_mm(f"10.0 in + {turns}", pitch)
    assert isclose(longer / INCH, 10.100, abs_tol=5e-5)
    zero = Reading(ONE, 10.0 * INCH, 0.0)
    assert isclose(expected_turns(zero, 10.100 * INCH, pitch), turns, abs_tol=2e-3)


def test_how_deep_the_same_table_goes() -> None:
    # "24 tpi ... set at 3.6 turns = .1499 tappet depth" (the same, seen).
    assert isclose(preload_mm(3.6, INCH / 24) / INCH, 0.1499, abs_tol=2e-4)


def test_four_turns_down_and_one_and_three_quarters_up_from_the_bottom() -> None:
    # A motorcycle service manual (Electra, tappets, seen): from no shake exactly four turns down,
    # or from the bottom 1 3/4 up: 5 3/4 in all. With 32 threads to the inch (the table above, for
    # that maker) the plunger has .180 in; the table's own says .190 to .200 of "actuation range".
    for reserve, turns in ((0.0, 5.75), (1.75, 4.0)):
        assert never_past(0.180 * INCH, INCH / 32, reserve).turns == pytest.approx(turns, abs=0.02)


@pytest.mark.parametrize(
    ("pitch_mm", "preload_inch", "degrees"),
    [
        # An owners' forum (ls1tech.com, "Lifter pre-load measurements", 2005, seen): .008 in of
        # preload with a 1.0 mm thread is 73.15 degrees; with 5/16-18, taken as .055 in, 52.36.
        (1.0, 0.008, 73.15),
        (0.055 * INCH, 0.008, 52.36),
        # A magazine (LSX Magazine, "Checking and setting lifter preload", seen): 7/16-20 is .050
        # in a turn, a quarter of it "roughly" .012.
        (INCH / 20, 0.050, 360.0),
        (INCH / 20, 0.0125, 90.0),
        # Bolt down to the click (common practice, no source): one turn of M8x1.25, about .050 in.
        (1.25, 0.0492, 360.0),
    ],
)
def test_turns_to_preload_by_the_pitch_alone(
    pitch_mm: float, preload_inch: float, degrees: float
) -> None:
    sheet = WindowSheet(None, (preload_inch * INCH, 0.2 * INCH))
    assert isclose(window_in_turns(sheet, pitch_mm).least_turns * 360.0, degrees, rel_tol=2e-3)


def test_a_shim_under_the_rocker_shaft_follows_the_lever() -> None:
    # A V8 specialist's page ("Setting follower pre-load", v8developments.co.uk, seen): a shim of
    # .032 in under the pivot moves the pushrod's end by "just over .050 in", ratio 1.6. The only
    # print found of what the lever does: p(1 + 1/r) is .052; the pitch alone would be .032.
    moved = worked_out(0.032 * INCH, 1.6) / INCH
    assert 0.050 < moved < 0.053
    assert isclose(moved, 0.0520, abs_tol=1e-4)
    assert isclose(travel_in_play([], None, 0.032 * INCH, 1.6).used.mm / INCH, moved)


def test_clearance_at_the_valve_and_service_pushrods() -> None:
    # .096 to .146 in at the valve with the plunger bottomed; pushrods .060 in longer or shorter
    # (1990 5.8 L service data, seen); ratio 1.6 (from memory): .060 and .091 in at the pushrod.
    for clearance, at_pushrod in ((0.096, 0.060), (0.146, 0.0913)):
        longer = length_from_lash(6.9 * INCH, clearance * INCH, 1.6, 0.0) / INCH - 6.9
        assert isclose(longer, at_pushrod, abs_tol=5e-4)
    # A finding: one service step is .096 in at the valve, twice as wide as the range it corrects.
    step = length_from_lash(6.9 * INCH, 0.096 * INCH, 1.6, 0.0) / INCH - 6.9
    assert isclose(step, 0.060, abs_tol=5e-4)
    # A cup .020 in higher than the solid lifter's takes a pushrod as much shorter (worked).
    cup = length_from_lash(6.9 * INCH, 0.096 * INCH, 1.6, 0.040 * INCH, 0.020 * INCH) / INCH
    assert isclose(cup, 6.9 + 0.060 + 0.040 - 0.020, abs_tol=5e-4)


def test_checking_pushrods() -> None:
    # Stamped 7.800, one rotation .050 in longer: 7.850 (a cam maker's technical answers, seen; "one
    # full revolution is .050 in", a restorer's page, 69mustangrestoration, seen).
    assert isclose(checking_pushrod_mm("7.800 in + 1", CHECKING_PITCH_MM) / INCH, 7.850)
    # Zero lash and .050 in, about the middle of .120 to .150 in of travel (LSX Magazine, seen).
    wanted = length_from_lash(7.350 * INCH, 0.0, 1.6, 0.050 * INCH) / INCH
    assert isclose(wanted, 7.400)
    assert 0.120 / 3 < wanted - 7.350 < 0.150 / 2


def test_from_a_count_to_the_length_to_buy() -> None:
    # Preload .020 to .060 in (Engine Builder, June 2011; the same in two dealers' pages, seen), in
    # steps of .025 in. By a thread that gives its pitch, 7/16-20, 1 1/2 turns are .075 in, .035
    # over the middle: one step shorter leaves .050 in, two .025; .050 is nearer to .040.
    sheet = WindowSheet(None, (0.020 * INCH, 0.060 * INCH))
    window = window_in_turns(sheet, INCH / 20)
    assert (window.least_turns, window.most_turns) == pytest.approx((0.4, 1.2))
    sold = sold_lengths(7.000 * INCH, 7.800 * INCH, 0.025 * INCH)
    tried = try_pushrod(Reading(ONE, 7.400 * INCH, 1.5), window, INCH / 20, sold)
    assert tried == pytest.approx((7.375 * INCH, 1.0))


def test_turns_that_only_seat_the_rocker_make_no_preload() -> None:
    # Worked: over a solid lifter, zero lash to the click is what seats the rocker; an eighth of a
    # turn of it, and 1 1/8 turns on the hydraulic lifter, are one turn of plunger: 7/16-20: .050.
    assert isclose(preload_mm(1.125, INCH / 20, 0.125) / INCH, 0.050)
    sheet = WindowSheet(None, (0.050 * INCH, 0.060 * INCH))
    assert isclose(window_in_turns(sheet, INCH / 20, 0.125).least_turns, 1.125)
