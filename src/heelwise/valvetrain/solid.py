"""Solid lifters: lash cold and hot, and what a turn of the adjuster does to it."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from math import isfinite
from types import MappingProxyType

from heelwise.valvetrain.figures import MM_PER_INCH

CHART_SOURCE = "one chart, printed in two magazines; a starting point"

CHART_MM: Mapping[str, float] = MappingProxyType(
    {
        "iron block, iron heads": 0.002 * MM_PER_INCH,
        "iron block, aluminium heads": -0.006 * MM_PER_INCH,
        "aluminium block, aluminium heads": -0.012 * MM_PER_INCH,
    }
)
"""What to add to a lash specified hot, to set it cold, in mm at the valve (`CHART_SOURCE`)."""

_SLACK_MM = 1e-9


class Adjuster(StrEnum):
    """Where the adjusting thread works."""

    PUSHROD_END = "screw at the pushrod end"
    VALVE_END = "screw at the valve end"
    FULCRUM = "nut at the fulcrum"


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


def lash_hot(cold_mm: float, gap_growth_mm: float, ratio: float) -> float:
    """Give the lash hot for a lash set cold: cold + ratio × growth of the gap.

    The gap grows at the pushrod; the feeler gauge measures at the valve, ratio times as
    much. The valve's own growth is left out: a hot exhaust valve takes lash away.

    Args:
        cold_mm: Lash cold at the valve, in mm.
        gap_growth_mm: Growth of the gap at the pushrod in mm, as `growth.gap_growth` gives it.
        ratio: Rocker ratio, above 0.

    Returns:
        Lash hot at the valve in mm; below 0 where the valve would be held open.

    Raises:
        ValueError: The ratio is not above 0.
    """
    _check_ratio(ratio)
    return cold_mm + ratio * gap_growth_mm


def lash_cold(hot_mm: float, gap_growth_mm: float, ratio: float) -> float:
    """Give the lash to set cold for a lash specified hot.

    Args:
        hot_mm: Lash hot at the valve, in mm.
        gap_growth_mm: Growth of the gap at the pushrod in mm.
        ratio: Rocker ratio, above 0.

    Returns:
        Lash cold at the valve, in mm.

    Raises:
        ValueError: The ratio is not above 0.
    """
    return lash_hot(hot_mm, -gap_growth_mm, ratio)


def lash_per_turn(pitch_mm: float, ratio: float, adjuster: Adjuster) -> float:
    """Give what one turn of the adjuster takes from the lash at the valve.

    A screw at the valve end moves there itself: the pitch. One at the pushrod end is
    levered: pitch × ratio. A nut lowers the fulcrum and, with the pushrod end held, the
    valve end by pitch × (ratio + 1).

    Args:
        pitch_mm: Pitch of the adjuster's thread in mm, above 0.
        ratio: Rocker ratio, above 0.
        adjuster: Where the thread works.

    Returns:
        mm of lash at the valve for one turn.

    Raises:
        ValueError: The pitch or the ratio is not above 0.
    """
    _check_ratio(ratio)
    if not (isfinite(pitch_mm) and pitch_mm > 0):
        raise ValueError(f"thread pitch {pitch_mm!r} mm should be above 0")
    levers = {
        Adjuster.VALVE_END: 1.0,
        Adjuster.PUSHROD_END: ratio,
        Adjuster.FULCRUM: ratio + 1.0,
    }
    return pitch_mm * levers[adjuster]


def turns_to_lash(
    lash_mm: float, wanted_mm: float, pitch_mm: float, ratio: float, adjuster: Adjuster
) -> float:
    """Give the turns of the adjuster from one lash to another.

    Args:
        lash_mm: Lash now at the valve, in mm.
        wanted_mm: Lash wanted, in mm.
        pitch_mm: Pitch of the adjuster's thread in mm.
        ratio: Rocker ratio.
        adjuster: Where the thread works.

    Returns:
        Turns to tighten; below 0 to loosen.

    Raises:
        ValueError: The pitch or the ratio is not above 0.
    """
    return (lash_mm - wanted_mm) / lash_per_turn(pitch_mm, ratio, adjuster)


def judge_lash(
    lash_mm: float, least_mm: float, most_mm: float, step_mm: float = 0.001 * MM_PER_INCH
) -> LashVerdict:
    """Judge a lash as read; limits are inside.

    Args:
        lash_mm: Lash at the valve, in mm.
        least_mm: Least lash allowed, in mm.
        most_mm: Most lash allowed, in mm.
        step_mm: Step between feeler gauges, in mm.

    Returns:
        The verdict; near where a limit lies within half a step, itself included.

    Raises:
        ValueError: The limits are upside down.
    """
    if most_mm < least_mm:
        raise ValueError(
            f"lash limits {least_mm:g} to {most_mm:g} mm are upside down: the least comes first"
        )
    word = LashWord.INSIDE
    if lash_mm < least_mm - _SLACK_MM:
        word = LashWord.TIGHT
    elif lash_mm > most_mm + _SLACK_MM:
        word = LashWord.LOOSE
    to_limit = min(abs(lash_mm - least_mm), abs(lash_mm - most_mm))
    return LashVerdict(word, to_limit <= step_mm / 2 + _SLACK_MM)


def _check_ratio(ratio: float) -> None:
    if not (isfinite(ratio) and ratio > 0):
        raise ValueError(f"rocker ratio {ratio!r} should be above 0")
