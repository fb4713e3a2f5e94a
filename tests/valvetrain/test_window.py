from math import isclose

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heelwise.valvetrain.engine import Valve, ValveKind
from heelwise.valvetrain.travel import TravelInPlay, travel_in_play
from heelwise.valvetrain.trials import Reading
from heelwise.valvetrain.window import (
    Ceiling,
    LashWord,
    Window,
    WindowSheet,
    Word,
    ceiling_of,
    counted_down,
    judge,
    judge_lash,
    never_past,
    out_of_reach,
    preload_mm,
    under_ceiling,
    window_in_turns,
)

HALF_TO_ONE = Window(0.5, 1.0, "the maker's sheet")


@pytest.mark.parametrize(
    ("turns", "word", "near"),
    [
        (0.375, Word.SHORT, False),
        (0.4375, Word.SHORT, True),
        (0.4374, Word.SHORT, False),
        (0.5, Word.INSIDE, True),
        (0.5625, Word.INSIDE, True),
        (0.5626, Word.INSIDE, False),
        (0.75, Word.INSIDE, False),
        (1.0, Word.INSIDE, True),
        (1.0 + 1e-10, Word.INSIDE, True),
        (1.0 + 1e-8, Word.LONG, True),
        (1.125, Word.LONG, False),
    ],
)
def test_words(turns: float, word: Word, near: bool) -> None:
    verdict = judge(turns, HALF_TO_ONE)
    assert (verdict.word, verdict.near, verdict.rule) == (word, near, "as read")


def test_a_finer_reading_settles_what_is_near() -> None:
    assert judge(0.55, HALF_TO_ONE).near
    assert not judge(0.55, HALF_TO_ONE, 1 / 36).near


@pytest.mark.parametrize(
    ("turns", "outcome"),
    [
        (0.75, "pass"),
        (0.5, "conditional pass"),
        (1.05, "conditional fail"),
        (1.25, "fail"),
    ],
)
def test_guarded(turns: float, outcome: str) -> None:
    verdict = judge(turns, HALF_TO_ONE, rule="guarded")
    assert f"guarded: {outcome} (guard band 1/16 turn" in verdict.rule
    assert "ILAC-G8" in verdict.rule
    assert judge(turns, HALF_TO_ONE).word is verdict.word


def test_an_exact_reading_is_near_its_limit_alone() -> None:
    assert judge(1.0, HALF_TO_ONE, 0.0).near
    assert not judge(0.999, HALF_TO_ONE, 0.0).near


def test_one_figure_may_be_the_whole_window() -> None:
    window = window_in_turns(WindowSheet((0.0, 0.0)), 2.0)
    assert (window.least_turns, window.most_turns, window.notes) == (0.0, 0.0, ())
    assert window_in_turns(WindowSheet(None, (2.0, 2.0)), 2.0).middle == 1.0


@pytest.mark.parametrize(
    ("lash", "word", "near"),
    [
        (0.30, LashWord.TIGHT, False),
        (0.39, LashWord.TIGHT, True),
        (0.40, LashWord.INSIDE, True),
        (0.45, LashWord.INSIDE, False),
        (0.51, LashWord.LOOSE, True),
        (0.60, LashWord.LOOSE, False),
    ],
)
def test_a_lash_is_judged(lash: float, word: LashWord, near: bool) -> None:
    assert judge_lash(lash, 0.40, 0.50, 0.05) == (word, near)


def test_a_lash_on_its_limit_is_inside() -> None:
    thousandth = 0.0254
    assert judge_lash(0.40 + thousandth / 2, 0.40, 0.50, thousandth)[1]
    assert not judge_lash(0.40 + thousandth * 0.51, 0.40, 0.50, thousandth)[1]
    assert judge_lash(0.50, 0.50, 0.50, thousandth)[0] is LashWord.INSIDE
    assert judge_lash(0.50 + 1e-10, 0.40, 0.50, thousandth)[0] is LashWord.INSIDE
    assert judge_lash(0.50 + 1e-7, 0.40, 0.50, thousandth)[0] is LashWord.LOOSE


def test_preload_by_hand() -> None:
    assert isclose(preload_mm(1.0, 1.9853), 1.9853)
    assert isclose(preload_mm(1.0, 2.0, 0.1), 1.8)
    assert preload_mm(0.05, 2.0, 0.1) == 0.0
    assert isclose(window_in_turns(WindowSheet(None, (1.8, 3.0)), 2.0, 0.1).least_turns, 1.0)


def test_windows_by_turns_or_by_preload() -> None:
    turns = window_in_turns(WindowSheet((0.5, 1.0)), 1.27)
    assert (turns.least_turns, turns.most_turns, turns.notes) == (0.5, 1.0, ())
    assert turns.source == "the maker's sheet: turns"
    preload = window_in_turns(WindowSheet(None, (1.0, 2.0), "common practice"), 2.0, 0.1)
    assert isclose(preload.least_turns, 0.6)
    assert isclose(preload.most_turns, 1.1)
    assert isclose(preload.middle, 0.85)
    assert preload.source.startswith("common practice")


def test_turns_and_preload_that_both_hold_give_the_tighter_of_each() -> None:
    window = window_in_turns(WindowSheet((0.5, 1.0), (1.2, 2.4)), 2.0)  # preload: 0.6 to 1.2
    assert (window.least_turns, window.most_turns) == (0.6, 1.0)
    assert window.notes == ()


def test_less_than_an_eighth_in_common_is_no_agreement() -> None:
    window = window_in_turns(WindowSheet((0.75, 1.25), (1.0, 1.7)), 2.0)  # preload: 0.5 to 0.85
    assert (window.least_turns, window.most_turns) == (0.75, 1.25)
    assert "less than an eighth of a turn in common" in window.notes[0]
    assert window_in_turns(WindowSheet((0.75, 1.25), (1.0, 1.75)), 2.0).most_turns == 0.875
    # A sheet may itself be narrower than an eighth: that is its maker's word.
    narrow = window_in_turns(WindowSheet((1.0, 1.05), (1.0, 3.0)), 2.0)
    assert (narrow.least_turns, narrow.most_turns, narrow.notes) == (1.0, 1.05, ())


def test_sheets_that_disagree_keep_the_turns_and_say_so() -> None:
    window = window_in_turns(WindowSheet((0.75, 1.25), (0.508, 1.016)), 2.032)
    assert (window.least_turns, window.most_turns) == (0.75, 1.25)
    (note,) = window.notes
    for part in ("disagree", "0.020 in", "0.040 in", "1/4 turn to 1/2 turn", "turns are kept"):
        assert part in note


def test_a_sheet_without_limits() -> None:
    with pytest.raises(ValueError, match="isn't given"):
        window_in_turns(WindowSheet(), 2.0)


def test_never_past_by_hand() -> None:
    ceiling = never_past(4.0, 2.0)
    assert (ceiling.turns, ceiling.exact_turns) == (1.75, 1.75)
    assert "reserve" in ceiling.source
    assert never_past(4.0, 2.0, 0.5).turns == 1.5
    assert never_past(4.0, 2.0, hot_gain_mm=0.5).turns == 1.5
    assert "gained hot" in never_past(4.0, 2.0, hot_gain_mm=0.5).source
    assert never_past(4.0, 2.0, hot_gain_mm=-0.5) == ceiling
    assert never_past(0.2, 2.0).turns == 0.0
    assert never_past(4.0, 2.0, 0.0).turns == 2.0
    assert never_past(1.0, 2.0, 0.0, hot_gain_mm=1.5).turns == 0.0


def test_an_unknown_plunger_travel_gives_no_ceiling() -> None:
    ceiling = never_past(None, 2.0)
    assert ceiling.turns is None
    assert "not known" in ceiling.source
    assert under_ceiling(HALF_TO_ONE, ceiling) is HALF_TO_ONE


def test_a_window_past_the_ceiling_is_said() -> None:
    assert under_ceiling(HALF_TO_ONE, Ceiling(1.0, "")) is HALF_TO_ONE
    shorter = under_ceiling(HALF_TO_ONE, Ceiling(0.75, ""))
    assert (shorter.least_turns, shorter.most_turns) == (0.5, 0.75)
    assert "1 turn, past the 3/4 turn" in shorter.notes[0]


turns_drawn = st.floats(0, 4)


@given(turns_drawn, turns_drawn, st.floats(0.1, 2), st.floats(0.001, 0.25))
def test_more_turns_are_never_a_shorter_word(
    first: float, more: float, width: float, resolution: float
) -> None:
    window = Window(1.0, 1.0 + width, "a test")
    order = [Word.SHORT, Word.INSIDE, Word.LONG]
    one, other = judge(first, window, resolution), judge(first + more, window, resolution)
    assert order.index(one.word) <= order.index(other.word)


@given(st.floats(0.01, 4), st.floats(0.5, 4), st.floats(0, 0.2))
def test_preload_and_turns_turn_back(preload: float, travel: float, seat: float) -> None:
    window = window_in_turns(WindowSheet(None, (preload, preload + 1)), travel, seat)
    assert isclose(preload_mm(window.least_turns, travel, seat), preload)


@given(st.floats(0.5, 4), st.floats(0, 3), st.floats(0.5, 8))
def test_a_larger_travel_never_allows_more_turns(
    travel: float, more: float, plunger: float
) -> None:
    lower, higher = never_past(plunger, travel + more), never_past(plunger, travel)
    assert lower.turns is not None
    assert higher.turns is not None
    assert lower.turns <= higher.turns


def at(turns: float) -> Ceiling:
    return Ceiling(turns, "worked out", turns)


@pytest.mark.parametrize(
    ("exact", "least", "most", "step", "counted"),
    [
        (2.09, 0.75, 1.25, 0.125, 2.0),
        (2.125, 0.75, 1.25, 0.125, 2.125),
        (1.15735, 0.75, 1.25, 0.125, 1.125),  # it ends the window: at an eighth all the same
        (1.1, 1.0, 1.25, 0.125, 1.0625),  # an eighth would leave nothing: a sixteenth
        (1.059, 1.05, 1.25, 0.125, 1.059),  # nor would that: as it is
        (1.0699, 1.05, 1.25, 0.125, 1.0625),
        (1.0199, 1.0, 1.25, 0.125, 1.01),
        (2.09, 0.75, 1.25, 0.05, 2.05),
        (0.3, 0.1, 0.2, 0.1, 0.3),
    ],
)
def test_brought_down_by_hand(
    exact: float, least: float, most: float, step: float, counted: float
) -> None:
    found = counted_down(at(exact), Window(least, most, ""), step)
    assert found.turns == pytest.approx(counted)
    assert found.exact_turns == exact


@given(st.floats(0.05, 5), st.floats(0, 2), st.floats(0, 2), st.sampled_from([0.125, 0.0625, 0.01]))
@settings(deadline=None)
def test_never_lifted_and_some_of_the_window_is_left(
    exact: float, least: float, wide: float, step: float
) -> None:
    window = Window(least, least + wide, "")
    found = counted_down(at(exact), window, step)
    assert found.turns is not None
    assert found.turns <= exact
    if exact > least + 1e-6:
        assert found.turns > least
        assert least <= under_ceiling(window, found).most_turns <= exact + 1e-9


def test_without_a_plunger_travel_there_is_none() -> None:
    unknown = never_past(None, 2.0)
    assert counted_down(unknown, Window(0.5, 1.0, ""), 0.125) == unknown


def play_of(trials: list[Reading]) -> TravelInPlay:
    return travel_in_play(trials, None, 1.25, 1.7)


def test_no_reading_brings_the_turns_never_to_pass_below_a_window_in_preload() -> None:
    # Plunger 4 mm, lever 1.9853: never past 1.765. A window of 2.3 to 2.8 mm is 1.159 to 1.41
    # turns by the lever, but 1.84 to 2.24 where a turn is found to give 1.25 mm.
    sheet = WindowSheet(None, (2.3, 2.8))
    one = Valve(1, ValveKind.INTAKE)
    for turned in (1.0, 1.25, 1.5, 1.75, 2.0, 2.25, 2.5, 3.0, 4.0):
        trials = [Reading(one, 180.0, 0.5), Reading(one, 182.54, 0.5 + turned)]
        play = play_of(trials)
        window = window_in_turns(sheet, play.used.mm)
        ceiling = ceiling_of(window, 4.0, play, 0.25, 0.0, 0.125)
        assert not out_of_reach(window, ceiling)
        assert ceiling.exact_turns is not None
        assert (ceiling.exact_turns + 0.25) * play.used.mm <= 4.0 * 1.06
    # By the lever it was in reach before, by the sheet's own doing it may not be.
    short = window_in_turns(WindowSheet(None, (3.9, 4.0)), 1.9853)
    assert out_of_reach(
        short, ceiling_of(short, 4.0, travel_in_play([], None, 1.25, 1.7), 0.25, 0.0, 0.125)
    )
