"""Figures as the trade writes them, turned into millimeters, newton-meters, turns and degrees.

Number and unit are matched by our own patterns: a user's text never reaches pint, which supplies
the factors of all but the four usual units.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, lru_cache, partial
from itertools import product
from typing import Literal, NamedTuple
from unicodedata import normalize

from heelwise import wording
from heelwise.documents.faults import QuantityFault, quoted
from heelwise.plain_text import one_line
from heelwise.valvetrain.figures import turns_text

# ---------------------------------------- numbers

LONGEST = 60
"""Characters of a quantity; a longer text isn't looked at."""

_NUMBER = re.compile(
    r"(?:(?P<whole>[0-9]{1,9})(?:\s+|\s?-\s?))?(?P<top>[0-9]{1,9})\s?/\s?(?P<bottom>[0-9]{1,9})"
    r"|(?P<decimal>[0-9]{1,20}(?:\.[0-9]{0,20})?|\.[0-9]{1,20})"
)


def typed_number(text: str, example: str) -> tuple[Fraction, str]:
    """Split a text into its exact number and what follows it: "8.150 in", "1-3/4", "1¾ turns".

    No sign, no exponent, a point for decimals. `example`: what would be right, for the fault.
    """
    if len(text) > LONGEST:
        raise _refused(text, "is too long for a quantity", example)
    plain = re.sub("[¼-¾⅐-⅞]", lambda match: f" {normalize('NFKC', match[0])}", text)
    plain = plain.replace("⁄", "/").replace("−", "-").strip()
    if not plain:
        raise QuantityFault("nothing is written", f"write {example}")
    if plain[0] in "+-":
        raise _refused(text, "has a sign", f"it without: {example}")
    if re.search(r"[0-9],[0-9]", plain):
        once = plain.count(",") == 1 and "." not in plain
        raise _refused(text, "has a comma", plain.replace(",", ".") if once else example)
    match = _NUMBER.match(plain)
    if match is None:
        raise _refused(text, "doesn't begin with a number", example)
    whole, top, bottom, decimal = match.groups()
    rest = plain[match.end() :]
    odd = decimal is None and (int(bottom) == 0 or (whole and int(top) >= int(bottom)))
    if odd or rest[:1] in tuple("0123456789._/"):
        raise _refused(text, "isn't a number", example)
    part = Fraction(decimal) if decimal else Fraction(int(top), int(bottom))
    return int(whole or 0) + part, rest.strip()


def _plain_number(typed: object, example: str) -> Fraction:
    if isinstance(typed, bool) or not isinstance(typed, int | float) or not abs(typed) <= 1e9:
        raise _refused(typed, "isn't a number", example)
    return Fraction(typed)


def _refused(typed: object, problem: str, example: str) -> QuantityFault:
    return QuantityFault(f"{quoted(typed)} {problem}", f"write {example}")


# ---------------------------------------- units

_BETWEEN = re.compile(r"[\s·⋅∙•∗*.‐‑‒–-]+")
_MOST = 10_000.0  # mm or N·m


class Unit(NamedTuple):
    """A unit: as shown, as pint reads it, its decimals, and as it may be typed, joined."""

    label: str
    expression: str
    places: int
    names: tuple[str, ...]

    @property
    def factor(self) -> Fraction:
        """What it comes to in mm or N·m."""
        return USUAL_FACTORS.get(self.expression) or factor_by_pint(self.expression)


@dataclass(frozen=True, eq=False)
class Units:
    """The units of one kind of figure, its base unit and the usual inch one first."""

    article: str
    example: str
    units: tuple[Unit, ...]

    def called(self, name: str) -> Unit | None:
        """The unit of a name, however it is spaced."""
        joined = _BETWEEN.sub("", name.casefold())
        return next((unit for unit in self.units if joined in unit.names), None)


def _unit(label: str, expression: str, places: int, *parts: str) -> Unit:
    """Each part lists names; of two parts, a force and its arm, in either order."""
    joined = product(*(part.split() for part in parts))
    names = [name for each in joined for name in ("".join(each), "".join(reversed(each)))]
    return Unit(label, expression, places, tuple(dict.fromkeys(names)))


_M, _CM = "m metre metres meter meters", "cm centimetre centimetres centimeter centimeters"
_IN, _FT = "in ins inch inches", "ft foot feet"
_LB, _KG, _N = "lbf lb lbs pound pounds", "kgf kg kp", "n newton newtons"

LENGTHS = Units(
    "a length",
    "218.5 mm or 8.150 in",
    (
        _unit("mm", "mm", 2, "mm millimetre millimetres millimeter millimeters"),
        _unit("in", "inch", 3, _IN + " \" '' ″ ” “"),
        _unit("thou", "inch / 1000", 1, "thou thous thousandth thousandths"),
        _unit("cm", "10 * mm", 3, _CM),
        _unit("m", "1000 * mm", 5, _M),
        _unit("ft", "12 * inch", 4, _FT),
    ),
)
TORQUES = Units(
    "a torque",
    "40 N·m or 30 lbf ft",
    (
        _unit("N·m", "newton_meter", 1, _N, _M),
        _unit("lbf ft", "12 * pound_inch", 1, _LB, _FT),
        _unit("lbf in", "pound_inch", 0, _LB, _IN),
        _unit("kgf·m", "kilogram_meter", 2, _KG, "m"),
        _unit("kgf·cm", "kilogram_meter / 100", 0, _KG, "cm"),
        _unit("N·cm", "newton_meter / 100", 0, _N, "cm"),
    ),
)
USUAL_FACTORS: Mapping[str, Fraction] = {
    "mm": Fraction(1),
    "inch": Fraction("25.4"),
    "newton_meter": Fraction(1),
    "12 * pound_inch": Fraction("1.3558179483314004"),
}
"""What pint makes of these (a test compares): most records are then opened without its import."""


@cache
def factor_by_pint(expression: str) -> Fraction:
    """What a unit comes to in mm or N·m."""
    from pint import UnitRegistry  # its import takes longer than all else in opening a record

    registry: UnitRegistry[Fraction] = UnitRegistry(None, non_int_type=Fraction)
    for definition in (
        "mm = [length]",
        "inch = 25.4 * mm",  # exact, as are these (NIST SP 811 B.8)
        "newton_meter = [torque]",
        "pound_inch = 4.4482216152605 * 0.0254 * newton_meter",
        "kilogram_meter = 9.80665 * newton_meter",
    ):
        registry.define(definition)
    return Fraction(registry.Quantity(expression).to_base_units().magnitude)


def _read(units: Units, text: object) -> tuple[float, Unit]:
    if not isinstance(text, str):
        raise _refused(text, f"isn't {units.article}", f"text with its unit: {units.example}")
    return _read_text(units, text)


@lru_cache(maxsize=4096)  # a fold reads the same few again and again
def _read_text(units: Units, text: str) -> tuple[float, Unit]:
    number, rest = typed_number(text, units.example)
    unit = units.called(rest)
    if not rest:
        base, usual = (f'"{one_line(text, 24)} {unit.label}"' for unit in units.units[:2])
        raise _refused(text, "has no unit", f"{usual} or {base}")
    if unit is None:
        other = TORQUES if units is LENGTHS else LENGTHS
        problem = f"isn't {units.article}: the unit {quoted(rest)} isn't known"
        if other.called(rest):
            problem = f"is {other.article}, not {units.article}"
        raise _refused(text, problem, units.example)
    value = float(number * unit.factor)
    if value > _MOST:
        problem = f"is too large for {units.article} in an engine"
        raise _refused(text, problem, f"one like {units.example}")
    return value, unit


def _in_both(units: Units, text: str) -> str:
    value, unit = _read(units, text)
    base, usual = units.units[:2]
    return f"{_shown(value, unit)} = {_shown(value, usual if unit is base else base)}"


def _shown(value: float, unit: Unit) -> str:
    return f"{wording.rounded(value / float(unit.factor), unit.places)} {unit.label}"


# ---------------------------------------- lengths and torques


def length_mm(text: object) -> float:
    """Read a length in mm, from 0 to 10 m: "218.5 mm", '8.150"', "3/8 in", "50 thou"."""
    return _read(LENGTHS, text)[0]


def torque_nm(text: object) -> float:
    """Read a torque in N·m, from 0 to 10,000: "30 lbf ft", "25 ft-lb", "250 in-lb", "40 N·m"."""
    return _read(TORQUES, text)[0]


def typed_length(text: str) -> wording.Length:
    """A length that is shown as it was typed, and in the other unit where that is chosen."""
    mm, unit = _read(LENGTHS, text)
    decimals = len(match[1]) if (match := re.search(r"\.([0-9]+)", text)) else 0
    # Below 0.1 mm a hundredth is too coarse to tell one feeler gauge from another.
    fine = decimals >= (3 if unit.label == "mm" else 4) or 0 < mm < 0.1
    return wording.Length(mm, 4 if fine else 3, text, unit.label)


def with_unit(typed: str, unit: str) -> str:
    """Add the unit shown beside the line to a bare number; any other text stays as typed."""
    try:
        rest = typed_number(typed, "")[1]
    except QuantityFault:
        return typed
    return typed if rest else f"{typed.strip()} {unit}"


def show_length(mm: float, unit: str = "in") -> str:
    """Write a length: "8.150 in" to a thousandth, "207.01 mm" to a hundredth."""
    return wording.Length(mm).painted(unit)


def show_torque(nm: float, unit: Literal["lbf ft", "N·m"] = "lbf ft") -> str:
    """Write a torque: "30.0 lbf ft" or "40.7 N·m"."""
    return _shown(nm, TORQUES.units[unit == "lbf ft"])


# ---------------------------------------- threads

_THREAD_EXAMPLE = "M10x1.5, 3/8-24 or 10-32"
_METRIC_THREAD = re.compile(
    r"M\s?(?P<across>[0-9]{1,2}(?:\.[0-9])?)"
    r"(?:\s?[x×*-]\s?(?P<pitch>[0-9](?:\.[0-9]{1,3})?|\.[0-9]{1,3}))?(?:\s?mm)?",
    re.IGNORECASE,
)
_INCH_THREAD = re.compile(
    r"(?:(?:(?P<whole>[0-9])[\s-])?(?P<top>[0-9]{1,2})/(?P<bottom>[1-9][0-9]?)\s?(?:\"|in)?"
    r"|(?:#|no\.?\s?)?(?P<size>[0-68]|10|12)(?=\s?-))"
    r"(?:\s?[-x×–]\s?(?P<count>[1-9][0-9]?))?(?:\s?(?:UNC|UNF|UNEF|UNS|UN))?",
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
    if match := _METRIC_THREAD.fullmatch(name):
        across, pitch = float(match["across"]), float(match["pitch"] or 0)
    elif match := _INCH_THREAD.fullmatch(name):
        whole, top, bottom, size, count = match.groups()
        across = 0.060 + 0.013 * int(size) if size else int(whole or 0) + int(top) / int(bottom)
        across, pitch = 25.4 * across, 25.4 / int(count) if count else 0.0
    if not across:
        comma = " (with a point, no comma)" if "," in name else ""
        raise _refused(text, "isn't a thread with its pitch", f"{_THREAD_EXAMPLE}{comma}")
    if not pitch:
        would_be = f"M{across:g}x1.25" if name[:1] in "Mm" else f"{name}-24"
        raise _refused(text, "doesn't state the thread's pitch", f"it too, like {would_be}")
    if pitch > _STEEPEST * across:
        problem = f"has a pitch of {pitch:.4g} mm on {across:.4g} mm"
        example = f"the diameter first, then the pitch, like {_THREAD_EXAMPLE}"
        raise _refused(text, problem, example)
    return across, pitch


# ---------------------------------------- turns and degrees

_TURNS_EXAMPLE = '"1 1/8", 1.125 or "405°"'
_DEGREES_EXAMPLE = "30 or 30°"
_MOST_TURNS = 20  # "45" and "90" are degrees without their sign
_ANGLES = ("°", "º", "deg", "degs", "degree", "degrees")
_FLATS = ("flat", "flats")
_IN_A_TURN = {
    **dict.fromkeys(("", "turn", "turns", "rev", "revs", "revolution", "revolutions"), 1),
    **dict.fromkeys(_ANGLES, 360),
    **dict.fromkeys(_FLATS, 6),
}
_AND_MORE = re.compile(r"(?:turns?|revs?)\b\s*(?:,|\+|and\b)?\s*(?=[0-9.])", re.IGNORECASE)


def turns(typed: object) -> float:
    """Read turns, 0 to 20: a number, "1 3/4", "1-3/4", "1.75", "630°", "4 flats", "1 turn 90°"."""
    if isinstance(typed, str):
        whole, (number, unit) = Fraction(0), typed_number(typed, _TURNS_EXAMPLE)
        if match := _AND_MORE.match(unit):
            whole, (number, unit) = number, typed_number(unit[match.end() :], _TURNS_EXAMPLE)
        parts = _IN_A_TURN.get(unit.casefold().rstrip("."))
        if parts is None or (match and parts == 1):
            raise _refused(typed, "isn't a number of turns", _TURNS_EXAMPLE)
        value = whole + number / parts
    else:
        value = _plain_number(typed, _TURNS_EXAMPLE)
    if not 0 <= value <= _MOST_TURNS:
        example = f'"{float(value):g}°" for degrees' if value > _MOST_TURNS else _TURNS_EXAMPLE
        raise _refused(typed, f"isn't a number of turns from 0 to {_MOST_TURNS}", example)
    return float(value)


def turns_resolution(typed: str, default: float) -> float:
    """The smallest step a count was read in, in turns, by how it was typed.

    Of degrees 5/360, as a degree wheel or marked socket is read (common practice, no source); of
    whole flats a sixth; of a fraction its own, where finer than the default.
    """
    words = set(re.findall(r"[^\W\d_]+|[°º]", typed.casefold()))
    if words.intersection(_ANGLES):
        return min(5 / 360, default)
    match = re.search(r"/\s*0*([1-9]\d{0,2})", typed)
    parts = int(match[1]) if match else 1
    if words.intersection(_FLATS):
        return 1 / 6 / parts
    return min(1 / parts, default)


def degrees(typed: object) -> float:
    """Read an angle: a number, "30", "30°", "-4.5 deg": a cam retarded, a wheel before TDC."""
    if isinstance(typed, str):
        text = typed.strip().replace("−", "-")
        value, rest = typed_number(text.removeprefix("-"), _DEGREES_EXAMPLE)
        value = -value if text.startswith("-") else value
        if rest and rest.casefold().rstrip(".") not in _ANGLES:
            raise _refused(typed, "isn't an angle", _DEGREES_EXAMPLE)
    else:
        value = _plain_number(typed, _DEGREES_EXAMPLE)
    if abs(value) > 36_000:
        raise _refused(typed, "is too large", _DEGREES_EXAMPLE)
    return float(value)


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
    return f"{turns_text(value)} = {value * 360:g}°"


def _thread_understood(text: str) -> str:
    pitch = thread_mm(text)[1]
    return f"pitch {pitch / 25.4:.4f} in = {pitch:.3f} mm"


_both_lengths, _both_torques = partial(_in_both, LENGTHS), partial(_in_both, TORQUES)
LENGTH = Measure("length", 'like 218.5 mm, 8.150 in or 8.150"', length_mm, _both_lengths)
LASH = Measure("lash", "like 0.30 mm or 0.012 in", length_mm, _both_lengths)
TORQUE = Measure("torque", "like 30 lbf ft or 40 N·m", torque_nm, _both_torques)
TURNS = Measure("turns", "like 5/8, 0.625 or 225°", turns, _turns_understood)
DEGREES = Measure("degrees", "like 37.5°", degrees, lambda text: f"{degrees(text):g}°")
THREAD = Measure(
    "thread", f"like {_THREAD_EXAMPLE}", lambda text: thread_mm(text)[1], _thread_understood
)
MEASURES: Mapping[str, Measure] = {
    each.name: each for each in (LENGTH, LASH, TORQUE, TURNS, DEGREES, THREAD)
}
"""Every kind of figure by its name: what can be asked, typed, read and kept."""
