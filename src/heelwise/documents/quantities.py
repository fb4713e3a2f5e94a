"""Figures as the trade writes them, turned into millimeters, newton-meters, turns and degrees.

Number and unit are matched by our own patterns: a user's text never reaches pint, which supplies
the factors of all but the four usual units.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, lru_cache, partial
from typing import TYPE_CHECKING, Literal

from heelwise import wording
from heelwise.documents.faults import QuantityFault, quoted
from heelwise.documents.typed_numbers import (
    LENGTHS,
    THREAD_EXAMPLE,
    TORQUES,
    Unit,
    Units,
    degrees,
    show_turns,
    thread_mm,
    turns,
    typed_number,
)
from heelwise.plain_text import one_line

if TYPE_CHECKING:
    from pint import UnitRegistry

# ---------------------------------------- factors

_PINT_DEFINITIONS = (
    "mm = [length]",
    "newton = [force]",
    "inch = 25.4 * mm",  # exact, NIST SP 811 B.8
    "pound_force = 4.4482216152605 * newton",  # exact, NIST SP 811 B.8
    "kilogram_force = 9.80665 * newton",  # exact, NIST SP 811 B.8
)
USUAL_FACTORS: Mapping[str, Fraction] = {
    "mm": Fraction(1),
    "inch": Fraction("25.4"),
    "newton * 1000 * mm": Fraction(1000),
    "pound_force * 12 * inch": Fraction("4.4482216152605") * 12 * Fraction("25.4"),
}
"""What pint makes of these (a test compares): most records are then opened without its import."""


@cache
def _registry() -> UnitRegistry[Fraction]:
    from pint import UnitRegistry  # its import takes longer than all else in opening a record

    registry: UnitRegistry[Fraction] = UnitRegistry(None, non_int_type=Fraction)
    for definition in _PINT_DEFINITIONS:
        registry.define(definition)
    return registry


def factor_by_pint(expression: str) -> Fraction:
    """What a unit comes to in mm, newtons and their products."""
    return Fraction(_registry().Quantity(expression).to_base_units().magnitude)


@cache
def _in_base(expression: str) -> Fraction:
    return USUAL_FACTORS.get(expression) or factor_by_pint(expression)


def _factor(units: Units, unit: Unit) -> Fraction:
    return _in_base(unit.expression) / _in_base(units.units[0].expression)


def _bare_number(units: Units, typed: object) -> QuantityFault:
    number = one_line(str(typed), 24)
    would_be = " or ".join(f'"{number} {unit}"' for unit in units.usual)
    return QuantityFault(f"{quoted(typed)} has no unit", f"write {would_be}")


def _unit_of(units: Units, text: str, whole: str) -> Unit:
    unit = units.called(text)
    if unit is not None:
        return unit
    if not text:
        raise _bare_number(units, whole)
    other = TORQUES if units is LENGTHS else LENGTHS
    problem = f"{quoted(whole)} isn't {units.article}: the unit {quoted(text)} isn't known"
    if other.called(text) is not None:
        problem = f"{quoted(whole)} is {other.article}, not {units.article}"
    raise QuantityFault(problem, f"write {units.example}")


def _read(units: Units, text: object) -> tuple[float, Unit]:
    if not isinstance(text, str):
        if isinstance(text, int | float) and not isinstance(text, bool):
            raise _bare_number(units, text)
        problem = f"{quoted(text)} isn't {units.article}"
        raise QuantityFault(problem, f"write text with its unit: {units.example}")
    number, rest = typed_number(text, units.example)
    unit = _unit_of(units, rest, text)
    value = float(number * _factor(units, unit))
    if value > units.most:
        problem = f"{quoted(text)} is too large for {units.article} in an engine"
        raise QuantityFault(problem, f"write one like {units.example}")
    return value, unit


def _shown(units: Units, value: float, unit: Unit) -> str:
    return f"{wording.rounded(value / float(_factor(units, unit)), unit.places)} {unit.label}"


def _in_both(units: Units, text: str) -> str:
    value, unit = _read(units, text)
    other = units.units[1] if unit is units.units[0] else units.units[0]
    return f"{_shown(units, value, unit)} = {_shown(units, value, other)}"


# ---------------------------------------- lengths and torques


def length_mm(text: object) -> float:
    """Read a length in mm, from 0 to 10 m: "218.5 mm", '8.150"', "3/8 in", "50 thou"."""
    return _length(text) if isinstance(text, str) else _read(LENGTHS, text)[0]


@lru_cache(maxsize=4096)
def _length(text: str) -> float:
    return _read(LENGTHS, text)[0]  # a fold reads the same few lengths again and again


_FINE_MM = 0.1
"""Below this a hundredth of a mm is too coarse to tell one feeler gauge from another."""


def typed_length(text: str) -> wording.Length:
    """A length that is shown as it was typed, and in the other unit where that is chosen."""
    mm, unit = _read(LENGTHS, text)
    decimals = len(match[1]) if (match := re.search(r"\.([0-9]+)", text)) else 0
    fine = decimals >= (3 if unit.label == "mm" else 4) or 0 < mm < _FINE_MM
    return wording.Length(mm, 4 if fine else 3, text, unit.label)


def with_unit(typed: str, unit: str) -> str:
    """Add the unit shown beside the line to a bare number; any other text stays as typed."""
    try:
        rest = typed_number(typed, "")[1]
    except QuantityFault:
        return typed
    return typed if rest else f"{typed.strip()} {unit}"


def torque_nm(text: object) -> float:
    """Read a torque in N·m, from 0 to 10,000: "30 lbf ft", "25 ft-lb", "250 in-lb", "40 N·m"."""
    return _read(TORQUES, text)[0]


def show_length(mm: float, unit: str = "in") -> str:
    """Write a length: "8.150 in" to a thousandth, "207.01 mm" to a hundredth."""
    return _shown(LENGTHS, mm, _unit_of(LENGTHS, unit, unit))


def show_torque(nm: float, unit: str = "lbf ft") -> str:
    """Write a torque: "30.0 lbf ft" or "40.7 N·m"."""
    return _shown(TORQUES, nm, _unit_of(TORQUES, unit, unit))


CHECKING_EXAMPLE = "like 214.5 mm or 210.0 mm + 3 1/2"
"""Both ways to type a checking pushrod's length, short enough for a line of a small screen."""


def by_turns_out(text: str) -> bool:
    """Whether a length is typed as a checking pushrod's shortest length and turns out."""
    return "+" in text


def checking_pushrod_mm(text: str, pitch_mm: float) -> float:
    """Read an adjustable checking pushrod's length in mm: "214.5 mm" or "210.0 mm + 3 1/2".

    `pitch_mm`: what one turn adds: its own pitch, above 0.
    """
    if not by_turns_out(text):
        return length_mm(text)
    shortest, _, out = text.partition("+")
    instead = "write its shortest length, +, and its turns out: 210.0 mm + 3 1/2"
    try:
        mm, turns_out = length_mm(shortest.strip()), turns(out.strip())
    except QuantityFault as fault:
        raise QuantityFault(fault.problem, instead) from None
    if mm == 0:
        raise QuantityFault(f"{quoted(text)} begins with a length of 0", instead)
    return mm + turns_out * pitch_mm


# ---------------------------------------- the measures

MeasureName = Literal["length", "lash", "torque", "turns", "degrees", "thread"]


@dataclass(frozen=True)
class Measure:
    """A kind of figure: how a step asks for it, how it is typed, read and then said back.

    `read` gives mm, N·m, turns or degrees, or raises `QuantityFault`.
    """

    name: MeasureName
    example: str
    read: Callable[[object], float]
    understood: Callable[[str], str]


def _turns_understood(text: str) -> str:
    value = turns(text)
    return f"{show_turns(value)} {'turn' if value <= 1 else 'turns'} = {value * 360:g}°"


def _thread_understood(text: str) -> str:
    mm = thread_mm(text)[1]
    return f"pitch {mm / 25.4:.4f} in = {mm:.3f} mm"


_both_lengths, _both_torques = partial(_in_both, LENGTHS), partial(_in_both, TORQUES)
LENGTH = Measure("length", 'like 218.5 mm, 8.150 in or 8.150"', length_mm, _both_lengths)
LASH = Measure("lash", "like 0.30 mm or 0.012 in", length_mm, _both_lengths)
TORQUE = Measure("torque", "like 30 lbf ft or 40 N·m", torque_nm, _both_torques)
TURNS = Measure("turns", "like 5/8, 0.625 or 225°", turns, _turns_understood)
DEGREES = Measure("degrees", "like 37.5°", degrees, lambda text: f"{degrees(text):g}°")
THREAD = Measure(
    "thread", f"like {THREAD_EXAMPLE}", lambda text: thread_mm(text)[1], _thread_understood
)

MEASURES: Mapping[str, Measure] = {
    measure.name: measure for measure in (LENGTH, LASH, TORQUE, TURNS, DEGREES, THREAD)
}
"""Every kind of figure by its name: what can be asked, typed, read and kept."""


def understood(text: str) -> str:
    """Say a length or a torque back, the unit it was typed in first: "8.150 in = 207.01 mm"."""
    try:
        return LENGTH.understood(text)
    except QuantityFault:
        return TORQUE.understood(text)
