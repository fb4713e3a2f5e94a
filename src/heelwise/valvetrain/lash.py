"""Lash: solid lifters cold and hot, and lengths from lash or from checking pushrods."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from heelwise.wording import MM_PER_INCH

CHART_SOURCE = "one chart, printed in two magazines; a starting point"

CHART_MM: Mapping[str, float] = {
    "iron block, iron heads": 0.002 * MM_PER_INCH,
    "iron block, aluminium heads": -0.006 * MM_PER_INCH,
    "aluminium block, aluminium heads": -0.012 * MM_PER_INCH,
}
"""What to add to a lash specified hot, to set it cold, in mm at the valve (`CHART_SOURCE`)."""

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

_SLACK_MM = 1e-9


class LashWord(StrEnum):
    """A lash against its limits."""

    TIGHT = "tight"
    INSIDE = "inside"
    LOOSE = "loose"


@dataclass(frozen=True)
class LashVerdict:
    """A lash's word, and whether a limit lies within half the gauge's step of it."""

    word: LashWord
    near: bool


def judge_lash(
    lash_mm: float, least_mm: float, most_mm: float, step_mm: float = 0.001 * MM_PER_INCH
) -> LashVerdict:
    """Judge a lash as read; limits are inside. `step_mm`: step between feeler gauges."""
    word = LashWord.INSIDE
    if lash_mm < least_mm - _SLACK_MM:
        word = LashWord.TIGHT
    elif lash_mm > most_mm + _SLACK_MM:
        word = LashWord.LOOSE
    to_limit = min(abs(lash_mm - least_mm), abs(lash_mm - most_mm))
    return LashVerdict(word, to_limit <= step_mm / 2 + _SLACK_MM)


def lash_hot(cold_mm: float, gap_growth_mm: float, ratio: float) -> float:
    """Lash hot at the valve for a lash set cold: cold + ratio × growth of the gap.

    The gap grows at the pushrod; the feeler gauge measures at the valve, ratio times as much. The
    valve's own growth is left out: a hot exhaust valve takes lash away. Below 0 the valve would be
    held open.
    """
    return cold_mm + ratio * gap_growth_mm


def lash_cold(hot_mm: float, gap_growth_mm: float, ratio: float) -> float:
    """Lash to set cold at the valve for a lash specified hot."""
    return lash_hot(hot_mm, -gap_growth_mm, ratio)


def checking_length(
    shortest_mm: float, turns_out: float, pitch_mm: float = CHECKING_PITCH_MM
) -> float:
    """Length of an adjustable checking pushrod; the pitch is its own, not the rocker bolt's."""
    if not (shortest_mm > 0 and pitch_mm > 0):
        raise ValueError(f"{shortest_mm!r} mm and {pitch_mm!r} mm a turn should be above 0")
    return shortest_mm + turns_out * pitch_mm


def length_from_zero_lash(zero_lash_mm: float, preload_mm: float) -> float:
    """Length to order: that at zero lash, rocker at its torque, plus the preload wanted."""
    return zero_lash_mm + preload_mm


def length_from_lash(
    pushrod_mm: float,
    lash_mm: float,
    ratio: float,
    preload_mm: float,
    cup_above_solid_mm: float = 0.0,
) -> float:
    """Length to order from lash at the valve, rocker clamped, over a solid checking lifter.

    The lash at the valve is lash / ratio at the pushrod. A hydraulic lifter whose cup, plunger
    against the retainer, stands higher than the solid one's (both over the foot or roller) takes
    up as much.
    """
    return pushrod_mm + lash_mm / ratio - cup_above_solid_mm + preload_mm
