"""The turns never to pass as they can be counted: never above what was worked out."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heelwise.valvetrain.ceiling import Ceiling, counted_down, never_past, under_ceiling
from heelwise.valvetrain.verdict import Window


def at(turns: float) -> Ceiling:
    return Ceiling(turns, "worked out", turns + 0.25, turns)


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
    assert found.bottoms_at == exact + 0.25


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
