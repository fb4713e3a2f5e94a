"""The engine: valves and their names, cylinders, firing order and gaps, banks, damper."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property, lru_cache, total_ordering

from heelwise.valvetrain.arcs import CYCLE, wrap

MOST_CYLINDERS = 24
GAPS_TOLERANCE_DEG = 0.01
"""How far from 720 degrees the firing gaps may sum."""
ONE_BANK = "all"
"""The bank of an engine whose banks are not given."""

_NAME = re.compile(r"([1-9][0-9]?)([IiEe])")


class ValveKind(StrEnum):
    """Intake or exhaust."""

    INTAKE = "I"
    EXHAUST = "E"


@total_ordering
@dataclass(frozen=True)
class Valve:
    """One valve: cylinder number (from 1) and kind. Sorts by cylinder, intake before exhaust."""

    cylinder: int
    kind: ValveKind

    @classmethod
    def parse(cls, text: str) -> Valve:
        """Read a name such as "1I" or "8e"; ValueError if it isn't one."""
        return _parsed(text)

    def __str__(self) -> str:
        return f"{self.cylinder}{self.kind.value}"

    def __hash__(self) -> int:
        # Valves are looked up by the thousand; an enumeration's own hash is slow.
        return self.cylinder * 2 + (self.kind is ValveKind.EXHAUST)

    def __lt__(self, other: Valve) -> bool:
        return self.rank() < other.rank()

    def rank(self) -> tuple[int, bool]:
        """What valves are sorted by, as a key for many of them."""
        return self.cylinder, self.kind is ValveKind.EXHAUST


@lru_cache(maxsize=1024)
def _parsed(text: str) -> Valve:
    match = _NAME.fullmatch(text.strip())
    if match is None:
        raise ValueError(
            f"{text!r} is not a valve: give the cylinder's number, then I or E, as in 1I or 8E"
        )
    return Valve(int(match[1]), ValveKind(match[2].upper()))


@dataclass(frozen=True)
class Bank:
    """A row of cylinders under one head, front to rear; `valve_row` is empty if not given."""

    name: str
    cylinders: tuple[int, ...]
    valve_row: tuple[Valve, ...] = ()


@dataclass(frozen=True)
class Engine:
    """A four-stroke engine; crank angle 0 is cylinder 1 at TDC on compression.

    The firing order holds every cylinder once and may begin anywhere; a firing gap is the degrees
    from a cylinder of the order to the next, the last back to the first; they sum to 720. The banks
    together hold every cylinder once. `clockwise` is seen from the front.
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
        try:
            return self._phases[cylinder]
        except KeyError:
            raise ValueError(self._no_cylinder(cylinder)) from None

    def bank_of(self, cylinder: int) -> Bank:
        """The bank a cylinder belongs to."""
        for bank in self.banks:
            if cylinder in bank.cylinders:
                return bank
        raise ValueError(self._no_cylinder(cylinder))

    def _no_cylinder(self, cylinder: int) -> str:
        return f"there is no cylinder {cylinder}: the engine has {self.cylinders}"


Banks = Mapping[str, Sequence[int]]
Rows = Mapping[str, Sequence["Valve | str"]]


def make_engine(
    firing_order: Sequence[int],
    firing_gaps: Sequence[float] | None = None,
    banks: Banks | None = None,
    valve_rows: Rows | None = None,
    clockwise: bool = True,
    damper_diameter_mm: float | None = None,
    damper_marks_deg: float | None = None,
) -> Engine:
    """Make an engine; gaps left out are even. ValueError with every fault of `check_engine`."""
    damper = (damper_diameter_mm, damper_marks_deg)
    problems = check_engine(firing_order, firing_gaps, banks, valve_rows, None, *damper)
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
            for name, members in _bank_cylinders(banks, count).items()
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


@dataclass(frozen=True)
class Problem:
    """A fault in a field, named as a setup file names it, and what would be right."""

    field: str
    problem: str
    instead: str


def check_engine(
    firing_order: Sequence[int],
    firing_gaps: Sequence[float] | None = None,
    banks: Banks | None = None,
    valve_rows: Rows | None = None,
    cylinders: int | None = None,
    damper_diameter_mm: float | None = None,
    damper_marks_deg: float | None = None,
) -> list[Problem]:
    """Every fault in the fields that describe an engine, in the order of the fields."""
    count = len(firing_order)
    return [
        *_order_problems(firing_order, cylinders),
        *_gap_problems(firing_gaps, count),
        *_bank_problems(banks or {}, count),
        *_row_problems(valve_rows or {}, _bank_cylinders(banks, count)),
        *_damper_problems(damper_diameter_mm, damper_marks_deg),
    ]


def _bank_cylinders(banks: Banks | None, count: int) -> dict[str, tuple[int, ...]]:
    if not banks:
        return {ONE_BANK: tuple(range(1, count + 1))}
    return {name: tuple(members) for name, members in banks.items()}


def _each_once(numbers: Sequence[int], count: int) -> bool:
    whole = all(isinstance(each, int) and not isinstance(each, bool) for each in numbers)
    return whole and sorted(numbers) == list(range(1, count + 1))


def _order_problems(order: Sequence[int], cylinders: int | None) -> Iterator[Problem]:
    count, named = len(order), "-".join(map(str, order))
    wrong = ""
    if not 1 <= count <= MOST_CYLINDERS:
        wrong, instead = f"it names {count} cylinders", f"name from 1 to {MOST_CYLINDERS} cylinders"
    elif not _each_once(order, count):
        wrong = f"{named} does not name every cylinder once"
        instead = f"name each of 1 to {count} once"
    if wrong:
        yield Problem("firing_order", wrong, instead)
    if cylinders is not None and cylinders != count:
        wrong = f"{cylinders} cylinders, but the firing order names {count}"
        yield Problem("cylinders", wrong, "make the two agree")


def _gap_problems(gaps: Sequence[float] | None, count: int) -> Iterator[Problem]:
    if gaps is None:
        return
    wrong, total = "", math.fsum(gaps)
    if len(gaps) != count:
        wrong = f"{len(gaps)} gaps for {count} cylinders"
        instead = "give one gap for each cylinder of the firing order, or leave them out if even"
    elif not all(math.isfinite(gap) and gap >= 0 for gap in gaps):
        wrong, instead = "a gap is negative or not a number", "give degrees, 0 or more"
    elif abs(total - CYCLE) > GAPS_TOLERANCE_DEG + 1e-9:
        wrong, instead = f"the gaps sum to {total:g}°", "they have to sum to 720°"
    if wrong:
        yield Problem("firing_gaps", wrong, instead)


def _bank_problems(banks: Banks, count: int) -> Iterator[Problem]:
    for name, members in banks.items():
        if not members:
            wrong = f"bank {name} has no cylinders"
            yield Problem("banks", wrong, "name its cylinders, or leave it out")
    named = [cylinder for members in banks.values() for cylinder in members]
    if banks and not _each_once(named, count):
        wrong = "the banks together do not name every cylinder once"
        yield Problem("banks", wrong, f"name each of 1 to {count} once")


def _row_problems(rows: Rows, banks: Mapping[str, tuple[int, ...]]) -> Iterator[Problem]:
    for name, row in rows.items():
        field = f"valve_rows.{name}"
        if name not in banks:
            yield Problem(field, f"there is no bank {name}", f"name one of {', '.join(banks)}")
            continue
        try:
            valves = sorted(v if isinstance(v, Valve) else Valve.parse(v) for v in row)
        except ValueError as fault:
            yield Problem(field, str(fault), "name valves as in 1I or 8E")
            continue
        wanted = [Valve(c, kind) for c in sorted(banks[name]) for kind in ValveKind]
        if valves != wanted:
            instead = f"name each of {', '.join(map(str, wanted))} once, front to rear"
            yield Problem(field, "it does not name every valve of the bank once", instead)


def _damper_problems(diameter: float | None, marks: float | None) -> Iterator[Problem]:
    if diameter is not None and not (math.isfinite(diameter) and diameter > 0):
        yield Problem("damper_diameter", f"{diameter:g} mm", "give a length above 0")
    if marks is not None and not divides_cycle(marks):
        wrong = f"marks every {marks:g}° do not come round again after two turns"
        yield Problem("damper_marks", wrong, "give degrees that divide 720, such as 10, 60 or 90")


def divides_cycle(marks_deg: float) -> bool:
    """Whether 720 is a whole number of these degrees, to a millionth of a degree."""
    if not (math.isfinite(marks_deg) and 1e-6 <= marks_deg <= CYCLE):
        return False
    return abs(round(CYCLE / marks_deg) * marks_deg - CYCLE) <= 1e-6
