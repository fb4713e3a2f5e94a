from math import isclose, sqrt
from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from uncertainties import ufloat

from heelwise.valvetrain.engine import Valve, ValveKind
from heelwise.valvetrain.travel import (
    LENGTH_MM,
    ZERO_LASH_MM,
    Origin,
    Trial,
    fit,
    hint,
    measured,
    predictions,
    travel_in_play,
    worked_out,
)

I1 = Valve(1, ValveKind.INTAKE)
E2 = Valve(2, ValveKind.EXHAUST)
STEP = 1.27


def pair(turns: float, more: float, step: float = STEP) -> list[Trial]:
    return [Trial(I1, 174.0, turns), Trial(I1, 174.0 + step, turns + more)]


def test_two_trials_by_hand() -> None:
    # 0.050 in of pushrod took 5/8 turn: 1.27 / 0.625 = 2.032 mm a turn.
    found = measured(pair(0.75, 0.625))
    assert found is not None
    assert isclose(found.mm, 2.032)
    assert found.origin is Origin.MEASURED
    assert "a reading" in found.said


def test_each_valve_has_its_own_intercept() -> None:
    apart = [Trial(E2, 170.0, 1.0), Trial(E2, 170.0 + STEP, 1.625)]
    found = measured(pair(0.125, 0.625) + apart)
    assert found is not None
    assert isclose(found.mm, 2.032)


def test_one_inch_twentieth_is_enough_and_less_is_a_hint() -> None:
    assert measured(pair(1.0, 0.625, 6.900 * 25.4 - 6.850 * 25.4)) is not None
    assert hint(pair(1.0, 0.625)) is None
    small = pair(1.0, 0.25, 0.635)
    assert measured(small) is None
    assert isclose(hint(small) or 0.0, 2.54)
    # Two small steps on two valves are still small steps.
    assert measured([*small, Trial(E2, 180.0, 1.0), Trial(E2, 180.635, 1.25)]) is None


@pytest.mark.parametrize("more", [0.0, -0.25])
def test_a_longer_pushrod_without_more_turns_measures_nothing(more: float) -> None:
    trials = pair(1.0, more)
    assert measured(trials) is None
    notes = travel_in_play(trials, STEP, None, None).notes
    assert any("no more turns" in note and "cup" in note for note in notes)
    assert hint(pair(1.0, more, 0.5)) is None


def test_a_line_needs_two_lengths_of_one_valve() -> None:
    assert fit([]) is None
    assert fit([Trial(I1, 174.0, 1.0), Trial(E2, 176.0, 2.0)]) is None
    assert hint([Trial(I1, 174.0, 1.0), Trial(I1, 174.0, 1.125)]) is None


TURNS = [0.5, 1.25, 1.125, 1.875, 2.375]
LENGTHS = [172.0, 173.3, 173.3, 174.6, 175.9]


def test_one_valve_agrees_with_scipy() -> None:
    line = fit([Trial(I1, x, y) for x, y in zip(LENGTHS, TURNS, strict=True)], 0.0, 0.0)
    other = stats.linregress(LENGTHS, TURNS)
    assert line is not None
    assert isclose(line.slope, other.slope, rel_tol=1e-10)
    assert isclose(line.uncertainty, other.stderr, rel_tol=1e-10)  # the scatter rules here


def test_several_valves_agree_with_numpy() -> None:
    trials = [Trial(I1, x, y) for x, y in zip(LENGTHS, TURNS, strict=True)]
    trials += [Trial(E2, x + 4.0, y * 1.1) for x, y in zip(LENGTHS[:3], TURNS[:3], strict=True)]
    matrix = np.array([[t.pushrod_mm, t.valve == I1, t.valve == E2] for t in trials], dtype=float)
    turns = np.array([t.turns for t in trials])
    answer, squares, _, _ = np.linalg.lstsq(matrix, turns, rcond=None)
    spread = np.linalg.inv(matrix.T @ matrix)[0, 0]
    line = fit(trials, 0.0, 0.0)
    assert line is not None
    assert isclose(line.slope, float(answer[0]), rel_tol=1e-9)
    own = sqrt(float(squares[0]) / (len(trials) - 3) * float(spread))
    assert isclose(line.uncertainty, own, rel_tol=1e-6)
    assert (line.trials, line.valves) == (8, 2)


def test_uncertainty_agrees_with_the_uncertainties_package() -> None:
    # 1.00 and 1.50 turns read in eighths, 1.27 mm apart; three sources at each reading.
    count = 0.125 / sqrt(12)
    lengths = [ufloat(174.0, LENGTH_MM), ufloat(175.27, LENGTH_MM)]
    lash = [ufloat(0.0, ZERO_LASH_MM), ufloat(0.0, ZERO_LASH_MM)]
    turns = [ufloat(1.0, count), ufloat(1.5, count)]
    true = (lengths[1] - lengths[0] + lash[1] - lash[0]) / (turns[1] - turns[0])
    found = measured(pair(1.0, 0.5))
    assert found is not None
    assert isclose(found.mm, true.nominal_value)
    assert isclose(found.uncertainty_mm or 0.0, true.std_dev, rel_tol=1e-9)


def test_scatter_widens_what_is_declared_and_never_narrows_it() -> None:
    exact = [Trial(I1, 172.0 + step, 0.5 + 0.5 * step) for step in range(4)]
    rough = [Trial(t.valve, t.pushrod_mm, t.turns + 0.3 * (i % 2)) for i, t in enumerate(exact)]
    fine, coarse = fit(exact), fit(rough)
    assert fine is not None
    assert coarse is not None
    assert isclose(fine.uncertainty, sqrt((0.125**2 / 12 + 0.25 * 0.00085) / 5), rel_tol=1e-9)
    assert coarse.uncertainty > 2 * fine.uncertainty


def test_a_finer_reading_is_surer() -> None:
    fine = [Trial(t.valve, t.pushrod_mm, t.turns, 0.01) for t in pair(1.0, 0.625)]
    sure, rough = measured(fine), measured(pair(1.0, 0.625))
    assert sure is not None
    assert rough is not None
    assert (sure.uncertainty_mm or 9) < (rough.uncertainty_mm or 0) / 1.5


def test_rank_and_largest() -> None:
    play = travel_in_play(pair(0.75, 0.75), 1.27, 1.25, 1.7)
    assert [each.origin for each in play.candidates] == [
        Origin.MEASURED,
        Origin.SHEET,
        Origin.WORKED_OUT,
    ]
    assert isclose(play.used.mm, 1.27 / 0.75)
    assert isclose(play.largest_mm, 1.25 * (1 + 1 / 1.7))
    assert travel_in_play([], 1.4, 1.25, 1.7).used.origin is Origin.SHEET
    assert travel_in_play([], None, 1.25, 1.7).used.origin is Origin.WORKED_OUT


def test_the_sheet_may_be_the_largest() -> None:
    assert travel_in_play([], 2.5, 1.25, 1.7).largest_mm == 2.5


def test_before_a_second_trial_both_predictions_are_said() -> None:
    said = predictions(1.27, 1.25, 1.7)
    assert said.sheet_mm == 1.27
    assert isclose(said.worked_out_mm or 0, 1.985294, abs_tol=1e-6)
    assert said.pitch_mm == 1.25
    assert said.used is not None
    assert said.used.origin is Origin.SHEET
    for part in ("0.050 in", "0.078 in", "0.049 in", "the maker's sheet", "common practice"):
        assert part in said.why
    assert "second trial" in travel_in_play([Trial(I1, 174.0, 1.0)], 1.27, 1.25, 1.7).notes[0]
    # Nobody knows which holds: uniform over the distance between them.
    assert isclose(said.used.uncertainty_mm or 0, (1.985294 - 1.27) / sqrt(12), abs_tol=1e-6)
    assert predictions(1.27, None, None).used == travel_in_play([], 1.27, None, None).used
    assert predictions(None, 1.25, None).used is None


def test_after_it_one_number_and_no_note() -> None:
    assert travel_in_play(pair(0.75, 0.625), 1.27, 1.25, 1.7).notes == ()


def test_a_hint_is_said_as_one() -> None:
    notes = travel_in_play(pair(1.0, 0.25, 0.635), 1.27, 1.25, 1.7).notes
    assert any("hint" in note and "0.100 in" in note for note in notes)


def test_a_measured_value_apart_from_both_others_is_said_aloud() -> None:
    trials = pair(0.5, 2.0, 2.54)  # 1.27 mm a turn by the readings
    notes = travel_in_play(trials, 2.0, 1.25, 1.7).notes
    assert len(notes) == 1
    for part in ("disagrees", "0.050 in", "0.079 in", "0.078 in", "pitch", "cup", "unloaded"):
        assert part in notes[0]
    assert "labels" in notes[0]
    # In agreement with one of the two it is not.
    assert travel_in_play(trials, 1.27, 1.25, 1.7).notes == ()
    # Nor by less than its own uncertainty (k = 2), as one step in eighths gives it.
    assert travel_in_play(pair(1.0, 0.625), 1.9, 1.25, 1.7).notes == ()


def test_a_loose_measurement_is_called_loose() -> None:
    notes = travel_in_play(pair(1.0, 0.25), None, None, None).notes
    assert len(notes) == 1
    assert "loose" in notes[0]


@pytest.mark.parametrize(
    ("sheet", "pitch", "ratio", "word"),
    [
        (None, None, None, "not known"),
        (None, 1.25, None, "not known"),
        (0.0, None, None, "travel per turn"),
        (None, -1.0, 1.6, "pitch"),
        (None, 1.25, 0.0, "ratio"),
        (float("nan"), None, None, "travel per turn"),
        (None, float("inf"), 1.6, "pitch"),
    ],
)
def test_figures_that_cannot_be(
    sheet: float | None, pitch: float | None, ratio: float | None, word: str
) -> None:
    with pytest.raises(ValueError, match=word):
        travel_in_play([], sheet, pitch, ratio)


def test_trials_that_cannot_be() -> None:
    for length, turns, resolution in ((0.0, 1.0, 0.1), (170.0, -0.1, 0.1), (170.0, 1.0, -1.0)):
        with pytest.raises(ValueError, match="should be"):
            Trial(I1, length, turns, resolution)


trials_drawn = st.lists(
    st.builds(
        Trial,
        st.sampled_from([I1, E2, Valve(3, ValveKind.INTAKE)]),
        st.integers(6600, 7200).map(lambda n: n * 0.0254),
        st.integers(0, 32).map(lambda n: n / 8),
        st.sampled_from([0.125, 0.0625, 0.01]),
    ),
    max_size=8,
)


@given(trials_drawn, st.randoms())
@settings(max_examples=60, deadline=None)
def test_the_order_of_readings_does_not_matter(trials: list[Trial], random: Random) -> None:
    shuffled = list(trials)
    random.shuffle(shuffled)
    assert travel_in_play(shuffled, 1.27, 1.25, 1.7) == travel_in_play(trials, 1.27, 1.25, 1.7)


@given(st.floats(0.3, 3), st.floats(1.0, 3), st.floats(1.27, 5), st.floats(0.125, 2))
@settings(deadline=None)
def test_a_true_travel_is_found_again(
    pitch: float, ratio: float, step: float, first: float
) -> None:
    true = worked_out(pitch, ratio)
    found = measured(pair(first, step / true, step))
    assert found is not None
    assert isclose(found.mm, true, rel_tol=1e-6)
    assert pitch < true  # the pitch alone is never the larger


def test_uncertainties_are_told_as_worked() -> None:
    # By hand for 1.0 and 1.5 turns, 1.27 mm apart, slope .39370 turn/mm: u(turns) =
    # hypot(.125/√12, .39370·hypot(.025, .015)) = .037866; √2 times that / 1.27 · 2.54² = .27204.
    found = measured(pair(1.0, 0.5))
    assert found is not None
    assert isclose(found.uncertainty_mm or 0, 0.27204, abs_tol=1e-5)
    assert "± 0.021 in (0.54 mm) (k = 2)" in found.said
    # The lever's: uniform over the distance to the pitch alone, and 2 % of the ratio.
    lever = travel_in_play([], None, 1.0, 2.0).used
    assert isclose(lever.uncertainty_mm or 0, sqrt(0.25 / 12 + 0.01**2))
    loose = travel_in_play(pair(1.0, 0.25), None, None, None).notes[0]
    assert "is 21% of it" in loose  # √2 · hypot(.036084, .19685·.029155) / .25
    apart = travel_in_play(pair(0.5, 2.0, 2.54), 2.0, 1.25, 1.7).notes[0]
    # √2 · hypot(.036084, .78740·.029155) / 2.54 · 1.27² = .0384 mm, twice that .077.
    assert "its own uncertainty, 0.003 in (0.08 mm) (k = 2)" in apart


def test_three_trials_already_show_their_scatter() -> None:
    bent = [Trial(I1, 172.0, 0.5), Trial(I1, 173.5, 2.0), Trial(I1, 175.0, 2.0)]
    line = fit(bent)
    assert line is not None
    # Slope .5; residuals -.25, .5, -.25: s = √(.375/1), over √4.5.
    assert isclose(line.slope, 0.5)
    assert isclose(line.uncertainty, sqrt(0.375 / 4.5))
