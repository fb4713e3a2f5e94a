from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heelwise.valvetrain.damper import tape_deg, tape_mm


def test_a_whole_turn_is_the_circumference() -> None:
    assert tape_mm(200.0, 360.0) == pytest.approx(200.0 * math.pi)
    assert tape_mm(200.0, -90.0) == pytest.approx(-50.0 * math.pi)


@settings(deadline=None)
@given(st.floats(1, 1000), st.floats(-720, 720))
def test_both_ways(diameter: float, deg: float) -> None:
    assert tape_deg(diameter, tape_mm(diameter, deg)) == pytest.approx(deg, abs=1e-9)


@pytest.mark.parametrize("diameter", [0.0, -5.0, float("nan"), float("inf")])
def test_a_diameter_that_is_none(diameter: float) -> None:
    for ask in (tape_mm, tape_deg):
        with pytest.raises(ValueError, match="diameter"):
            ask(diameter, 10.0)
