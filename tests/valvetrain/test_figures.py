from math import inf, isclose
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelwise.valvetrain.figures import chance_inside, repeats, turns_text, uniform


@pytest.mark.parametrize(
    ("turns", "said"),
    [
        (0.0, "0 turns"),
        (0.0625, "1/16 turn"),
        (0.5, "1/2 turn"),
        (1.0, "1 turn"),
        (1.375, "1 3/8 turns"),
        (2.0, "2 turns"),
        (2.3022, "2.30 turns"),
        (-0.25, "-1/4 turns"),
    ],
)
def test_turns_in_words(turns: float, said: str) -> None:
    assert turns_text(turns) == said


def test_hand_worked() -> None:
    assert isclose(uniform(0.125), 0.0360844, abs_tol=1e-7)
    assert chance_inside(0.0, 1.0, 0.0, inf) == 0.5


def test_an_exact_figure_is_inside_or_not() -> None:
    assert chance_inside(1.0, 0.0, 1.0, 2.0) == 1.0
    assert chance_inside(2.0001, 0.0, 1.0, 2.0) == 0.0


@given(st.floats(-5, 5), st.floats(0.001, 3), st.floats(0, 4))
def test_a_wider_window_is_never_less_likely(value: float, standard: float, more: float) -> None:
    narrow = chance_inside(value, standard, -1.0, 1.0)
    assert 0.0 <= narrow <= chance_inside(value, standard, -1.0 - more, 1.0 + more) <= 1.0


def test_the_least_that_is_allowed() -> None:
    assert uniform(0.0) == 0.0
    assert chance_inside(1.0, 0.0, 1.0, 1.0) == 1.0
    assert chance_inside(2.0, 0.0, 1.0, 2.0) == 1.0


def test_by_hand() -> None:
    twice = repeats([1.0, 1.125])
    assert (twice.count, twice.mean, twice.spread, twice.agree) == (2, 1.0625, 0.125, True)
    assert twice.text == "2 readings, 1 turn to 1 1/8 turns: they agree within 1/8 turn"
    apart = repeats([1.0, 1.25, 1.0])
    assert not apart.agree
    assert "disagree" in apart.text
    assert "count again" in apart.text


def test_a_finer_reading_disagrees_sooner() -> None:
    assert not repeats([1.0, 1.1], 1 / 36).agree
    assert repeats([1.0, 1.1]).agree


@given(st.lists(st.integers(0, 32).map(lambda n: n / 8), min_size=2, max_size=6), st.randoms())
def test_the_order_of_readings_does_not_matter(readings: list[float], random: Random) -> None:
    shuffled = list(readings)
    random.shuffle(shuffled)
    answer = repeats(readings)
    assert repeats(shuffled) == answer
    assert min(readings) <= answer.mean <= max(readings)


@pytest.mark.parametrize("widths", [(), (0.06,), (0.06, 0.1), (0.1, 0.02)])
@pytest.mark.parametrize("value", [0.3, 0.5, 0.74])
def test_a_chance_spread_over_widths_is_the_mean_over_them(
    value: float, widths: tuple[float, ...]
) -> None:
    steps = [(2 * n + 1) / 40 - 1 for n in range(40)]
    places = [value]
    for width in widths:
        places = [place + width * step for place in places for step in steps]
    mean = sum(chance_inside(place, 0.03, 0.4, 0.8) for place in places) / len(places)
    assert chance_inside(value, 0.03, 0.4, 0.8, *widths) == pytest.approx(mean, abs=2e-4)
    sharp = sum(0.4 <= place <= 0.8 for place in places) / len(places)
    assert chance_inside(value, 0.0, 0.4, 0.8, *widths) == pytest.approx(sharp, abs=0.03)


def test_thirds_are_written_in_thirds() -> None:
    assert [turns_text(n / 6) for n in (1, 2, 4, 5, 8, 10)] == [
        "1/6 turn",
        "1/3 turn",
        "2/3 turn",
        "5/6 turn",
        "1 1/3 turns",
        "1 2/3 turns",
    ]
