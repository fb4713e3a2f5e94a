from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heelwise.valvetrain.arcs import Arc, degrees_between, wrap


@pytest.mark.parametrize(
    ("deg", "wrapped"),
    [(0, 0), (720, 0), (725, 5), (-5, 715), (720 - 1e-12, 0), (-1e-17, 0), (1440.25, 0.25)],
)
def test_wrapping(deg: float, wrapped: float) -> None:
    assert wrap(deg) == wrapped


@settings(deadline=None)
@given(st.floats(-1e5, 1e5))
def test_wrapped_angles_are_in_the_cycle_and_never_minus_zero(deg: float) -> None:
    assert 0 <= wrap(deg) < 720
    assert math.copysign(1, wrap(deg)) == 1
    assert wrap(wrap(deg)) == wrap(deg)
    assert degrees_between(wrap(deg), deg) <= 1e-6


def test_degrees_apart_the_shorter_way() -> None:
    assert (
        degrees_between(10, 710),
        degrees_between(710, 10),
        degrees_between(0, 360),
        degrees_between(5, 5),
    ) == (20, 20, 360, 0)


def test_an_arc_across_720() -> None:
    arc = Arc(700, 50)
    assert (arc.end, arc.middle) == (30, 5)
    assert all(arc.contains(deg) for deg in (700, 719, 0, 30))
    assert not any(arc.contains(deg) for deg in (699.9, 30.1, 365))
    assert Arc(0, 720).contains(123)
    # By hand: 690 to 20 and 700 to 30 share 700 to 20.
    assert arc.shared(690, 50) == 40
    assert arc.shared(100, 50) == 0
    assert arc.shared(0, 720) == 50
    # Met at both its ends: 300 to 310 and 0 to 10.
    assert Arc(300, 430).shared(0, 310) == 20


@settings(deadline=None)
@given(*(st.integers(0, 719) for _ in range(2)), *(st.integers(0, 720) for _ in range(2)))
def test_what_arcs_share_counted_degree_by_degree(
    start: int, other: int, length: int, other_length: int
) -> None:
    mine = {(start + deg) % 720 for deg in range(length)}
    theirs = {(other + deg) % 720 for deg in range(other_length)}
    assert Arc(start, length).shared(other, other_length) == len(mine & theirs)
