"""The units this trade writes, by every name it gives them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

_BETWEEN = re.compile(r"[\s·⋅∙•∗*.‐‑‒–-]+")


@dataclass(frozen=True)
class Unit:
    """A unit: as it is shown, as pint reads it, as it may be typed, and its decimals.

    `names`: lower case, words parted by single spaces.
    """

    label: str
    expression: str
    names: tuple[str, ...]
    places: int


@dataclass(frozen=True)
class Units:
    """The units of one kind of figure, its base unit first, and the largest value taken."""

    article: str
    example: str
    most: float
    usual: tuple[str, str]
    units: tuple[Unit, ...]

    def called(self, name: str) -> Unit | None:
        """The unit of a name, however it is spaced."""
        joined = _BETWEEN.sub("", name.casefold())
        return _by_name(self).get(joined)


@cache
def _by_name(units: Units) -> dict[str, Unit]:
    return {name.replace(" ", ""): unit for unit in units.units for name in unit.names}


LENGTHS = Units(
    "a length",
    "218.5 mm or 8.150 in",
    10_000.0,
    ("in", "mm"),
    (
        Unit("mm", "mm", ("mm", "millimetre", "millimetres", "millimeter", "millimeters"), 2),
        Unit("in", "inch", ("in", "ins", "inch", "inches", '"', "''", "″", "”", "“"), 3),
        Unit("thou", "inch / 1000", ("thou", "thous", "thousandth", "thousandths"), 1),
        Unit("cm", "10 * mm", ("cm", "centimetre", "centimetres", "centimeter", "centimeters"), 3),
        Unit("m", "1000 * mm", ("m", "metre", "metres", "meter", "meters"), 5),
        Unit("ft", "12 * inch", ("ft", "foot", "feet"), 4),
    ),
)

TORQUES = Units(
    "a torque",
    "40 N·m or 30 lbf ft",
    10_000.0,
    ("lbf ft", "N·m"),
    (
        Unit(
            "N·m",
            "newton * 1000 * mm",
            ("n m", "newton metre", "newton metres", "newton meter", "newton meters"),
            1,
        ),
        Unit(
            "lbf ft",
            "pound_force * 12 * inch",
            (
                "lbf ft", "lb ft", "lbs ft", "ft lb", "ft lbs", "ft lbf", "foot lb", "foot lbs",
                "foot pound", "foot pounds", "pound foot", "pound feet", "pounds feet",
            ),
            1,
        ),
        Unit(
            "lbf in",
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


def normal(unit: str) -> str:
    """A unit's name in lower case with single spaces between its parts: "ft-lb" is "ft lb"."""
    return _BETWEEN.sub(" ", unit.casefold()).strip()
