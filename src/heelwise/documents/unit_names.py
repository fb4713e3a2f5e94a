"""The units this trade writes, by every name it gives them, and matched before anything else."""

import re
from dataclasses import dataclass

from heelwise.documents.faults import quoted
from heelwise.documents.typed_numbers import QuantityFault
from heelwise.plain_text import one_line

_BETWEEN = re.compile(r"[\s·⋅∙•∗*.‐‑‒–-]+")


@dataclass(frozen=True)
class Unit:
    """One unit.

    Attributes:
        label: As it is shown.
        expression: As pint reads it, from our own definitions.
        names: As it may be written, words parted by single spaces, lower case.
        places: Decimals it is shown with.
    """

    label: str
    expression: str
    names: tuple[str, ...]
    places: int


@dataclass(frozen=True)
class Measure:
    """A kind of quantity: its units, the first of them its base, and the largest value sensible.

    Attributes:
        name: With its article: "a length".
        example: What would be right, with two units.
        most: The largest value taken, in the base unit.
        units: The units it can be written in.
    """

    name: str
    example: str
    most: float
    units: tuple[Unit, ...]


LENGTH = Measure(
    "a length",
    "7.400 in or 187.96 mm",
    10_000.0,
    (
        Unit("mm", "mm", ("mm", "millimetre", "millimetres", "millimeter", "millimeters"), 2),
        Unit("in", "inch", ("in", "ins", "inch", "inches", '"', "''", "″", "”", "“"), 3),
        Unit("thou", "inch / 1000", ("thou", "thous", "thousandth", "thousandths"), 1),
        Unit("cm", "10 * mm", ("cm", "centimetre", "centimetres", "centimeter", "centimeters"), 3),
        Unit("m", "1000 * mm", ("m", "metre", "metres", "meter", "meters"), 5),
        Unit("ft", "12 * inch", ("ft", "foot", "feet"), 4),
    ),
)

TORQUE = Measure(
    "a torque",
    "21 lbf ft or 28 N·m",
    10_000.0,
    (
        Unit(
            "N·m",
            "newton * 1000 * mm",
            ("n m", "newton metre", "newton metres", "newton meter", "newton meters"),
            1,
        ),
        Unit(
            "lbf·ft",
            "pound_force * 12 * inch",
            (
                "lbf ft", "lb ft", "lbs ft", "ft lb", "ft lbs", "ft lbf", "foot lb", "foot lbs",
                "foot pound", "foot pounds", "pound foot", "pound feet", "pounds feet",
            ),
            1,
        ),
        Unit(
            "lbf·in",
            "pound_force * inch",
            (
                "lbf in", "lb in", "lbs in", "in lb", "in lbs", "in lbf", "inch lb", "inch lbs",
                "inch pound", "inch pounds", "pound inch", "pound inches",
            ),
            0,
        ),
        Unit("kgf·m", "kilogram_force * 1000 * mm", ("kgf m", "kg m", "kp m", "m kg", "m kgf"), 2),
        Unit("kgf·cm", "kilogram_force * 10 * mm", ("kgf cm", "kg cm", "kp cm"), 0),
        Unit("N·cm", "newton * 10 * mm", ("n cm",), 0),
    ),
)  # fmt: skip

_ANGLES = ("°", "º", "deg", "degs", "degree", "degrees")
_TURNS = ("turn", "turns", "rev", "revs", "revolution", "revolutions")
_FLATS = ("flat", "flats")
PARTS_OF_A_TURN = dict.fromkeys(_ANGLES, 360) | dict.fromkeys(_FLATS, 6)
"""Units smaller than a turn, and how many of them make one (a hexagon has six flats)."""
WHOLE_TURNS = frozenset(_TURNS)
ANGLE_NAMES = frozenset(_ANGLES)


def normal(text: str) -> str:
    """Write a unit's name in lower case with single spaces between its parts.

    Args:
        text: As typed: "ft-lb", "N·m", "lb.-ft.".

    Returns:
        "ft lb", "n m", "lb ft".
    """
    return _BETWEEN.sub(" ", text.casefold()).strip()


def _by_name(measure: Measure) -> dict[str, Unit]:
    named = {name: unit for unit in measure.units for name in unit.names}
    return {name.replace(" ", ""): unit for name, unit in named.items()} | named


_LENGTHS = _by_name(LENGTH)
_TORQUES = _by_name(TORQUE)


def unit_of(measure: Measure, text: str, whole: str) -> Unit:
    """Find the unit a text names.

    Args:
        measure: LENGTH or TORQUE.
        text: What follows the number.
        whole: The whole quantity as typed, for the fault.

    Returns:
        The unit.

    Raises:
        QuantityFault: If there is none, or it measures something else.
    """
    mine, other = (_LENGTHS, _TORQUES) if measure is LENGTH else (_TORQUES, _LENGTHS)
    name = normal(text)
    if name in mine:
        return mine[name]
    if not text:
        raise bare_number(measure, whole)
    if name in other:
        problem = f"{quoted(whole)} is {_other(measure).name}, not {measure.name}"
        raise QuantityFault(problem, f"write {measure.example}")
    problem = f"{quoted(whole)} is no {measure.name.split()[-1]}: unit {quoted(text)} isn't known"
    raise QuantityFault(problem, f"write {measure.example}")


def bare_number(measure: Measure, typed: object) -> QuantityFault:
    """Say that a unit is wanted.

    Args:
        measure: LENGTH or TORQUE.
        typed: The number alone, as typed.

    Returns:
        The fault, to be raised; it shows the number with each of the two usual units.
    """
    number = one_line(str(typed), 24)
    units = ("in", "mm") if measure is LENGTH else ("lbf ft", "N·m")
    would_be = " or ".join(f'"{number} {unit}"' for unit in units)
    problem = f"{quoted(typed)} is a bare number where {measure.name} is wanted"
    return QuantityFault(problem, f"write its unit too: {would_be}")


def _other(measure: Measure) -> Measure:
    return TORQUE if measure is LENGTH else LENGTH
