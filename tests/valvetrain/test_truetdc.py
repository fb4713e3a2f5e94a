from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heelwise.valvetrain.truetdc import pointer_error, true_tdc, true_tdc_on_tape


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
    assert pointer_error(first, second) == (tdc if tdc <= 180 else tdc - 360)


def test_on_the_rim() -> None:
    # A rim of 360 mm: a millimetre is a degree. The mark is 3 mm off.
    diameter = 360.0 / math.pi
    assert true_tdc_on_tape(-27.0, 33.0, diameter) == pytest.approx(3.0)
    assert true_tdc_on_tape(27.0, -33.0, diameter) == pytest.approx(-3.0)
    assert true_tdc_on_tape(333.0, 33.0, diameter) == pytest.approx(3.0)


@pytest.mark.parametrize(
    ("first", "second", "words"),
    [
        (20, 20, "both readings are the same"),
        (20, 380, "both readings are the same"),
        (90, 270, "half a turn apart"),
        (90, 270.5, "half a turn apart"),
        (float("nan"), 10, "number"),
        (10, float("inf"), "number"),
    ],
)
def test_readings_that_tell_nothing(first: float, second: float, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        true_tdc(first, second)
