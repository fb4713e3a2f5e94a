"""Figures inside sentences, worked by hand."""

from __future__ import annotations

import pytest

from heelwise.valvetrain.cam import Cam, Events
from heelwise.valvetrain.engine import make_engine
from heelwise.valvetrain.positions import fewest_positions, preferred_plan
from heelwise.valvetrain.turn import turn_to

FOUR = make_engine([1, 3, 4, 2])
EIGHT = make_engine([1, 8, 4, 3, 6, 5, 7, 2])
ROAD = Cam(Events(25.0, 63.0, 74.0, 20.0), 0.1)


@pytest.mark.parametrize(
    ("start", "end", "proof"),
    [
        # 30 degrees before TDC on compression the exhaust has been shut since BDC, 150 before.
        (300.0, 690.0, "1E stays still for the last 150°"),
        (600.0, 690.0, "1E stays still for the last 90°"),
        # 20 degrees after it the intake is shut and stays so; since TDC nothing else could be told.
        (300.0, 20.0, "1I stays still for the last 20°"),
    ],
)
def test_what_stays_still_with_any_cam(start: float, end: float, proof: str) -> None:
    assert turn_to(FOUR, None, start, end).proof.startswith(proof)


def test_pistons_down_may_cost_one_position_more_and_not_two() -> None:
    assert len(fewest_positions(EIGHT, ROAD).positions) == 2
    for pistons, count, preferred in ((90.0, 3, 3), (93.0, 4, 2)):
        assert len(fewest_positions(EIGHT, ROAD, pistons_down_deg=pistons).positions) == count
        plan = preferred_plan(EIGHT, ROAD, pistons_down_deg=pistons)
        assert len(plan.positions) == preferred


def test_a_lifter_forty_degrees_up_its_lobe_is_seen_to_be_up() -> None:
    one = make_engine([1])
    cam = Cam(Events(25.0, 63.0, 74.0, 20.0), 0.0)
    # The exhaust is open from 106 to 380: at 150 it is 44 up, at 145 only 39.
    assert turn_to(one, cam, 150.0, 420.0).proof == "1E falls, then stays still for the last 40°"
    assert "1E falls" not in turn_to(one, cam, 145.0, 420.0).proof


@pytest.mark.parametrize(("closes", "said"), [(-10.0, True), (-9.5, False)])
def test_no_overlap_is_noted_from_none_on(closes: float, said: bool) -> None:
    notes = Cam(Events(10.0, 63.0, 74.0, closes), 0.0).notes()
    assert any("no overlap" in note for note in notes) == said
