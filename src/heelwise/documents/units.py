"""The units this trade writes, by every name it gives them."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

_BETWEEN = re.compile(r"[\s·⋅∙•∗*.‐‑‒–-]+")


@dataclass(frozen=True)
class Unit:
    """A unit: as it is shown, as pint reads it, its decimals, and as it may be typed.

    `names`: lower case, joined without what stands between their parts.
    """

    label: str
    expression: str
    places: int
    names: tuple[str, ...]


@dataclass(frozen=True)
class Units:
    """The units of one kind of figure, its base unit first, and the largest value taken."""

    article: str
    example: str
    most: float
    usual: tuple[str, str]
    units: tuple[Unit, ...]

    @cached_property
    def _by_name(self) -> dict[str, Unit]:
        return {name: unit for unit in self.units for name in unit.names}

    def called(self, name: str) -> Unit | None:
        """The unit of a name, however it is spaced."""
        return self._by_name.get(_BETWEEN.sub("", name.casefold()))


def normal(unit: str) -> str:
    """A unit's name in lower case with single spaces between its parts: "ft-lb" is "ft lb"."""
    return _BETWEEN.sub(" ", unit.casefold()).strip()


_MM = ("mm", "millimetre", "millimetres", "millimeter", "millimeters")
_CM = ("cm", "centimetre", "centimetres", "centimeter", "centimeters")
_M = ("m", "metre", "metres", "meter", "meters")
_IN, _FT = ("in", "ins", "inch", "inches"), ("ft", "foot", "feet")
_LB, _KG = ("lbf", "lb", "lbs", "pound", "pounds"), ("kgf", "kg", "kp")


def _either_order(forces: Iterable[str], arms: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(name for force in forces for arm in arms for name in (force + arm, arm + force))


LENGTHS = Units(
    "a length",
    "218.5 mm or 8.150 in",
    10_000.0,
    ("in", "mm"),
    (
        Unit("mm", "mm", 2, _MM),
        Unit("in", "inch", 3, (*_IN, '"', "''", "″", "”", "“")),
        Unit("thou", "inch / 1000", 1, ("thou", "thous", "thousandth", "thousandths")),
        Unit("cm", "10 * mm", 3, _CM),
        Unit("m", "1000 * mm", 5, _M),
        Unit("ft", "12 * inch", 4, _FT),
    ),
)
TORQUES = Units(
    "a torque",
    "40 N·m or 30 lbf ft",
    10_000.0,
    ("lbf ft", "N·m"),
    (
        Unit("N·m", "newton * 1000 * mm", 1, ("nm", *(f"newton{m}" for m in _M))),
        Unit("lbf ft", "pound_force * 12 * inch", 1, _either_order(_LB, _FT)),
        Unit("lbf in", "pound_force * inch", 0, _either_order(_LB, _IN)),
        Unit("kgf·m", "kilogram_force * 1000 * mm", 2, _either_order(_KG, ("m",))),
        Unit("kgf·cm", "kilogram_force * 10 * mm", 0, _either_order(_KG, ("cm",))),
        Unit("N·cm", "newton * 10 * mm", 0, ("ncm",)),
    ),
)
