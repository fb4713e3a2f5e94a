"""True TDC by bisecting two piston-stop readings.

A piston stop in the plug hole (plugs out, by hand, gently) halts the piston a little short of
TDC, turning one way and the other. TDC is midway between the two places. Common practice, no
source; it follows from the crank's symmetry about TDC.
"""

from __future__ import annotations

import math

WHEEL = 360.0
_AMBIGUOUS_DEG = 1.0


def true_tdc(first_reading_deg: float, second_reading_deg: float) -> float:
    """Reading of a degree wheel at true TDC, in [0, 360): turn to it, then set the wheel to zero.

    The readings are where the stop halts the piston turning one way and the other; the one midway
    on the shorter way round is TDC. Compression or overlap it can't tell.
    """
    first, second = first_reading_deg, second_reading_deg
    if not (math.isfinite(first) and math.isfinite(second)):
        raise ValueError("a wheel reading must be a number of degrees")
    gap = round(second - first, 9) % WHEEL
    if gap in (0.0, WHEEL):
        raise ValueError(
            "both readings are the same: turn the other way to the stop for the second"
        )
    if abs(gap - WHEEL / 2.0) < _AMBIGUOUS_DEG:
        raise ValueError(
            "the readings are half a turn apart, so TDC can't be told from BDC: "
            "set the stop to halt the piston nearer to TDC"
        )
    if gap > WHEEL / 2.0:
        gap -= WHEEL
    return round(round(first + gap / 2.0, 9) % WHEEL, 9) % WHEEL + 0.0
