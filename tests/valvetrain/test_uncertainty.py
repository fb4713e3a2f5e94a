from math import inf, isclose

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelwise.valvetrain.uncertainty import chance_inside, normal_cdf, root_sum_square, uniform


def test_hand_worked() -> None:
    assert root_sum_square(3.0, 4.0) == 5.0
    assert root_sum_square() == 0.0
    assert isclose(uniform(0.125), 0.0360844, abs_tol=1e-7)
    assert normal_cdf(0.0) == 0.5
    assert normal_cdf(inf) == 1.0


def test_an_exact_figure_is_inside_or_not() -> None:
    assert chance_inside(1.0, 0.0, 1.0, 2.0) == 1.0
    assert chance_inside(2.0001, 0.0, 1.0, 2.0) == 0.0


@pytest.mark.parametrize("bad", [-0.1, inf, float("nan")])
def test_a_resolution_is_a_number_from_zero(bad: float) -> None:
    with pytest.raises(ValueError, match="resolution"):
        uniform(bad)


def test_limits_and_uncertainty_are_checked() -> None:
    with pytest.raises(ValueError, match="upside down"):
        chance_inside(1.0, 0.1, 2.0, 1.0)
    with pytest.raises(ValueError, match="uncertainty"):
        chance_inside(1.0, -0.1, 1.0, 2.0)
    with pytest.raises(ValueError, match="uncertainty"):
        chance_inside(1.0, float("nan"), 1.0, 2.0)


@given(st.floats(-5, 5), st.floats(0.001, 3), st.floats(0, 4))
def test_a_wider_window_is_never_less_likely(value: float, standard: float, more: float) -> None:
    narrow = chance_inside(value, standard, -1.0, 1.0)
    assert 0.0 <= narrow <= chance_inside(value, standard, -1.0 - more, 1.0 + more) <= 1.0


def test_the_least_that_is_allowed() -> None:
    assert uniform(0.0) == 0.0
    assert chance_inside(1.0, 0.0, 1.0, 1.0) == 1.0
    assert chance_inside(2.0, 0.0, 1.0, 2.0) == 1.0
