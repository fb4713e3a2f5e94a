from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heelwise.valvetrain.turn import true_tdc


@pytest.mark.parametrize(
    ("first", "second", "tdc"),
    [(30, 350, 10), (350, 30, 10), (40, 80, 60), (340, 20, 0), (-20, 20, 0), (355, 345, 350)],
)
def test_midway_on_the_side_of_tdc(first: float, second: float, tdc: float) -> None:
    assert true_tdc(first, second) == tdc


@settings(deadline=None)
@given(tdc=st.integers(0, 359), stop=st.integers(5, 85), flip=st.booleans())
def test_any_wheel_and_any_piston_stop(tdc: int, stop: int, flip: bool) -> None:
    readings = [(tdc - stop) % 360, (tdc + stop) % 360]
    first, second = reversed(readings) if flip else readings
    assert true_tdc(first, second) == tdc


@pytest.mark.parametrize(
    ("first", "second", "words"),
    [
        (20, 20, "both readings are the same"),
        (20, 380, "both readings are the same"),
        (90, 270, "half a turn apart"),
        (90, 270.5, "half a turn apart"),
    ],
)
def test_readings_that_tell_nothing(first: float, second: float, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        true_tdc(first, second)
