"""A travel measured on earlier builds beside what sheet, lever and this engine's trials say."""

from __future__ import annotations

from math import isclose, sqrt

import pytest

from heelwise.valvetrain.travel import Origin, Travel, TravelInPlay, travel_in_play
from tests.valvetrain.test_travel import pair

SHEET = 1.40


def _before(mm: float = 1.90, spread: float = 0.05) -> Travel:
    return Travel(mm, Origin.BEFORE, spread, "measured before")


def _play(more: float | None, before: Travel | None, step: float = 1.27) -> TravelInPlay:
    """On M8x1.25 with ratio 1.7: from 1.25 to 1.9853 mm a turn. `more`: turns of the step."""
    trials = [] if more is None else pair(0.5, more, step)
    return travel_in_play(trials, SHEET, 1.25, 1.7, before)


def test_it_goes_before_the_sheet_and_after_what_is_measured_here() -> None:
    ranks = [each.origin for each in _play(None, _before()).candidates]
    assert ranks == [Origin.BEFORE, Origin.SHEET, Origin.WORKED_OUT]
    ranks = [each.origin for each in _play(0.6875, _before()).candidates]
    assert ranks == [Origin.MEASURED, Origin.BEFORE, Origin.SHEET, Origin.WORKED_OUT]


def test_it_measures_only_where_it_is_surer_than_not_measuring() -> None:
    assert _play(None, _before(spread=0.05)).measured
    assert not _play(None, _before(spread=0.4)).measured


def test_trials_here_that_agree_are_weighted_with_it_by_hand() -> None:
    here = _play(0.6875, None).used
    assert here.uncertainty_mm is not None
    used = _play(0.6875, _before(1.90, 0.05)).used
    w, v = 1 / here.uncertainty_mm**2, 1 / 0.05**2
    assert isclose(used.mm, (w * here.mm + v * 1.90) / (w + v))
    assert used.uncertainty_mm is not None
    assert isclose(used.uncertainty_mm, 1 / sqrt(w + v))
    assert used.origin is Origin.MEASURED


def test_trials_that_only_point_to_a_figure_are_evidence_too() -> None:
    alone = _play(0.25, None, 0.45)
    assert not alone.measured
    used = _play(0.25, _before(), 0.45).used
    assert used.origin is Origin.BEFORE
    assert used.uncertainty_mm is not None
    assert used.uncertainty_mm < 0.05


@pytest.mark.parametrize(("step", "enough"), [(5.08, True), (0.45, False)])
def test_a_disagreement_is_told_with_its_size_and_nothing_is_put_together(
    step: float, enough: bool
) -> None:
    trials, before = pair(0.25, step / 1.30, step), _before(1.95, 0.02)
    here = travel_in_play(trials, SHEET, 1.25, 1.7)
    assert here.measured is enough
    play = travel_in_play(trials, SHEET, 1.25, 1.7, before)
    assert play.used == (here.used if enough else before)
    assert any(f"{1.95 - 1.30:.2f} mm" in note for note in play.notes)


def test_a_trial_far_from_what_earlier_builds_measured_is_to_be_counted_again() -> None:
    # True is 1.95 mm a turn: the longer one was counted half a turn too many.
    miscounted = _play(1.27 / 1.95 + 0.5, _before(1.95, 0.05))
    assert [odd.reading.pushrod_mm for odd in miscounted.odd_readings] == [175.27]
    assert not _play(1.27 / 1.95 + 0.125, _before(1.95, 0.05)).odd_readings


def test_one_that_thread_and_rocker_do_not_allow_is_not_used_and_told() -> None:
    play = _play(None, _before(2.6))
    assert play.used.origin is Origin.SHEET
    assert any("2.60 mm" in note for note in play.notes)


def test_apart_from_sheet_and_lever_it_says_so() -> None:
    play = travel_in_play([], 1.30, 1.25, 1.7, _before(1.60, 0.01))
    assert play.used.origin is Origin.BEFORE
    assert any("disagrees" in note for note in play.notes)


def test_the_turns_never_to_pass_go_by_the_largest_whatever_was_read() -> None:
    above = _before(2.05, 0.02)  # a slanted arm: over the lever's 1.9853, within what is allowed
    assert isclose(_play(None, above).largest_mm, 2.05)
    assert isclose(_play(0.6875, above).largest_mm, 2.05)
    assert isclose(_play(None, _before(1.5)).largest_mm, 1.25 * (1 + 1 / 1.7))
