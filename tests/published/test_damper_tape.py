"""Tape on a damper: arc = pi x D x degrees / 360.

Source: worked from the circumference; the figures are those timing-tape tables show (from memory).
"""

from __future__ import annotations

from math import cos, hypot, radians, sin

import pytest
from scipy.integrate import quad

from heelwise.valvetrain.turn import tape_mm

INCH = 25.4


@pytest.mark.parametrize(
    ("inches", "deg", "printed", "half_digit"),
    [
        (8.0, 90.0, 6.283, 0.0005),
        (6.75, 90.0, 5.301, 0.0005),
        (7.0, 90.0, 5.498, 0.0005),
        (8.0, 1.0, 0.0698, 0.00005),
    ],
)
def test_tables_in_inches(inches: float, deg: float, printed: float, half_digit: float) -> None:
    assert tape_mm(inches * INCH, deg) / INCH == pytest.approx(printed, abs=half_digit)


def test_a_metric_row() -> None:
    assert tape_mm(133.44, 40.0) == pytest.approx(46.58, abs=0.005)


@pytest.mark.parametrize("deg", [1.0, 40.0, 90.0, 270.0])
def test_the_rim_integrated(deg: float) -> None:
    """The length of a circle's arc by scipy.integrate.quad: no pi times D."""
    radius = 6.75 * INCH / 2

    def speed(angle: float) -> float:
        return hypot(-radius * sin(angle), radius * cos(angle))

    assert tape_mm(2 * radius, deg) == pytest.approx(quad(speed, 0.0, radians(deg))[0], rel=1e-9)
