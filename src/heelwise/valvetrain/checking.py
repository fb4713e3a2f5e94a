"""Other ways to a pushrod's length: a checking pushrod, or a solid checking lifter."""

from math import isfinite

from heelwise.valvetrain.figures import MM_PER_INCH

CHECKING_PITCH_MM = 0.050 * MM_PER_INCH
"""What one turn of an adjustable checking pushrod adds, where its maker says 0.050 in."""

MOST_LASH_MM = 6.35
"""A quarter inch, common practice, no source: with more the rocker is far from where it runs."""

MOST_APART_MM = 25.4
"""Cup heights further apart than an inch were not both taken over the foot or roller."""

HOW_MEASURED = (
    "Say how the length is measured: over the ends, or at a gauge diameter. With oil holes the "
    "theoretical length can be about 0.017 in (0.43 mm) more than the length over the ends "
    "(two makers' figure, 5/16 ends with 0.100 in holes), a quarter turn or so."
)


def checking_length(
    shortest_mm: float, turns_out: float, pitch_mm: float = CHECKING_PITCH_MM
) -> float:
    """Give the length of an adjustable checking pushrod from its own turns.

    Args:
        shortest_mm: Its length screwed together, in mm.
        turns_out: Turns it was screwed out, 0 or more.
        pitch_mm: What one turn adds, in mm: its own pitch, never the rocker bolt's.

    Returns:
        Length in mm.

    Raises:
        ValueError: A length is not above 0 or the turns are below 0.
    """
    _above_zero("shortest length", shortest_mm)
    _above_zero("pitch", pitch_mm)
    if not (isfinite(turns_out) and turns_out >= 0):
        raise ValueError(f"turns {turns_out!r} should be 0 or more")
    return shortest_mm + turns_out * pitch_mm


def length_from_zero_lash(zero_lash_mm: float, preload_mm: float) -> float:
    """Give the length to order: the length at zero lash, rocker clamped, plus the preload.

    Args:
        zero_lash_mm: Length at zero lash in mm, with the rocker at its torque.
        preload_mm: Preload wanted, in mm.

    Returns:
        Length in mm, measured the same way as the length at zero lash.

    Raises:
        ValueError: The length is not above 0 or the preload is below 0.
    """
    _above_zero("length at zero lash", zero_lash_mm)
    _not_below_zero("preload", preload_mm)
    return zero_lash_mm + preload_mm


def length_from_lash(
    pushrod_mm: float,
    lash_mm: float,
    ratio: float,
    preload_mm: float,
    cup_above_solid_mm: float = 0.0,
) -> float:
    """Give the length to order from lash measured with a solid checking lifter.

    The lash at the valve is lash / ratio at the pushrod. A hydraulic lifter whose cup,
    plunger against the retainer, stands higher than the solid one's takes up as much.

    Args:
        pushrod_mm: Length of the pushrod used, in mm.
        lash_mm: Lash at the valve by feeler gauge, in mm, rocker clamped.
        ratio: Rocker ratio, above 0.
        preload_mm: Preload wanted, in mm.
        cup_above_solid_mm: Hydraulic cup height less the solid one's, in mm, both over
            the foot or roller; below 0 where it is lower.

    Returns:
        Length in mm, measured the same way as the pushrod used.

    Raises:
        ValueError: The length or ratio is not above 0, or lash or preload is below 0.
    """
    _above_zero("pushrod length", pushrod_mm)
    _above_zero("rocker ratio", ratio)
    _not_below_zero("lash", lash_mm)
    _not_below_zero("preload", preload_mm)
    return pushrod_mm + lash_mm / ratio - cup_above_solid_mm + preload_mm


def travel_left(gap_mm: float, ratio: float) -> float:
    """Give the plunger travel left from the gap at the valve with the plunger bottomed.

    Args:
        gap_mm: Gap at the valve, plunger held down to the bottom, in mm.
        ratio: Rocker ratio, above 0.

    Returns:
        gap / ratio, in mm: what was left before the plunger was pressed down.

    Raises:
        ValueError: The ratio is not above 0 or the gap is below 0.
    """
    _above_zero("rocker ratio", ratio)
    _not_below_zero("gap", gap_mm)
    return gap_mm / ratio


def _above_zero(name: str, value: float) -> None:
    if not (isfinite(value) and value > 0):
        raise ValueError(f"{name} {value!r} should be above 0")


def _not_below_zero(name: str, value: float) -> None:
    if not (isfinite(value) and value >= 0):
        raise ValueError(f"{name} {value!r} should be 0 or more")
