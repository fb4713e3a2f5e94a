"""Distances on the rim of a damper."""

from __future__ import annotations

import math


def tape_mm(diameter_mm: float, deg: float) -> float:
    """Distance along a damper's rim for so many crank degrees: pi x D x degrees / 360.

    Args:
        diameter_mm: where the tape lies, in mm, above 0.
        deg: crank degrees; the sign is kept.

    Returns:
        Distance in mm.

    Raises:
        ValueError: the diameter is not a length above 0.
    """
    return math.pi * _diameter(diameter_mm) * deg / 360.0


def tape_deg(diameter_mm: float, distance_mm: float) -> float:
    """Crank degrees for a distance along a damper's rim; the inverse of ``tape_mm``.

    Args:
        diameter_mm: where the tape lies, in mm, above 0.
        distance_mm: distance along the rim in mm; the sign is kept.

    Returns:
        Crank degrees.

    Raises:
        ValueError: the diameter is not a length above 0.
    """
    return distance_mm * 360.0 / (math.pi * _diameter(diameter_mm))


def _diameter(diameter_mm: float) -> float:
    if not 0.0 < diameter_mm < math.inf:
        raise ValueError(f"the damper's diameter is {diameter_mm:g} mm: it must be above 0")
    return diameter_mm
