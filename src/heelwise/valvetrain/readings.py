"""What a reading leads to expect of another pushrod, and how surely."""

from collections.abc import Callable
from dataclasses import dataclass
from math import hypot, isfinite, sqrt

from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.figures import EIGHTH, chance_inside, uniform
from heelwise.valvetrain.travel import Travel
from heelwise.valvetrain.trials import LENGTH_MM, ZERO_LASH_MM
from heelwise.valvetrain.window import Window

SLACK_MM = 1e-6
"""Lengths nearer than this are the same."""


@dataclass(frozen=True)
class Reading:
    """Turns counted on one valve with a pushrod of a length in mm."""

    valve: Valve
    pushrod_mm: float
    turns: float

    def __post_init__(self) -> None:
        if not (isfinite(self.pushrod_mm) and self.pushrod_mm > 0):
            raise ValueError(f"pushrod length {self.pushrod_mm!r} mm should be above 0")
        if not isfinite(self.turns):
            raise ValueError(f"turns {self.turns!r} should be a number")


@dataclass(frozen=True)
class Prospect:
    """A valve whose pushrod is to be chosen, and how surely its turns are known.

    `scatter`: for a valve not tried, whose reading is worked out from others: standard deviations
    in mm of pushrod, each with its weight; they sum to 1 (see `untried`). Empty for one that was
    read itself.
    """

    reading: Reading
    resolution: float = EIGHTH
    scatter: tuple[tuple[float, float], ...] = ()

    @property
    def valve(self) -> Valve:
        """The valve."""
        return self.reading.valve


@dataclass(frozen=True)
class Basis:
    """What a pushrod is judged by: the window and the travel in use.

    `window_at`: the window by another travel per turn, for limits in preload; else it doesn't
    change. `received_mm`: how far a received pushrod may be from the length ordered.
    """

    window: Window
    travel: Travel
    window_at: Callable[[float], Window] | None = None
    received_mm: float = 0.0

    def window_with(self, travel_mm: float) -> Window | None:
        """The window by a travel per turn; None where the limits leave none by it."""
        try:
            return self.window if self.window_at is None else self.window_at(travel_mm)
        except ValueError:
            return None


@dataclass(frozen=True)
class Expectation:
    """Turns to expect after a change, their standard uncertainty, the chance to land inside."""

    valve: Valve
    pushrod_mm: float
    turns: float
    uncertainty_turns: float
    chance: float


def expected_turns(reading: Reading, pushrod_mm: float, travel_mm: float) -> float:
    """Turns to expect with another length: turns + ΔL / travel; below 0 it hangs loose."""
    return reading.turns + (pushrod_mm - reading.pushrod_mm) / travel_mm


def expect(prospect: Prospect, pushrod_mm: float, basis: Basis) -> Expectation:
    """What to expect of a valve with a pushrod, how surely, and the chance to land inside.

    The reading brings its resolution and its zero lash, a valve not tried its scatter; a change
    brings two lengths and what Receive lets pass. The chance is the mean over the travels that
    there may be, each with its own turns and its own window. A pushrod that stays brings no more.
    """
    reading, travel = prospect.reading, basis.travel
    change = pushrod_mm - reading.pushrod_mm
    turns = expected_turns(reading, pushrod_mm, travel.mm)
    lengths = 0.0
    if abs(change) > SLACK_MM or basis.received_mm:
        lengths = hypot(LENGTH_MM, LENGTH_MM, uniform(2.0 * basis.received_mm))
    if travel.measured:
        by_travel = change / travel.mm**2 * (travel.uncertainty_mm or 0.0)
    else:
        off = [expected_turns(reading, pushrod_mm, mm) - turns for mm in travel.draws]
        by_travel = sqrt(sum(each * each for each in off) / len(off))
    scatter = sqrt(sum(weight * sd * sd for sd, weight in prospect.scatter))
    standard = hypot(
        uniform(prospect.resolution), hypot(ZERO_LASH_MM, lengths, scatter) / travel.mm, by_travel
    )
    chance = _chance(prospect, pushrod_mm, basis, hypot(LENGTH_MM, LENGTH_MM) if lengths else 0.0)
    return Expectation(prospect.valve, pushrod_mm, turns, standard, chance)


def _chance(prospect: Prospect, pushrod_mm: float, basis: Basis, lengths_mm: float) -> float:
    total = 0.0
    for travel_mm in basis.travel.draws:
        window = basis.window_with(travel_mm)
        if window is None:
            continue
        turns = expected_turns(prospect.reading, pushrod_mm, travel_mm)
        for scatter_mm, weight in prospect.scatter or ((0.0, 1.0),):
            standard = hypot(ZERO_LASH_MM, lengths_mm, scatter_mm) / travel_mm
            total += weight * chance_inside(
                turns,
                standard,
                window.least_turns,
                window.most_turns,
                prospect.resolution / 2,
                basis.received_mm / travel_mm,
            )
    return min(max(total / len(basis.travel.draws), 0.0), 1.0)
