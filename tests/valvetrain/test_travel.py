from dataclasses import replace
from math import isclose, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from scipy.stats import norm
from uncertainties import ufloat

from heelwise.valvetrain.engine import Valve, ValveKind
from heelwise.valvetrain.travel import Origin, Travel, TravelInPlay, travel_in_play, worked_out
from heelwise.valvetrain.trials import LENGTH_MM, ZERO_LASH_MM, Reading, fit

I1 = Valve(1, ValveKind.INTAKE)
E2 = Valve(2, ValveKind.EXHAUST)
STEP = 1.27


def pair(turns: float, more: float, step: float = STEP, valve: Valve = I1) -> list[Reading]:
    return [Reading(valve, 174.0, turns), Reading(valve, 174.0 + step, turns + more)]


def play(trials: list[Reading], sheet: float | None = None) -> TravelInPlay:
    """On M8x1.25 with ratio 1.7: from 1.25 to 1.9853 mm a turn."""
    return travel_in_play(trials, sheet, 1.25, 1.7)


def measured(trials: list[Reading]) -> Travel | None:
    """The travel the trials measure, where thread and rocker aren't known."""
    used = travel_in_play(trials, 99.0, None, None).used
    return used if used.origin is Origin.MEASURED else None


def test_two_trials_by_hand() -> None:
    # 0.050 in of pushrod took 5/8 turn: 1.27 / 0.625 = 2.032 mm a turn.
    found = measured(pair(0.75, 0.625))
    assert found is not None
    assert isclose(found.mm, 2.032)
    assert isclose(play(pair(0.75, 0.625)).used.mm, 2.032)


def test_each_valve_has_its_own_intercept() -> None:
    apart = [Reading(E2, 170.0, 1.0), Reading(E2, 170.0 + STEP, 1.625)]
    found = measured(pair(0.125, 0.625) + apart)
    assert found is not None
    assert isclose(found.mm, 2.032)


def test_what_is_enough_is_what_leaves_less_than_not_measuring() -> None:
    # Unmeasured, by hand: (1.985294 - 1.25) / √12 = .21226 mm. A pair of eighths at the lever:
    # √2 · hypot(.036084·1.985294, .025, .015) · 1.985294 / step: .21226 at 1.0230 mm.
    unmeasured = play([])
    assert isclose(unmeasured.enough_mm, 0.21226, abs_tol=1e-5)
    step = unmeasured.telling_step_mm()
    assert isclose(step, 1.0230, abs_tol=1e-4)
    for by in (1.245, step * 1.001, 1.27):
        fine = [Reading(t.valve, t.pushrod_mm, t.turns) for t in pair(0.5, by / 1.985294, by)]
        assert play(fine).measured, by
    short = play(pair(0.5, step * 0.98 / 1.985294, step * 0.98))
    assert not short.measured
    assert "hint" in short.notes[-1]
    # Read four times as fine, half of that is enough.
    finer = [Reading(t.valve, t.pushrod_mm, t.turns, 1 / 32) for t in pair(0.5, 0.3, 0.6)]
    assert play(finer).measured


def test_the_same_pushrod_on_eight_valves_is_one_error_of_length() -> None:
    # By hand: 16 counts bring (.125/√12)² + (slope·.025)² each, over 8·step²/2 of spread; the two
    # pushrods bring √2 · slope · .015 / step however many valves were tried with them.
    slope, step = 1 / 1.985294, 1.27
    eight = [t for n in range(1, 9) for t in pair(0.5, step * slope, step, Valve(n, I1.kind))]
    line = fit(eight)
    assert line is not None
    counts = sqrt((0.125**2 / 12 + (slope * ZERO_LASH_MM) ** 2) / (8 * step**2 / 2))
    lengths = sqrt(2) * slope * LENGTH_MM / step
    assert isclose(line.uncertainty, sqrt(counts**2 + lengths**2), rel_tol=1e-9)
    # With pushrods of its own for each valve they would average out.
    own = [replace(t, pushrod_mm=t.pushrod_mm + t.valve.cylinder * 1e-4) for t in eight]
    apart = fit(own)
    assert apart is not None
    assert isclose(apart.uncertainty, sqrt(counts**2 + lengths**2 / 8), rel_tol=1e-4)


@pytest.mark.parametrize("more", [0.0, -0.25])
def test_a_longer_pushrod_without_more_turns_measures_nothing(more: float) -> None:
    trials = pair(1.0, more)
    assert measured(trials) is None
    notes = travel_in_play(trials, STEP, None, None).notes
    assert any("no more turns" in note or "Count it again" in note for note in notes)
    assert [each.reading for each in play(trials).odd_readings] == [trials[1]]


def test_a_line_needs_two_lengths_of_one_valve() -> None:
    assert fit([]) is None
    assert fit([Reading(I1, 174.0, 1.0), Reading(E2, 176.0, 2.0)]) is None
    assert fit([Reading(I1, 174.0, 1.0), Reading(I1, 174.0, 1.125)]) is None


TURNS = [0.5, 1.25, 1.125, 1.875, 2.375]
LENGTHS = [172.0, 173.3, 173.3, 174.6, 175.9]


def test_one_valve_agrees_with_scipy() -> None:
    line = fit([Reading(I1, x, y) for x, y in zip(LENGTHS, TURNS, strict=True)], 0.0, 0.0)
    other = stats.linregress(LENGTHS, TURNS)
    assert line is not None
    assert isclose(line.slope, other.slope, rel_tol=1e-10)
    assert isclose(line.uncertainty, other.stderr, rel_tol=1e-10)  # the scatter rules here


def test_several_valves_agree_with_numpy() -> None:
    trials = [Reading(I1, x, y) for x, y in zip(LENGTHS, TURNS, strict=True)]
    trials += [Reading(E2, x + 4.0, y * 1.1) for x, y in zip(LENGTHS[:3], TURNS[:3], strict=True)]
    matrix = np.array([[t.pushrod_mm, t.valve == I1, t.valve == E2] for t in trials], dtype=float)
    turns = np.array([t.turns for t in trials])
    answer, squares, _, _ = np.linalg.lstsq(matrix, turns, rcond=None)
    spread = np.linalg.inv(matrix.T @ matrix)[0, 0]
    line = fit(trials, 0.0, 0.0)
    assert line is not None
    assert isclose(line.slope, float(answer[0]), rel_tol=1e-9)
    own = sqrt(float(squares[0]) / (len(trials) - 3) * float(spread))
    assert isclose(line.uncertainty, own, rel_tol=1e-6)


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
    exact = [Reading(I1, 172.0 + step, 0.5 + 0.5 * step) for step in range(4)]
    rough = [Reading(t.valve, t.pushrod_mm, t.turns + 0.3 * (i % 2)) for i, t in enumerate(exact)]
    fine, coarse = fit(exact), fit(rough)
    assert fine is not None
    assert coarse is not None
    assert isclose(fine.uncertainty, sqrt((0.125**2 / 12 + 0.25 * 0.00085) / 5), rel_tol=1e-9)
    assert coarse.uncertainty > 2 * fine.uncertainty


def test_a_finer_reading_is_surer() -> None:
    fine = [Reading(t.valve, t.pushrod_mm, t.turns, 0.01) for t in pair(1.0, 0.625)]
    sure, rough = measured(fine), measured(pair(1.0, 0.625))
    assert sure is not None
    assert rough is not None
    assert (sure.uncertainty_mm or 9) < (rough.uncertainty_mm or 0) / 1.5


def test_rank_and_largest() -> None:
    measured_too = play(pair(0.75, 0.75), 1.27)
    assert [each.origin for each in measured_too.candidates] == [
        Origin.MEASURED,
        Origin.SHEET,
        Origin.WORKED_OUT,
    ]
    assert isclose(measured_too.used.mm, 1.27 / 0.75)
    assert isclose(measured_too.largest_mm, 1.25 * (1 + 1 / 1.7))
    assert play([], 1.4).used.origin is Origin.SHEET
    assert play([]).used.origin is Origin.WORKED_OUT
    assert play([], 2.05).largest_mm == 2.05


def test_unmeasured_it_may_lie_anywhere_from_the_pitch_to_the_lever() -> None:
    for sheet in (None, 1.27, 1.32, 1.9):
        used = play([], sheet).used
        # GUM 4.3.7: half the width of the range over √3, whichever figure is used.
        assert isclose(used.uncertainty_mm or 0, (1.985294 - 1.25) / 2 / sqrt(3), abs_tol=1e-6)
        assert isclose(min(used.draws), 1.25, abs_tol=0.02)
        assert isclose(max(used.draws), 1.985294, abs_tol=0.02)
        assert isclose(sum(used.draws) / len(used.draws), (1.25 + 1.985294) / 2, abs_tol=1e-6)


def test_a_measured_travel_is_drawn_from_its_own_distribution() -> None:
    # The slope is normal about what was counted, also where statics end the figure in use.
    for more in (0.59, 0.625, 0.75):
        used = play(pair(0.5, more)).used
        assert isclose(used.mm, min(STEP / more, 1.985294 * 1.06), rel_tol=1e-6)
        sd = (used.uncertainty_mm or 0) / used.mm**2
        wanted = norm.ppf((np.arange(25) + 0.5) / 25, loc=more / STEP, scale=sd)
        assert np.allclose(np.sort(1 / np.array(used.draws)), wanted, rtol=1e-5)


def test_a_slope_hardly_outside_statics_is_held_to_their_limit() -> None:
    inside, beyond = play(pair(0.5, 0.625)), play(pair(0.5, 0.59))
    assert len(beyond.notes) == len(inside.notes) + 1
    assert beyond.measured
    assert not beyond.odd_readings


def test_a_few_residuals_that_chance_makes_do_not_widen_the_slope() -> None:
    # Four valves, two lengths each, in eighths: residuals of a quarter step are chance, of two
    # whole steps are not.
    def uncertainty(off: float) -> float:
        trials = [
            Reading(
                Valve(n, I1.kind), 174.0 + step, 0.5 + step / 1.985 + off * (n % 2) * (step > 0)
            )
            for n in range(1, 5)
            for step in (0.0, STEP)
        ]
        line = fit(trials)
        assert line is not None
        return line.uncertainty

    assert isclose(uncertainty(0.03), uncertainty(0.0), rel_tol=0.05)
    assert uncertainty(0.4) > 1.5 * uncertainty(0.0)


def test_a_sheet_outside_what_statics_allow_is_noted() -> None:
    # From 1.25·.94 to 1.9853·1.06: 1.175 to 2.1044 mm.
    assert len(play([], 2.10).notes) == 1
    for sheet in (2.11, 1.17):
        wrong = play([], sheet)
        assert wrong.used.mm == sheet
        assert wrong.used.between_mm is not None
        assert wrong.used.between_mm[0] == min(sheet, 1.25)
        assert "outside what thread and rocker allow" in wrong.notes[0]


def test_before_a_second_trial_both_predictions_are_said() -> None:
    (why,) = play([Reading(I1, 174.0, 1.0)], 1.27).notes
    for part in ("0.050 in", "0.078 in", "0.049 in", "the maker's sheet", "common practice"):
        assert part in why
    assert "try one valve again" in why


def test_after_it_one_number_and_no_note() -> None:
    assert play(pair(0.75, 0.625), 1.27).notes == ()


def miscounted() -> list[Reading]:
    # The true counts would be 1 7/8 and 1 1/4: 1.27 mm less is .640 turn less by the lever.
    return [Reading(I1, 188.0, 1.875), Reading(I1, 188.0 - STEP, 1.625)]


def test_a_miscount_is_not_measured_and_is_to_be_counted_again() -> None:
    found = play(miscounted(), 1.32)
    assert found.used.origin is Origin.SHEET
    assert found.largest_mm == play([], 1.32).largest_mm
    (odd,) = found.odd_readings
    assert odd.reading == miscounted()[1]
    for part in ("1I read 1 5/8 turns", "7.352 in", "1 7/8 turns"):
        assert part in odd.why
    assert odd.why in found.notes


def test_other_valves_tell_which_of_two_is_odd() -> None:
    first, second = miscounted()
    # Beside these it is the first that was counted half a turn over.
    others = [Reading(Valve(n, I1.kind), 188.0 - STEP, 1.5) for n in (3, 5)]
    (odd,) = play([first, second, *others]).odd_readings
    assert odd.reading == second
    others = [Reading(Valve(n, I1.kind), 188.0 - STEP, 1.75) for n in (3, 5)]
    (odd,) = play([second, first, *others]).odd_readings
    assert odd.reading == first


def test_counted_again_it_measures() -> None:
    again = Reading(I1, 188.0 - STEP, 1.25)
    found = play([*miscounted(), again])
    assert found.measured
    assert isclose(found.used.mm, STEP / 0.625)
    assert [each.reading for each in found.odd_readings] == miscounted()[1:]


def test_the_rest_measures_where_one_is_clearly_odd() -> None:
    right = [t for n in (2, 3, 4) for t in pair(0.5, 0.625, STEP, Valve(n, I1.kind))]
    wrong = pair(0.5, 0.125)
    found = play([*wrong, *right])
    assert found.measured
    assert isclose(found.used.mm, STEP / 0.625)
    assert [each.reading for each in found.odd_readings] == [wrong[1]]


def test_a_little_outside_by_what_counts_can_tell_is_brought_to_the_limit() -> None:
    # 1.27 mm in half a turn: 2.54, where 2.1044 is the most: one eighth more is 2.032.
    found = play(pair(0.5, 0.5), 1.32)
    assert not found.odd_readings
    assert found.used.origin is Origin.SHEET or isclose(found.used.mm, 2.1044, abs_tol=1e-4)
    wider = play(pair(0.25, 1.125, 2.54), 1.32)  # 2.2578: within its uncertainty of 2.1044
    assert isclose(wider.used.mm, 2.1044, abs_tol=1e-4)
    assert "the limit" in wider.notes[-1]


@given(
    st.lists(
        st.tuples(st.sampled_from([1, 2, 3]), st.integers(280, 300), st.integers(0, 32)),
        max_size=8,
    ),
    st.sampled_from([None, 1.25, 1.32, 1.9]),
)
@settings(max_examples=200, deadline=None)
def test_no_readings_take_the_figure_out_of_what_statics_allow(
    counts: list[tuple[int, int, int]], sheet: float | None
) -> None:
    trials = [Reading(Valve(n, I1.kind), mm * 0.635, e / 8) for n, mm, e in counts]
    found = play(trials, sheet)
    assert 1.25 * 0.94 - 1e-9 <= found.used.mm <= 1.985295 * 1.06
    assert found.largest_mm == play([], sheet).largest_mm
    assert {each.reading for each in found.odd_readings} <= set(trials)


def test_a_measured_value_apart_from_both_others_is_said_aloud() -> None:
    trials = pair(0.5, 2.0, 2.54)  # 1.27 mm a turn by the readings
    notes = play(trials, 1.9).notes
    assert len(notes) == 1
    for part in ("disagrees", "0.050 in", "0.075 in", "0.078 in", "pitch", "cup", "unloaded"):
        assert part in notes[0]
    assert "labels" in notes[0]
    # In agreement with one of the two it is not.
    assert play(trials, 1.27).notes == ()
    # Nor by less than its own uncertainty (k = 2), as one step in eighths gives it.
    assert play(pair(1.0, 0.625), 1.9).notes == ()


def test_nothing_at_all_is_known() -> None:
    with pytest.raises(ValueError, match="not known"):
        travel_in_play([], None, None, None)


@given(st.floats(0.3, 3), st.floats(1.0, 3), st.floats(1.27, 5), st.floats(0.125, 2))
@settings(deadline=None)
def test_a_true_travel_is_found_again(
    pitch: float, ratio: float, step: float, first: float
) -> None:
    true = worked_out(pitch, ratio)
    fine = [Reading(t.valve, t.pushrod_mm, t.turns, 0.01) for t in pair(first, step / true, step)]
    found = measured(fine)
    assert found is not None
    assert isclose(found.mm, true, rel_tol=1e-6)
    assert pitch < true  # the pitch alone is never the larger


def test_uncertainties_are_told_as_worked() -> None:
    # By hand for 1.0 and 1.5 turns, 1.27 mm apart, slope .39370 turn/mm: u(turns) =
    # hypot(.125/√12, .39370·hypot(.025, .015)) = .037866; √2 times that / 1.27 · 2.54² = .27204.
    found = measured(pair(1.0, 0.5))
    assert found is not None
    assert isclose(found.uncertainty_mm or 0, 0.27204, abs_tol=1e-5)
    assert "± 0.021 in (0.54 mm)" in found.source
    apart = play(pair(0.5, 2.0, 2.54), 1.9).notes[0]
    # √2 · hypot(.036084, .78740·.029155) / 2.54 · 1.27² = .0384 mm, twice that .077.
    assert "its own uncertainty, 0.003 in (0.08 mm) (k = 2)" in apart


def test_three_trials_already_show_their_scatter() -> None:
    bent = [Reading(I1, 172.0, 0.5), Reading(I1, 173.5, 2.0), Reading(I1, 175.0, 2.0)]
    line = fit(bent)
    assert line is not None
    # Slope .5; residuals -.25, .5, -.25: s = √(.375/1), over √4.5.
    assert isclose(line.slope, 0.5)
    assert isclose(line.uncertainty, sqrt(0.375 / 4.5))


def test_an_adjusting_screw_moves_the_pushrod_end_by_its_pitch() -> None:
    assert travel_in_play((), None, 1.0, None).used.mm == 1.0
    both = travel_in_play((), 1.2, 1.0, None)
    assert (both.used.mm, both.largest_mm) == (1.2, 1.2)


@pytest.mark.parametrize("place", [0, 1, 2])
@pytest.mark.parametrize(
    ("off", "asked"), [(0.5, True), (-0.5, True), (0.375, True), (0.25, False)]
)
def test_a_trial_far_from_its_fellows_is_named_whichever_comes_first(
    place: int, off: float, asked: bool
) -> None:
    turns = [0.75, 0.75, 0.75]
    turns[place] = 0.75 + off
    trials = [Reading(Valve(n, I1.kind), 174.0, t) for n, t in zip((1, 3, 5), turns, strict=True)]
    trials.append(Reading(E2, 174.0, 2.0))  # an exhaust stands for itself
    odd = [each.reading for each in play(trials).odd_readings]
    assert odd == ([trials[place]] if asked else [])
    # Twice with two lengths that agree, it is the valve that differs.
    valve = trials[place].valve
    again = Reading(valve, 174.0 + STEP, max(turns[place], 0.0) + STEP / 1.7)
    assert play([*trials, again]).odd_readings == ()


def test_a_trial_with_lash_left_is_far_off_where_its_fellows_have_turns() -> None:
    trials = [Reading(Valve(n, I1.kind), 174.0, t) for n, t in ((1, 0.0), (3, 0.625), (5, 0.75))]
    assert [each.reading for each in play(trials).odd_readings] == trials[:1]
    # With pushrods of other lengths only what no travel per turn explains.
    longer = [trials[0], *(Reading(t.valve, 175.5, t.turns) for t in trials[1:])]
    assert play(longer).odd_readings == ()
