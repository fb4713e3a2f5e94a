"""Faults in the fields that describe an engine, all of them at once."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from heelwise.valvetrain.arcs import CYCLE
from heelwise.valvetrain.valves import Kind, Valve

MOST_CYLINDERS = 24
GAPS_TOLERANCE_DEG = 0.01
"""How far from 720 degrees the firing gaps may sum."""
ONE_BANK = "all"
"""The bank of an engine whose banks are not given."""

Banks = Mapping[str, Sequence[int]]
Rows = Mapping[str, Sequence["Valve | str"]]


@dataclass(frozen=True)
class Problem:
    """One fault in what describes an engine.

    Attributes:
        field: the field at fault, as a setup file names it.
        problem: what is wrong.
        instead: what would be right.
    """

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
    """Find every fault in the fields that describe an engine.

    Args:
        firing_order: cylinder numbers in the order they fire.
        firing_gaps: degrees from each to the next; even if None.
        banks: cylinders of each bank, front to rear.
        valve_rows: valves (or their names) of each bank, front to rear.
        cylinders: how many the engine is said to have.
        damper_diameter_mm: mm.
        damper_marks_deg: degrees between the damper's marks.

    Returns:
        The faults, in the order of the fields; empty if there are none.
    """
    return [
        *_order_problems(firing_order, cylinders),
        *_gap_problems(firing_gaps, len(firing_order)),
        *_bank_problems(banks, len(firing_order)),
        *_row_problems(valve_rows, bank_cylinders(banks, len(firing_order))),
        *_damper_problems(damper_diameter_mm, damper_marks_deg),
    ]


def bank_cylinders(banks: Banks | None, count: int) -> dict[str, tuple[int, ...]]:
    """Cylinders of each bank, the one default bank included.

    Args:
        banks: as given, or None.
        count: how many cylinders the engine has.

    Returns:
        Cylinder numbers by the bank's name.
    """
    if not banks:
        return {ONE_BANK: tuple(range(1, count + 1))}
    return {name: tuple(members) for name, members in banks.items()}


def _is_whole(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)


def _order_problems(order: Sequence[int], cylinders: int | None) -> list[Problem]:
    count = len(order)
    said = []
    if not 1 <= count <= MOST_CYLINDERS:
        said.append(
            Problem(
                "firing_order",
                f"it names {count} cylinders",
                f"name from 1 to {MOST_CYLINDERS} cylinders",
            )
        )
    elif not all(map(_is_whole, order)) or sorted(order) != list(range(1, count + 1)):
        said.append(
            Problem(
                "firing_order",
                f"{'-'.join(map(str, order))} does not name every cylinder once",
                f"name each of 1 to {count} once",
            )
        )
    if cylinders is not None and cylinders != count:
        said.append(
            Problem(
                "cylinders",
                f"{cylinders} cylinders, but the firing order names {count}",
                "let both say the same",
            )
        )
    return said


def _gap_problems(gaps: Sequence[float] | None, count: int) -> list[Problem]:
    if gaps is None:
        return []
    if len(gaps) != count:
        return [
            Problem(
                "firing_gaps",
                f"{len(gaps)} gaps for {count} cylinders",
                "give one gap for each cylinder of the firing order, or leave them out if even",
            )
        ]
    if not all(math.isfinite(gap) and gap >= 0 for gap in gaps):
        return [Problem("firing_gaps", "a gap is negative or no number", "give degrees, 0 or more")]
    total = math.fsum(gaps)
    if abs(total - CYCLE) > GAPS_TOLERANCE_DEG + 1e-9:
        return [
            Problem("firing_gaps", f"the gaps sum to {total:g}°", "let them sum to 720°"),
        ]
    return []


def _bank_problems(banks: Banks | None, count: int) -> list[Problem]:
    if not banks:
        return []
    named = [cylinder for members in banks.values() for cylinder in members]
    said = [
        Problem("banks", f"bank {name} has no cylinders", "name its cylinders, or leave it out")
        for name, members in banks.items()
        if not members
    ]
    if not all(map(_is_whole, named)) or sorted(named) != list(range(1, count + 1)):
        said.append(
            Problem(
                "banks",
                "the banks together do not name every cylinder once",
                f"name each of 1 to {count} once",
            )
        )
    return said


def _row_problems(rows: Rows | None, banks: Mapping[str, tuple[int, ...]]) -> list[Problem]:
    said = []
    for name, row in (rows or {}).items():
        field = f"valve_rows.{name}"
        if name not in banks:
            said.append(
                Problem(field, f"there is no bank {name}", f"name one of {', '.join(banks)}")
            )
            continue
        try:
            valves = sorted(v if isinstance(v, Valve) else Valve.parse(v) for v in row)
        except ValueError as fault:
            said.append(Problem(field, str(fault), "name valves as in 1I or 8E"))
            continue
        wanted = [Valve(c, kind) for c in sorted(banks[name]) for kind in Kind]
        if valves != wanted:
            said.append(
                Problem(
                    field,
                    "it does not name every valve of the bank once",
                    f"name each of {', '.join(map(str, wanted))} once, front to rear",
                )
            )
    return said


def _damper_problems(diameter: float | None, marks: float | None) -> list[Problem]:
    said = []
    if diameter is not None and not (math.isfinite(diameter) and diameter > 0):
        said.append(Problem("damper_diameter", f"{diameter:g} mm", "give a length above 0"))
    if marks is not None and not divides_cycle(marks):
        said.append(
            Problem(
                "damper_marks",
                f"marks every {marks:g}° do not come round again after two turns",
                "give degrees that divide 720, such as 10, 60 or 90",
            )
        )
    return said


def divides_cycle(marks_deg: float) -> bool:
    """Whether marks every so many degrees come round again after 720°.

    Args:
        marks_deg: degrees between marks.

    Returns:
        True when 720 is a whole number of them, to a millionth of a degree.
    """
    if not (math.isfinite(marks_deg) and 1e-6 <= marks_deg <= CYCLE):
        return False
    return abs(round(CYCLE / marks_deg) * marks_deg - CYCLE) <= 1e-6
