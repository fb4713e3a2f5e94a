"""True TDC by bisecting two piston-stop readings.

A piston stop in the plug hole (plugs out, by hand, gently) halts the piston a little short of
TDC, turning one way and the other. TDC is midway between the two places. Common practice, no
source; it follows from the crank's symmetry about TDC.
"""

from __future__ import annotations

import math

from heelwise.valvetrain.damper import tape_deg, tape_mm

WHEEL = 360.0
_AMBIGUOUS_DEG = 1.0


def true_tdc(first_reading_deg: float, second_reading_deg: float) -> float:
    """Reading of a degree wheel at true TDC.

    Args:
        first_reading_deg: wheel reading where the stop halts the piston turning one way.
        second_reading_deg: the same turning the other way.

    Returns:
        The reading midway, on the side of TDC (the shorter way round), in [0, 360): turn to it,
        then set the wheel to zero. Which TDC of the two, compression or overlap, it cannot tell.

    Raises:
        ValueError: a reading is no number; the readings are the same; or they are so near to
            half a turn apart that the stop cannot have been near TDC.
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


def pointer_error(first_reading_deg: float, second_reading_deg: float) -> float:
    """How far a wheel or timing mark reads from true TDC.

    Args:
        first_reading_deg: reading where the stop halts the piston turning one way.
        second_reading_deg: the same turning the other way.

    Returns:
        Degrees the mark reads at true TDC, above -180 to 180; 0 for a mark that is right.

    Raises:
        ValueError: as ``true_tdc``.
    """
    reading = true_tdc(first_reading_deg, second_reading_deg)
    return reading - WHEEL if reading > WHEEL / 2.0 else reading


def true_tdc_on_tape(first_mm: float, second_mm: float, diameter_mm: float) -> float:
    """Where true TDC lies on a damper's rim, from two distances taped off one mark.

    Args:
        first_mm: distance along the rim from any mark to the pointer at the stop, in the
            direction of rotation positive, turning one way.
        second_mm: the same turning the other way.
        diameter_mm: the damper's diameter, in mm.

    Returns:
        Distance from the same mark to true TDC, in mm, within half the rim either way.

    Raises:
        ValueError: the diameter is not above 0, or as ``true_tdc``.
    """
    first, second = (tape_deg(diameter_mm, reading) for reading in (first_mm, second_mm))
    return tape_mm(diameter_mm, pointer_error(first, second))
