from math import isclose, sqrt
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelwise.valvetrain.repeats import repeats


def test_by_hand() -> None:
    twice = repeats([1.0, 1.125])
    assert (twice.count, twice.mean, twice.spread, twice.agree) == (2, 1.0625, 0.125, True)
    assert twice.said == "2 readings, 1 turn to 1 1/8 turns: they agree within 1/8 turn"
    apart = repeats([1.0, 1.25, 1.0])
    assert not apart.agree
    assert "disagree" in apart.said
    assert "count again" in apart.said
    # s = sqrt((2·(1/12)² + (1/6)²)/2) = 0.1443; over √3 it is 0.0833.
    assert isclose(apart.uncertainty, sqrt((2 / 144 + 1 / 36) / 2) / sqrt(3))


def test_one_reading_is_no_surer_than_its_resolution() -> None:
    once = repeats([1.375])
    assert once.agree
    assert once.said == "one reading"
    assert isclose(once.uncertainty, 0.125 / sqrt(12))
    assert repeats([1.375] * 9).uncertainty == once.uncertainty


def test_a_finer_reading_disagrees_sooner() -> None:
    assert not repeats([1.0, 1.1], 1 / 36).agree
    assert repeats([1.0, 1.1]).agree


def test_what_cannot_be() -> None:
    with pytest.raises(ValueError, match="no readings"):
        repeats([])
    with pytest.raises(ValueError, match="turns"):
        repeats([1.0, float("inf")])
    with pytest.raises(ValueError, match="resolution"):
        repeats([1.0], -1.0)


@given(st.lists(st.integers(0, 32).map(lambda n: n / 8), min_size=1, max_size=6), st.randoms())
def test_the_order_of_readings_does_not_matter(readings: list[float], random: Random) -> None:
    shuffled = list(readings)
    random.shuffle(shuffled)
    answer = repeats(readings)
    assert repeats(shuffled) == answer
    assert min(readings) <= answer.mean <= max(readings)
