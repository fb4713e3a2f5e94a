"""The engine: cylinders, firing order and gaps, banks, rotation and damper."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from heelwise.valvetrain.arcs import CYCLE, wrap
from heelwise.valvetrain.engine_checks import (
    Banks,
    Problem,
    Rows,
    bank_cylinders,
    check_engine,
)
from heelwise.valvetrain.valves import Kind, Valve

__all__ = ["Bank", "Engine", "Problem", "check_engine", "make_engine"]


@dataclass(frozen=True)
class Bank:
    """A row of cylinders under one head.

    Attributes:
        name: any name.
        cylinders: their numbers, front to rear.
        valve_row: its valves, front to rear; empty if not given.
    """

    name: str
    cylinders: tuple[int, ...]
    valve_row: tuple[Valve, ...] = ()


@dataclass(frozen=True)
class Engine:
    """A four-stroke engine; crank angle 0 is cylinder 1 at TDC on compression.

    Attributes:
        firing_order: every cylinder once; may begin anywhere.
        firing_gaps: degrees from each cylinder of the order to the next, the last back to the
            first; they sum to 720.
        banks: at least one; together every cylinder once.
        clockwise: direction of rotation, seen from the front.
        damper_diameter_mm: where a tape would lie, in mm.
        damper_marks_deg: the damper is marked every so many degrees.
    """

    firing_order: tuple[int, ...]
    firing_gaps: tuple[float, ...]
    banks: tuple[Bank, ...]
    clockwise: bool = True
    damper_diameter_mm: float | None = None
    damper_marks_deg: float | None = None

    @property
    def cylinders(self) -> int:
        """How many cylinders."""
        return len(self.firing_order)

    @cached_property
    def valves(self) -> tuple[Valve, ...]:
        """Every valve, by cylinder, the intake before the exhaust."""
        return tuple(
            Valve(cylinder, kind)
            for cylinder in range(1, self.cylinders + 1)
            for kind in (Kind.INTAKE, Kind.EXHAUST)
        )

    @cached_property
    def _phases(self) -> dict[int, float]:
        # Summed from cylinder 1, so that where the order begins makes no difference at all.
        first = self.firing_order.index(1)
        order = self.firing_order[first:] + self.firing_order[:first]
        gaps = self.firing_gaps[first:] + self.firing_gaps[:first]
        return {cylinder: wrap(math.fsum(gaps[:place])) for place, cylinder in enumerate(order)}

    def phase(self, cylinder: int) -> float:
        """Crank angle at which a cylinder is at TDC on compression.

        Args:
            cylinder: its number.

        Returns:
            Degrees in [0, 720); 0 for cylinder 1.

        Raises:
            ValueError: the engine has no such cylinder.
        """
        try:
            return self._phases[cylinder]
        except KeyError:
            raise ValueError(
                f"there is no cylinder {cylinder}: the engine has {self.cylinders}"
            ) from None

    def bank_of(self, cylinder: int) -> Bank:
        """The bank a cylinder belongs to.

        Args:
            cylinder: its number.

        Returns:
            Its bank.

        Raises:
            ValueError: the engine has no such cylinder.
        """
        for bank in self.banks:
            if cylinder in bank.cylinders:
                return bank
        raise ValueError(f"there is no cylinder {cylinder}: the engine has {self.cylinders}")


def make_engine(
    firing_order: Sequence[int],
    firing_gaps: Sequence[float] | None = None,
    banks: Banks | None = None,
    valve_rows: Rows | None = None,
    clockwise: bool = True,
    damper_diameter_mm: float | None = None,
    damper_marks_deg: float | None = None,
) -> Engine:
    """Make an engine from the fields that describe it.

    Args:
        firing_order: cylinder numbers in the order they fire, beginning anywhere.
        firing_gaps: degrees from each to the next, the last back to the first; even if None.
        banks: cylinders of each bank, front to rear; one bank of all cylinders if None.
        valve_rows: valves (or their names) of some or all banks, front to rear.
        clockwise: direction of rotation, seen from the front.
        damper_diameter_mm: mm.
        damper_marks_deg: degrees between the damper's marks.

    Returns:
        The engine.

    Raises:
        ValueError: a field is at fault; the message tells every fault.
    """
    problems = check_engine(
        firing_order,
        firing_gaps,
        banks,
        valve_rows,
        damper_diameter_mm=damper_diameter_mm,
        damper_marks_deg=damper_marks_deg,
    )
    if problems:
        raise ValueError("; ".join(f"{p.field}: {p.problem}: {p.instead}" for p in problems))
    count = len(firing_order)
    rows = {
        name: tuple(v if isinstance(v, Valve) else Valve.parse(v) for v in row)
        for name, row in (valve_rows or {}).items()
    }
    return Engine(
        firing_order=tuple(firing_order),
        firing_gaps=_gaps_of_720(firing_gaps, count),
        banks=tuple(
            Bank(name, members, rows.get(name, ()))
            for name, members in bank_cylinders(banks, count).items()
        ),
        clockwise=clockwise,
        damper_diameter_mm=damper_diameter_mm,
        damper_marks_deg=damper_marks_deg,
    )


def _gaps_of_720(gaps: Sequence[float] | None, count: int) -> tuple[float, ...]:
    if gaps is None:
        return (CYCLE / count,) * count
    total = math.fsum(gaps)
    # What rounding left over (102.857 seven times) is spread, so that the cycle closes.
    return tuple(float(gap) if total == CYCLE else gap * CYCLE / total for gap in gaps)
