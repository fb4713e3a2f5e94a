"""Quantities as the trade writes them, turned into millimetres, newton-metres, turns, degrees.

The number is matched by our own pattern and the unit against our own list. Only then is a factor
looked up: the four usual units' in our own table, any other's with pint, which a user's text never
reaches.
"""

import re
from fractions import Fraction
from functools import cache, lru_cache
from typing import TYPE_CHECKING

from heelwise.documents.faults import quoted
from heelwise.documents.threads import thread_pitch_mm
from heelwise.documents.typed_numbers import QuantityFault, typed_number
from heelwise.documents.unit_names import (
    ANGLE_NAMES,
    LENGTH,
    PARTS_OF_A_TURN,
    TORQUE,
    WHOLE_TURNS,
    Measure,
    Unit,
    bare_number,
    normal,
    unit_of,
)
from heelwise.valvetrain.figures import rounded

if TYPE_CHECKING:
    from pint import UnitRegistry

__all__ = [
    "QuantityFault",
    "degrees",
    "length_mm",
    "show_length",
    "show_torque",
    "show_turns",
    "thread_pitch_mm",
    "torque_nm",
    "turns",
    "understood",
]

_DEFINITIONS = (
    "mm = [length]",
    "newton = [force]",
    "inch = 25.4 * mm",  # exact, NIST SP 811 B.8
    "pound_force = 4.4482216152605 * newton",  # exact, NIST SP 811 B.8
    "kilogram_force = 9.80665 * newton",  # exact, NIST SP 811 B.8
)
_INCH = Fraction("25.4")
_USUAL = {
    "mm": Fraction(1),
    "inch": _INCH,
    "newton * 1000 * mm": Fraction(1000),
    "pound_force * 12 * inch": Fraction("4.4482216152605") * 12 * _INCH,
}
"""What pint makes of these (a test compares): most records are then opened without its import."""
_TURNS_EXAMPLE = '"1 3/4", 1.75 or "630°"'
_DEGREES_EXAMPLE = "30 or 30°"
_MOST_TURNS = 20  # "45" and "90" are degrees without their sign
_MOST_DEGREES = 36_000
_AND_MORE = re.compile(r"(?:turns?|revs?)\b\s*(?:,|\+|and\b)?\s*(?=[0-9.])", re.IGNORECASE)


@cache
def _registry() -> "UnitRegistry[Fraction]":
    from pint import UnitRegistry  # its import takes longer than all else in opening a record

    registry: UnitRegistry[Fraction] = UnitRegistry(None, non_int_type=Fraction)
    for definition in _DEFINITIONS:
        registry.define(definition)
    return registry


@cache
def _in_base(expression: str) -> Fraction:
    return _USUAL.get(expression) or _by_pint(expression)


def _by_pint(expression: str) -> Fraction:
    return Fraction(_registry().Quantity(expression).to_base_units().magnitude)


def _factor(measure: Measure, unit: Unit) -> Fraction:
    return _in_base(unit.expression) / _in_base(measure.units[0].expression)


def _read(measure: Measure, text: object) -> tuple[Fraction, Unit]:
    if not isinstance(text, str):
        if isinstance(text, int | float) and not isinstance(text, bool):
            raise bare_number(measure, text)
        problem = f"{quoted(text)} stands where {measure.name} is wanted"
        raise QuantityFault(problem, f"write text with its unit: {measure.example}")
    number, rest = typed_number(text, measure.example)
    unit = unit_of(measure, rest, text)
    if number * _factor(measure, unit) > measure.most:
        problem = f"{quoted(text)} is too large for {measure.name} in an engine"
        raise QuantityFault(problem, f"write one like {measure.example}")
    return number, unit


def length_mm(text: object) -> float:
    """Read a length.

    Args:
        text: "7.400 in", '7.400"', "187.96 mm", "3/8 in", "50 thou"; from 0 to 10 m.

    Returns:
        The length in mm.

    Raises:
        QuantityFault: If it is no such text: a bare number, a unit not known, a sign, a decimal
            comma, an exponent, too large.
    """
    return _length(text) if isinstance(text, str) else float(_read(LENGTH, text)[0])


def mm_or_none(typed: object) -> float | None:
    """Read a length where one can be read: what is wrong with it is told elsewhere.

    Args:
        typed: As for `length_mm`, or anything else.

    Returns:
        The length in mm; None where it is none.
    """
    try:
        return None if typed is None else length_mm(typed)
    except QuantityFault:
        return None


@lru_cache(maxsize=4096)
def _length(text: str) -> float:
    # A fold reads the same few lengths again and again.
    number, unit = _read(LENGTH, text)
    return float(number * _factor(LENGTH, unit))


def torque_nm(text: object) -> float:
    """Read a torque.

    Args:
        text: "21 lbf ft", "25 ft-lb", "250 in-lb", "34 N·m", "3.4 kgf m"; from 0 to 10,000 N·m.

    Returns:
        The torque in N·m.

    Raises:
        QuantityFault: As for `length_mm`.
    """
    number, unit = _read(TORQUE, text)
    return float(number * _factor(TORQUE, unit))


def turns(typed: object) -> float:
    """Read turns of a bolt, nut or screw.

    Args:
        typed: A number, or text: "1 3/4", "1-3/4", "1.75", "630°", "4 flats", "1 turn 90°".

    Returns:
        Turns, from 0 to 20.

    Raises:
        QuantityFault: If it is nothing of the kind.
    """
    value = _plain_number(typed, _TURNS_EXAMPLE)
    if value is None:
        assert isinstance(typed, str)
        value = _turns_of_text(typed)
    if not 0 <= value <= _MOST_TURNS:
        in_degrees = f'for degrees write "{float(value):g}°"'
        hint = in_degrees if value > _MOST_TURNS else f"write {_TURNS_EXAMPLE}"
        raise QuantityFault(f"{quoted(typed)} is no number of turns from 0 to {_MOST_TURNS}", hint)
    return float(value)


def _plain_number(typed: object, example: str) -> Fraction | None:
    """The number itself where one was given; None for text."""
    if isinstance(typed, str):
        return None
    if isinstance(typed, bool) or not isinstance(typed, int | float):
        raise QuantityFault(f"{quoted(typed)} is no number", f"write {example}")
    if typed != typed or abs(typed) > 1e9:
        raise QuantityFault(f"{quoted(typed)} is no number to work with", f"write {example}")
    return Fraction(typed)


def _turns_of_text(text: str) -> Fraction:
    number, rest = typed_number(text, _TURNS_EXAMPLE)
    name = normal(rest)
    if not name or name in WHOLE_TURNS:
        return number
    if name in PARTS_OF_A_TURN:
        return number / PARTS_OF_A_TURN[name]
    found = _AND_MORE.match(rest)
    if found is not None:
        more, unit = typed_number(rest[found.end() :], _TURNS_EXAMPLE)
        if normal(unit) in PARTS_OF_A_TURN:
            return number + more / PARTS_OF_A_TURN[normal(unit)]
    raise QuantityFault(f"{quoted(text)} is no number of turns", f"write {_TURNS_EXAMPLE}")


def degrees(typed: object) -> float:
    """Read an angle.

    Args:
        typed: A number, or text with or without a unit: "30", "30°", "-4.5 deg".

    Returns:
        Degrees; a minus sign is taken here (a cam retarded, a wheel read before TDC).

    Raises:
        QuantityFault: If it is nothing of the kind, or larger than 36,000.
    """
    value = _plain_number(typed, _DEGREES_EXAMPLE)
    if value is None:
        assert isinstance(typed, str)
        text = typed.strip().replace("−", "-")
        minus = text.startswith("-")
        number, rest = typed_number(text[1:] if minus else text, _DEGREES_EXAMPLE)
        if rest and normal(rest) not in ANGLE_NAMES:
            raise QuantityFault(f"{quoted(typed)} is no angle", f"write {_DEGREES_EXAMPLE}")
        value = -number if minus else number
    if abs(value) > _MOST_DEGREES:
        raise QuantityFault(f"{quoted(typed)} is too large", f"write {_DEGREES_EXAMPLE}")
    return float(value)


def _unit_called(measure: Measure, name: str) -> Unit:
    return unit_of(measure, name, name)


def _shown(measure: Measure, value: float, unit: Unit) -> str:
    number = rounded(value / float(_factor(measure, unit)), unit.places)
    return f"{number} {unit.label}"


def show_length(mm: float, unit: str = "in") -> str:
    """Write a length.

    Args:
        mm: The length in mm.
        unit: "in" (to a thousandth) or "mm" (to a hundredth); any name of a length's unit.

    Returns:
        "7.400 in" or "187.96 mm".

    Raises:
        QuantityFault: If the unit isn't known.
    """
    return _shown(LENGTH, mm, _unit_called(LENGTH, unit))


def show_torque(nm: float, unit: str = "lbf ft") -> str:
    """Write a torque.

    Args:
        nm: The torque in N·m.
        unit: "lbf ft" or "N·m"; any name of a torque's unit.

    Returns:
        "21.0 lbf·ft" or "28.5 N·m".

    Raises:
        QuantityFault: If the unit isn't known.
    """
    return _shown(TORQUE, nm, _unit_called(TORQUE, unit))


def show_turns(value: float) -> str:
    """Write turns as the trade says them.

    Args:
        value: Turns.

    Returns:
        "1 3/8" where it is a whole number of sixteenths, otherwise a decimal to a hundredth.
    """
    sixteenths = round(value * 16)
    if abs(value * 16 - sixteenths) > 1e-6:
        return f"{value:.2f}"
    sign = "-" if sixteenths < 0 else ""
    whole, part = divmod(abs(sixteenths), 16)
    if part == 0:
        return f"{sign}{whole}"
    fraction = Fraction(part, 16)
    written = f"{fraction.numerator}/{fraction.denominator}"
    return f"{sign}{whole} {written}" if whole else f"{sign}{written}"


def understood(text: str) -> str:
    """Say a quantity back in inches and millimetres, or lbf·ft and N·m.

    Args:
        text: A length or a torque as typed.

    Returns:
        "7.400 in = 187.96 mm"; the unit it was typed in first.

    Raises:
        QuantityFault: If it is neither.
    """
    try:
        measure, (number, unit) = LENGTH, _read(LENGTH, text)
    except QuantityFault:
        measure, (number, unit) = TORQUE, _read(TORQUE, text)
    base = measure.units[0]
    against = measure.units[1] if unit is base else base
    value = float(number * _factor(measure, unit))
    return f"{_shown(measure, value, unit)} = {_shown(measure, value, against)}"
