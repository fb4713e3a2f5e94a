from math import isclose

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelwise.valvetrain.lash import (
    HOW_MEASURED,
    LashWord,
    checking_length,
    judge_lash,
    lash_cold,
    lash_hot,
    length_from_lash,
    length_from_zero_lash,
)


def test_lash_by_hand() -> None:
    assert isclose(lash_hot(0.5, 0.1, 1.5), 0.65)
    assert isclose(lash_cold(0.65, 0.1, 1.5), 0.5)


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


def test_checking_pushrod_by_its_own_pitch() -> None:
    assert isclose(checking_length(165.0, 3.5), 165.0 + 3.5 * 1.27)
    assert isclose(checking_length(165.0, 3.5, 1.0), 168.5)
    assert checking_length(165.0, 0.0) == 165.0
    assert isclose(length_from_zero_lash(168.5, 1.0), 169.5)


def test_solid_checking_lifter_by_hand() -> None:
    # 1.6 mm at the valve is 1.0 mm at the pushrod; the hydraulic cup stands 0.3 mm higher.
    assert isclose(length_from_lash(170.0, 1.6, 1.6, 1.2, 0.3), 171.9)
    assert isclose(length_from_lash(170.0, 0.0, 1.6, 0.0), 170.0)
    assert isclose(length_from_lash(170.0, 1.6, 1.6, 1.2, -0.3), 172.5)


def test_how_a_length_is_measured_must_be_stated() -> None:
    assert "gauge diameter" in HOW_MEASURED


def test_a_checking_pushrod_has_a_length_and_a_pitch() -> None:
    with pytest.raises(ValueError, match="above 0"):
        checking_length(0.0, 1.0)
    with pytest.raises(ValueError, match="above 0"):
        checking_length(165.0, 1.0, 0.0)
