"""Arcs of the 720° circle of crank angles."""

from __future__ import annotations

from dataclasses import dataclass

CYCLE = 720.0
"""Crank degrees in one cycle of a four-stroke engine."""

SLACK = 1e-9
"""Crank degrees below which two angles are the same."""


def wrap(deg: float) -> float:
    """The same place in [0, 720), rounded to 1e-9 degree; never 720 and never minus zero."""
    # Rounding first: a hair below 720 (or below 0) is 0, not 719.999999999999.
    return round(round(deg, 9) % CYCLE, 9) % CYCLE + 0.0


def degrees_between(first_deg: float, second_deg: float) -> float:
    """Degrees between two crank angles the shorter way round, 0 to 360."""
    distance = (first_deg - second_deg) % CYCLE
    return min(distance, CYCLE - distance)


@dataclass(frozen=True)
class Arc:
    """A closed arc from `start`, in [0, 720), so many degrees on in the direction of rotation."""

    start: float
    length: float

    @property
    def end(self) -> float:
        """Where it ends, in [0, 720)."""
        return wrap(self.start + self.length)

    @property
    def middle(self) -> float:
        """Halfway along it, in [0, 720)."""
        return wrap(self.start + self.length / 2)

    def contains(self, deg: float) -> bool:
        """Whether a crank angle lies on the arc or within 1e-9 degree of it."""
        return degrees_between(deg, self.start + self.length / 2) <= self.length / 2 + SLACK

    def shared(self, start_deg: float, length_deg: float) -> float:
        """Degrees that another arc has in common with this one."""
        offset = (start_deg - self.start) % CYCLE
        first = min(offset + length_deg, self.length) - offset
        again = min(offset + length_deg - CYCLE, self.length)
        return max(first, 0.0) + max(again, 0.0)
