"""The engine: valves and their names, cylinders, firing order and gaps, banks, damper."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property, lru_cache
from typing import Any

CYCLE = 720.0  # crank degrees in one cycle of a four-stroke engine
MOST_CYLINDERS = 24
GAPS_TOLERANCE_DEG = 0.01  # how far from 720 degrees the firing gaps may sum
ONE_BANK = "all"  # the bank of an engine whose banks are not given


def wrap(deg: float) -> float:
    """The same place in [0, 720), rounded to 1e-9 degree; never 720 and never minus zero."""
    # Rounding first: a hair below 720 (or below 0) is 0, not 719.999999999999.
    return round(round(deg, 9) % CYCLE, 9) % CYCLE + 0.0


class ValveKind(StrEnum):
    """Intake or exhaust."""

    INTAKE = "I"
    EXHAUST = "E"

    # The intake sorts first.
    __lt__, __le__, __gt__, __ge__ = str.__gt__, str.__ge__, str.__lt__, str.__le__


@dataclass(frozen=True, order=True)
class Valve:
    """One valve: cylinder number (from 1) and kind. Sorts by cylinder, intake before exhaust."""

    cylinder: int
    kind: ValveKind

    @classmethod
    @lru_cache(maxsize=1024)
    def parse(cls, text: str) -> Valve:
        """Read a name such as "1I" or "8e"; ValueError if it isn't one."""
        match = re.fullmatch(r"([1-9][0-9]?)([IiEe])", text.strip())
        if match is None:
            raise ValueError(
                f"{text!r} is not a valve: give the cylinder's number, then I or E, as in 1I or 8E"
            )
        return cls(int(match[1]), ValveKind(match[2].upper()))

    def __str__(self) -> str:
        return f"{self.cylinder}{self.kind.value}"

    def __hash__(self) -> int:
        # Quick, and the same in every run.
        return self.cylinder * 2 + (self.kind is ValveKind.EXHAUST)


@dataclass(frozen=True)
class Bank:
    """A row of cylinders under one head, front to rear; `valve_row` is empty if not given."""

    name: str
    cylinders: tuple[int, ...]
    valve_row: tuple[Valve, ...] = ()


@dataclass(frozen=True)
class Engine:
    """A four-stroke engine; crank angle 0 is cylinder 1 at TDC on compression.

    The firing order may begin anywhere; a firing gap is the degrees from a cylinder of the order to
    the next, the last back to the first; they sum to 720. `clockwise` is seen from the front.
    """

    firing_order: tuple[int, ...]
    firing_gaps: tuple[float, ...]
    banks: tuple[Bank, ...]
    clockwise: bool = True
    damper_diameter_mm: float | None = None
    damper_marks_deg: float | None = None
    stroke_mm: float | None = None
    rod_mm: float | None = None

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
            for kind in (ValveKind.INTAKE, ValveKind.EXHAUST)
        )

    @cached_property
    def _phases(self) -> dict[int, float]:
        # Summed from cylinder 1, so that where the order begins makes no difference at all.
        first = self.firing_order.index(1)
        order = self.firing_order[first:] + self.firing_order[:first]
        gaps = self.firing_gaps[first:] + self.firing_gaps[:first]
        return {cylinder: wrap(math.fsum(gaps[:place])) for place, cylinder in enumerate(order)}

    def phase(self, cylinder: int) -> float:
        """Crank angle of a cylinder's TDC on compression, in [0, 720)."""
        return self._phases[cylinder]

    def piston_drop_mm(self, from_tdc_deg: float) -> float | None:
        """How far a piston is below its TDC: r(1 - cos t) + l - √(l² - r² sin² t).

        Exact for a crank pin in line with its cylinder; None without stroke (2r) and rod (l).
        """
        if self.stroke_mm is None or self.rod_mm is None:
            return None
        crank, turned = self.stroke_mm / 2, math.radians(from_tdc_deg)
        along = math.sqrt(self.rod_mm**2 - (crank * math.sin(turned)) ** 2)
        return crank * (1 - math.cos(turned)) + self.rod_mm - along

    def bank_of(self, cylinder: int) -> Bank:
        """The bank a cylinder belongs to."""
        return next(bank for bank in self.banks if cylinder in bank.cylinders)


Banks = Mapping[str, Sequence[int]]
Rows = Mapping[str, Sequence[str]]


def make_engine(
    firing_order: Sequence[int],
    firing_gaps: Sequence[float] | None = None,
    banks: Banks | None = None,
    valve_rows: Rows | None = None,
    **others: Any,
) -> Engine:
    """Make an engine of fields without `engine_faults`; gaps left out are even."""
    count = len(firing_order)
    gaps = firing_gaps or (CYCLE / count,) * count
    total = math.fsum(gaps)
    rows = {name: tuple(map(Valve.parse, row)) for name, row in (valve_rows or {}).items()}
    return Engine(
        firing_order=tuple(firing_order),
        # What rounding left over (102.857 seven times) is spread, so that the cycle closes.
        firing_gaps=tuple(float(gap) if total == CYCLE else gap * CYCLE / total for gap in gaps),
        banks=tuple(
            Bank(name, tuple(members), rows.get(name, ()))
            for name, members in (banks or {ONE_BANK: range(1, count + 1)}).items()
        ),
        **others,
    )


EngineFault = tuple[str, str, str]
"""A field, named as a setup file names it, what is wrong with it, and what would be right."""


def engine_faults(
    firing_order: Sequence[int],
    firing_gaps: Sequence[float] | None = None,
    banks: Banks | None = None,
    valve_rows: Rows | None = None,
    cylinders: int | None = None,
    damper_marks_deg: float | None = None,
) -> Iterator[EngineFault]:
    """Every fault between and in the fields that describe an engine, in the order of the fields."""
    count = len(firing_order)
    if not 1 <= count <= MOST_CYLINDERS:
        instead = f"name from 1 to {MOST_CYLINDERS} cylinders"
        yield "firing_order", f"it names {count} cylinders", instead
    elif not _each_once(firing_order, count):
        problem = f"{'-'.join(map(str, firing_order))} does not name every cylinder once"
        yield "firing_order", problem, f"name each of 1 to {count} once"
    if cylinders not in (None, count):
        problem = f"{cylinders} cylinders, but the firing order names {count}"
        yield "cylinders", problem, "make the two agree"
    yield from _gap_faults(firing_gaps, count)
    for name, members in (banks or {}).items():
        if not members:
            yield "banks", f"bank {name} has no cylinders", "name its cylinders, or leave it out"
    if banks and not _each_once([each for row in banks.values() for each in row], count):
        problem = "the banks together do not name every cylinder once"
        yield "banks", problem, f"name each of 1 to {count} once"
    yield from _row_faults(valve_rows or {}, banks or {ONE_BANK: range(1, count + 1)})
    if damper_marks_deg is not None and not divides_cycle(damper_marks_deg):
        problem = f"marks every {damper_marks_deg:g}° do not come round again after two turns"
        yield "damper_marks", problem, "give degrees that divide 720, such as 10, 60 or 90"


def _each_once(numbers: Sequence[int], count: int) -> bool:
    return sorted(numbers) == list(range(1, count + 1))


def _gap_faults(gaps: Sequence[float] | None, count: int) -> Iterator[EngineFault]:
    if gaps is None:
        return
    total = math.fsum(gaps)
    if len(gaps) != count:
        problem = f"{len(gaps)} gaps for {count} cylinders"
        instead = "give one gap for each cylinder of the firing order, or leave them out if even"
    elif not all(math.isfinite(gap) and gap >= 0 for gap in gaps):
        problem, instead = "a gap is negative or not a number", "give degrees, 0 or more"
    elif abs(total - CYCLE) > GAPS_TOLERANCE_DEG + 1e-9:
        problem, instead = f"the gaps sum to {total:g}°", "they have to sum to 720°"
    else:
        return
    yield "firing_gaps", problem, instead


def _row_faults(rows: Rows, banks: Banks) -> Iterator[EngineFault]:
    for name, row in rows.items():
        field = f"valve_rows.{name}"
        if name not in banks:
            yield field, f"there is no bank {name}", f"name one of {', '.join(banks)}"
            continue
        wanted = [Valve(c, kind) for c in sorted(banks[name]) for kind in ValveKind]
        if sorted(map(Valve.parse, row)) != wanted:
            instead = f"name each of {', '.join(map(str, wanted))} once, front to rear"
            yield field, "it does not name every valve of the bank once", instead


def divides_cycle(marks_deg: float) -> bool:
    """Whether 720 is a whole number of these degrees, to a millionth of a degree."""
    if not (math.isfinite(marks_deg) and 1e-6 <= marks_deg <= CYCLE):
        return False
    return abs(round(CYCLE / marks_deg) * marks_deg - CYCLE) <= 1e-6
