"""Numbers, units, threads, turns and angles as the trade types them."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from unicodedata import normalize

from heelwise.documents.faults import QuantityFault, quoted

_BETWEEN = re.compile(r"[\s·⋅∙•∗*.‐‑‒–-]+")


@dataclass(frozen=True)
class Unit:
    """A unit: as shown, as pint reads it, its decimals, and as it may be typed, joined."""

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

    def called(self, name: str) -> Unit | None:
        """The unit of a name, however it is spaced."""
        joined = _BETWEEN.sub("", name.casefold())
        return next((unit for unit in self.units if joined in unit.names), None)


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


LONGEST = 60
"""Characters of a quantity; a longer text isn't looked at."""

_NUMBER = re.compile(
    r"(?P<whole>[0-9]{1,9})(?:\s+|\s?-\s?)(?P<part>[0-9]{1,9})\s?/\s?(?P<of>[0-9]{1,9})"
    r"|(?P<top>[0-9]{1,9})\s?/\s?(?P<bottom>[0-9]{1,9})"
    r"|(?P<decimal>[0-9]{1,20}(?:\.[0-9]{0,20})?|\.[0-9]{1,20})"
)
_PRINTED = re.compile("[¼-¾⅐-⅞]")


def typed_number(text: str, example: str) -> tuple[Fraction, str]:
    """Split a text into its exact number and what follows it: "8.150 in", "1-3/4", "1¾ turns".

    No sign, no exponent, a point for decimals. `example`: what would be right, for the fault.
    """
    if len(text) > LONGEST:
        raise QuantityFault(f"{quoted(text)} is too long for a quantity", f"write {example}")
    plain = _PRINTED.sub(lambda match: f" {normalize('NFKC', match[0])}", text)
    plain = plain.replace("⁄", "/").replace("−", "-").strip()
    if not plain:
        raise QuantityFault("nothing is written", f"write {example}")
    if plain[0] in "+-":
        raise QuantityFault(f"{quoted(text)} has a sign", f"write it without: {example}")
    if re.search(r"[0-9],[0-9]", plain):
        once = plain.count(",") == 1 and "." not in plain
        pointed = plain.replace(",", ".") if once else example
        raise QuantityFault(f"{quoted(text)} has a comma", f"use a point: write {pointed}")
    match = _NUMBER.match(plain)
    if match is None:
        raise QuantityFault(f"{quoted(text)} doesn't begin with a number", f"write {example}")
    number, rest = _value(match), plain[match.end() :]
    if number is None or rest[:1] in tuple("0123456789._/"):
        raise QuantityFault(f"{quoted(text)} isn't a number", f"write {example}")
    return number, rest.strip()


def _value(match: re.Match[str]) -> Fraction | None:
    if match["decimal"] is not None:
        return Fraction(match["decimal"])
    top, bottom = int(match["part"] or match["top"]), int(match["of"] or match["bottom"])
    if bottom == 0 or (match["whole"] and top >= bottom):
        return None
    return int(match["whole"] or 0) + Fraction(top, bottom)


# ---------------------------------------- threads

THREAD_EXAMPLE = "M10x1.5, 3/8-24 or 10-32"
_METRIC = re.compile(
    r"M\s?(?P<across>[0-9]{1,2}(?:\.[0-9])?)"
    r"(?:\s?[x×*-]\s?(?P<pitch>[0-9](?:\.[0-9]{1,3})?|\.[0-9]{1,3}))?(?:\s?mm)?",
    re.IGNORECASE,
)
_SERIES = r"(?:\s?(?:UNC|UNF|UNEF|UNS|UN))?"
_INCH = re.compile(
    r"(?:(?P<whole>[0-9])[\s-])?(?P<top>[0-9]{1,2})/(?P<bottom>[1-9][0-9]?)"
    r'\s?(?:"|in)?(?:\s?[-x×–]\s?(?P<count>[1-9][0-9]?))?' + _SERIES,
    re.IGNORECASE,
)
_NUMBERED = re.compile(
    r"(?:#|no\.?\s?)?(?P<size>0|1|2|3|4|5|6|8|10|12)\s?-\s?(?P<count>[1-9][0-9])" + _SERIES,
    re.IGNORECASE,
)
_STEEPEST = 0.3  # pitch over diameter; a coarse M1 has 0.25, anything above is written wrongly


def thread_mm(text: object) -> tuple[float, float]:
    """Read a thread's diameter and pitch in mm off its name, which must state its pitch.

    "M10x1.5" is in mm, "3/8-24" in inches and threads per inch, "#10-32" a screw's number
    (diameter 0.060 + 0.013 N in, ASME B1.1).
    """
    name = text.strip() if isinstance(text, str) and len(text) <= LONGEST else ""
    across, pitch = 0.0, 0.0
    if match := _METRIC.fullmatch(name):
        across, pitch = float(match["across"]), float(match["pitch"] or 0)
    elif match := _INCH.fullmatch(name):
        across = 25.4 * (int(match["whole"] or 0) + int(match["top"]) / int(match["bottom"]))
        pitch = 25.4 / int(match["count"]) if match["count"] else 0.0
    elif match := _NUMBERED.fullmatch(name):
        across, pitch = 25.4 * (0.060 + 0.013 * int(match["size"])), 25.4 / int(match["count"])
    if not across:
        comma = " (with a point, no comma)" if "," in name else ""
        problem = f"{quoted(text)} isn't a thread with its pitch"
        raise QuantityFault(problem, f"write {THREAD_EXAMPLE}{comma}")
    if not pitch:
        would_be = f"M{across:g}x1.25" if name[:1] in "Mm" else f"{name}-24"
        problem = f"{quoted(text)} doesn't state the thread's pitch"
        raise QuantityFault(problem, f"write it too, like {would_be}")
    if pitch > _STEEPEST * across:
        problem = f"{quoted(text)} has a pitch of {pitch:.4g} mm on {across:.4g} mm"
        instead = f"write the diameter first, then the pitch, like {THREAD_EXAMPLE}"
        raise QuantityFault(problem, instead)
    return across, pitch


# ---------------------------------------- turns and degrees

_TURNS_EXAMPLE = '"1 1/8", 1.125 or "405°"'
_DEGREES_EXAMPLE = "30 or 30°"
_MOST_TURNS = 20  # "45" and "90" are degrees without their sign
_MOST_DEGREES = 36_000
_ANGLES = frozenset({"°", "º", "deg", "degs", "degree", "degrees"})
_FLATS = frozenset({"flat", "flats"})
_WHOLE_TURNS = frozenset({"", "turn", "turns", "rev", "revs", "revolution", "revolutions"})
_PARTS_OF_A_TURN = dict.fromkeys(_ANGLES, 360) | dict.fromkeys(_FLATS, 6)
_AND_MORE = re.compile(r"(?:turns?|revs?)\b\s*(?:,|\+|and\b)?\s*(?=[0-9.])", re.IGNORECASE)


def _plain_number(typed: object, example: str) -> Fraction:
    if isinstance(typed, bool) or not isinstance(typed, int | float) or not abs(typed) <= 1e9:
        raise QuantityFault(f"{quoted(typed)} isn't a number", f"write {example}")
    return Fraction(typed)


def turns(typed: object) -> float:
    """Read turns, 0 to 20: a number, "1 3/4", "1-3/4", "1.75", "630°", "4 flats", "1 turn 90°"."""
    text = isinstance(typed, str)
    value = _turns_of_text(str(typed)) if text else _plain_number(typed, _TURNS_EXAMPLE)
    if not 0 <= value <= _MOST_TURNS:
        in_degrees = f'for degrees write "{float(value):g}°"'
        instead = in_degrees if value > _MOST_TURNS else f"write {_TURNS_EXAMPLE}"
        problem = f"{quoted(typed)} isn't a number of turns from 0 to {_MOST_TURNS}"
        raise QuantityFault(problem, instead)
    return float(value)


def _turns_of_text(text: str) -> Fraction:
    number, rest = typed_number(text, _TURNS_EXAMPLE)
    name = normal(rest)
    if name in _WHOLE_TURNS:
        return number
    if name in _PARTS_OF_A_TURN:
        return number / _PARTS_OF_A_TURN[name]
    match = _AND_MORE.match(rest)
    if match is not None:
        more, unit = typed_number(rest[match.end() :], _TURNS_EXAMPLE)
        if normal(unit) in _PARTS_OF_A_TURN:
            return number + more / _PARTS_OF_A_TURN[normal(unit)]
    raise QuantityFault(f"{quoted(text)} isn't a number of turns", f"write {_TURNS_EXAMPLE}")


def show_turns(value: float) -> str:
    """Write turns: "1 3/8" where it is a whole number of sixteenths, else to a hundredth."""
    sixteenths = round(value * 16)
    if abs(value * 16 - sixteenths) > 1e-6:
        return f"{value:.2f}"
    whole, part = divmod(abs(sixteenths), 16)
    words = [str(whole)] if whole or not part else []
    words += [str(Fraction(part, 16))] if part else []
    return ("-" if sixteenths < 0 else "") + " ".join(words)


DEGREE_WHEEL_TURNS = 5 / 360
"""A degree wheel or marked socket read to the nearest 5° (common practice, no source)."""
_FRACTION = re.compile(r"/\s*(\d{1,3})")


def turns_resolution(typed: str, default: float) -> float:
    """The smallest step a count was read in, in turns, by how it was typed.

    Of degrees 5/360; of whole flats a sixth; of a fraction its own, where finer than the default.
    """
    words = {normal(word) for word in re.findall(r"[^\W\d_]+|[°º]", typed)}
    if words & _ANGLES:
        return min(DEGREE_WHEEL_TURNS, default)
    parts = int(match[1]) if (match := _FRACTION.search(typed)) else None
    if parts == 0:
        raise QuantityFault(f"{quoted(typed)} divides by zero", f"write {_TURNS_EXAMPLE}")
    if words & _FLATS:
        return 1 / 6 / (parts or 1)
    return default if parts is None else min(1 / parts, default)


def degrees(typed: object) -> float:
    """Read an angle: a number, "30", "30°", "-4.5 deg": a cam retarded, a wheel before TDC."""
    if isinstance(typed, str):
        text = typed.strip().replace("−", "-")
        value, rest = typed_number(text.removeprefix("-"), _DEGREES_EXAMPLE)
        value = -value if text.startswith("-") else value
        if rest and normal(rest) not in _ANGLES:
            raise QuantityFault(f"{quoted(typed)} isn't an angle", f"write {_DEGREES_EXAMPLE}")
    else:
        value = _plain_number(typed, _DEGREES_EXAMPLE)
    if abs(value) > _MOST_DEGREES:
        raise QuantityFault(f"{quoted(typed)} is too large", f"write {_DEGREES_EXAMPLE}")
    return float(value)
