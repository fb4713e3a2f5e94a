from math import isclose

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelwise.valvetrain.solid import (
    Adjuster,
    LashWord,
    judge_lash,
    lash_cold,
    lash_hot,
    lash_per_turn,
    turns_to_lash,
)


def test_lash_by_hand() -> None:
    assert isclose(lash_hot(0.5, 0.1, 1.5), 0.65)
    assert isclose(lash_cold(0.65, 0.1, 1.5), 0.5)


@pytest.mark.parametrize(
    ("adjuster", "per_turn"),
    [(Adjuster.VALVE_END, 1.0), (Adjuster.PUSHROD_END, 1.6), (Adjuster.FULCRUM, 2.6)],
)
def test_a_turn_of_the_adjuster(adjuster: Adjuster, per_turn: float) -> None:
    assert isclose(lash_per_turn(1.0, 1.6, adjuster), per_turn)
    assert isclose(turns_to_lash(0.5 + per_turn / 4, 0.5, 1.0, 1.6, adjuster), 0.25)


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
    verdict = judge_lash(lash, 0.40, 0.50, 0.05)
    assert (verdict.word, verdict.near) == (word, near)


def test_figures_that_cannot_be() -> None:
    with pytest.raises(ValueError, match="ratio"):
        lash_hot(0.5, 0.1, 0.0)
    with pytest.raises(ValueError, match="pitch"):
        lash_per_turn(0.0, 1.6, Adjuster.FULCRUM)
    with pytest.raises(ValueError, match="upside down"):
        judge_lash(0.5, 0.6, 0.4)


@given(st.floats(0, 2), st.floats(-0.5, 0.5), st.floats(1, 2))
def test_cold_and_hot_turn_back(lash: float, growth: float, ratio: float) -> None:
    assert isclose(lash_hot(lash_cold(lash, growth, ratio), growth, ratio), lash, abs_tol=1e-12)


def test_a_feeler_gauge_steps_by_a_thousandth() -> None:
    thousandth = 0.0254
    assert judge_lash(0.40 + thousandth / 2, 0.40, 0.50).near
    assert not judge_lash(0.40 + thousandth * 0.51, 0.40, 0.50).near
    assert judge_lash(0.50, 0.50, 0.50).word is LashWord.INSIDE
    assert judge_lash(0.50 + 1e-10, 0.40, 0.50).word is LashWord.INSIDE
    assert judge_lash(0.50 + 1e-7, 0.40, 0.50).word is LashWord.LOOSE
