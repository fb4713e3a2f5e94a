"""How finely turns were read, told from how they were typed."""

from __future__ import annotations

import re

from heelwise.documents.typed_numbers import QuantityFault

DEGREE_WHEEL_TURNS = 5 / 360
"""A degree wheel or marked socket read to the nearest 5° (common practice, no source)."""

_FRACTION = re.compile(r"/\s*(\d{1,3})")


def turns_resolution(typed: str, default: float) -> float:
    """The smallest step a count was read in.

    Args:
        typed: The reading as typed.
        default: The procedure's resolution, in turns.

    Returns:
        Turns: of degrees 5/360; of sixteenths and finer their own step; else the default.
    """
    if "°" in typed or "deg" in typed.lower():
        return min(DEGREE_WHEEL_TURNS, default)
    found = _FRACTION.search(typed)
    if found is None:
        return default
    parts = int(found[1])
    if parts == 0:
        raise QuantityFault(f"{typed} divides by 0", "like 1 3/8")
    return min(1 / parts, default)
