"""A click proves the clamp, not the preload: counts made on a little lobe, by the lever.

Worked from a level lever (shown equal to the solved rocker in test_lever_geometry). The bolt's
seat fixes where the fulcrum ends, whatever the lobe does. A lobe under the lifter brings zero
lash earlier, so more turns are counted to the same click; on the heel the plunger is pressed as
little as before.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from heelwise.documents.procedure import load_procedure
from heelwise.valvetrain.window import Window, Word, judge, preload_mm

PITCH, RATIO, INCH = 1.25, 1.7, 25.4
TRAVEL = 0.0781612 * INCH
"""By hand: .0492126·(1 + 1/1.7) in."""
WINDOW = Window(0.75, 1.25, "¾ to 1¼ turns (common practice, no source)")
BOLT_DOWN = Path(__file__).parents[2] / "procedures" / "bolt-down-rockers.toml"


def fulcrum(pushrod_end_inch: float) -> float:
    """Height of the fulcrum in mm, the valve shut with its tip at 0 (arms 1 and RATIO)."""
    return RATIO * pushrod_end_inch * INCH / (1 + RATIO)


def counted(preload_inch: float, lobe_inch: float) -> float:
    """Turns from zero lash to the seat, which is where it makes a preload on the heel."""
    return (fulcrum(lobe_inch) - fulcrum(-preload_inch)) / PITCH


@pytest.mark.parametrize(
    ("lobe_inch", "more", "by_hand"), [(0.010, 1 / 8, 0.128), (0.020, 1 / 4, 0.256)]
)
def test_a_little_lobe_adds_to_the_count(lobe_inch: float, more: float, by_hand: float) -> None:
    added = counted(0.040, lobe_inch) - counted(0.040, 0.0)
    assert added == pytest.approx(by_hand, abs=5e-4)
    assert added == pytest.approx(more, abs=0.01)
    assert preload_mm(added, TRAVEL) == pytest.approx(lobe_inch * INCH, abs=1e-4)


def test_a_count_up_the_lobe_passes_a_valve_that_is_short() -> None:
    # True preload .050 in: .640 turn on the heel, short of ¾. On .010 in of lobe .768: inside.
    # Either count ends on the same seat: a second click finds nothing.
    true_count, false_count = counted(0.050, 0.0), counted(0.050, 0.010)
    assert (true_count, false_count) == pytest.approx((0.640, 0.768), abs=5e-4)
    assert judge(true_count, WINDOW).word is Word.SHORT
    assert judge(false_count, WINDOW).word is Word.INSIDE
    # What is made of each count: .050 in, which is so; .060 in, .010 in more than there is.
    assert preload_mm(true_count, TRAVEL) / INCH == pytest.approx(0.050, abs=1e-5)
    assert preload_mm(false_count, TRAVEL) / INCH == pytest.approx(0.060, abs=1e-5)


def test_a_recount_on_the_heel_tells_from_a_hundredth_of_an_inch_on() -> None:
    # By hand: .010 in of lobe is .128 turn, .009 in .115. What may differ unremarked in a
    # re-count lies between them, so a false count of a hundredth is found.
    allowed = load_procedure(BOLT_DOWN).defaults.recount_allowance_turns
    assert 0.115 < allowed < 0.128
    assert counted(0.050, 0.010) - counted(0.050, 0.0) > allowed
    assert counted(0.050, 0.009) - counted(0.050, 0.0) < allowed
