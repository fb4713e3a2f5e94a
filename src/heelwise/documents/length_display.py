"""Lengths in a text written in the unit a person likes to read; nothing kept is changed by it."""

from __future__ import annotations

import re
from fractions import Fraction

from heelwise.documents.faults import QuantityFault
from heelwise.documents.typed_numbers import LENGTHS, typed_number
from heelwise.wording import Text

AS_WRITTEN = ""
INCHES, MILLIMETRES = "in", "mm"

_IN_MM = {
    "mm": Fraction(1),
    "in": Fraction(254, 10),  # exact, NIST SP 811 B.8
    "thou": Fraction(254, 10_000),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "ft": Fraction(3048, 10),
}
_FINE_MM = 0.1
"""Below this many millimetres a hundredth is too coarse to tell one feeler gauge from another."""

_NUMBER = r"[0-9]{1,6}\.[0-9]{1,6}"
_UNIT = r"(?:\s(?:in(?:ch(?:es)?)?|mm)|[\"″])"
_NO_MORE = r"(?![\w·/]|\.\w)(?!(?:-|\s)(?:lbf?s?|pounds?)\b)"
"""A torque in in-lb, a file's ending."""
_LENGTH = re.compile(
    r"(?<![\w./°,\"″])(?<!\w[-–×])"  # a thread, a range, a part of a name
    rf"(?P<number>{_NUMBER})(?P<unit>{_UNIT}){_NO_MORE}"
)
_IN_A_ROW = re.compile(
    r"\s(?:the|an|a(?!\sturn)|one|two|this|that|these|each|every|its|all|any|which|order|place)\b"
)
"""What makes "in" a word and no unit, after a number of fewer decimals than a length is written."""
_WRITTEN_PLACES = 3
_SHARED = re.compile(rf"[0-9](?:\s(?:to|or)\s|\s?[-–]\s?)$|{_NUMBER}(?:\sand\s|\s?[,/]\s?)$")
"""A number before that has the unit of the one that follows: both are left as they are."""
_AND_THE_OTHER = re.compile(r"\s?(?:=|\(|or|/|,)\s?$")


def other_unit(unit: str) -> str:
    """The unit that the key for it brings next.

    Args:
        unit: AS_WRITTEN, INCHES or MILLIMETRES. This program writes inches.

    Returns:
        MILLIMETRES, or INCHES where those are shown.
    """
    return INCHES if unit == MILLIMETRES else MILLIMETRES


def in_unit(text: str, unit: str) -> str:
    """Write the lengths in a text in one unit.

    Only decimal numbers with their unit are taken for lengths. A length that stands beside the
    same length in the other unit is left, and so is one that shares its unit with a number before
    it ("0.014 to 0.016 in").

    Args:
        text: A sentence or a figure of this program's: "try 7.400 in".
        unit: INCHES or MILLIMETRES; AS_WRITTEN changes nothing.

    Returns:
        "try 187.96 mm". Inches become hundredths of a millimetre, thousandths where the inches
        had four decimals or the length is under a tenth of a millimetre; millimetres become
        thousandths of an inch, ten-thousandths where they had three decimals.
    """
    if isinstance(text, Text):
        return text.painted(unit or INCHES)
    if unit == AS_WRITTEN:
        return text
    found = [one for one in _LENGTH.finditer(text) if _is_length(text, one)]
    parts, at = [], 0
    for here, before, after in zip(found, [None, *found], [*found[1:], None], strict=False):
        parts.append(text[at : here.start()])
        told = _told_twice(text, before, here) or _told_twice(text, here, after)
        parts.append(here[0] if told or _shares(text, here) else _written(here, unit))
        at = here.end()
    return "".join([*parts, text[at:]])


def with_other(typed: str, unit: str) -> str:
    """A length as it was typed, and after it the same in the unit asked for.

    Args:
        typed: A reading: "7.400 in", "7 3/8 in", "50 thou".
        unit: INCHES, MILLIMETRES or AS_WRITTEN.

    Returns:
        "7.400 in = 187.96 mm"; as typed if it is in that unit already, or is no length.
    """
    found = _read(typed)
    if unit == AS_WRITTEN or found is None or found[1] == unit:
        return typed
    return f"{typed} = {_shown(*found, unit)}"


def number_in(typed: str, unit: str) -> str:
    """The number of a length alone, for where the unit is told elsewhere.

    Args:
        typed: A reading: "0.015 in".
        unit: INCHES, MILLIMETRES or AS_WRITTEN.

    Returns:
        "0.38" in millimetres; the number as typed where it is in that unit already.
    """
    found = _read(typed)
    if unit == AS_WRITTEN or found is None or found[1] == unit:
        return typed.split()[0]
    return _shown(*found, unit).split()[0]


def _read(typed: str) -> tuple[Fraction, str, int] | None:
    """Number, unit and decimals of a text that is a length and nothing else."""
    try:
        number, rest = typed_number(typed, LENGTHS.example)
    except QuantityFault:
        return None
    unit = LENGTHS.called(rest)
    if unit is None:
        return None
    label = unit.label
    decimals = re.search(r"\.([0-9]+)", typed)
    return number, label, len(decimals[1]) if decimals else 0


def _is_length(text: str, found: re.Match[str]) -> bool:
    if found["unit"].strip() != INCHES or len(found["number"].partition(".")[2]) >= _WRITTEN_PLACES:
        return True
    return _IN_A_ROW.match(text, found.end()) is None


def _unit_of(found: re.Match[str]) -> str:
    return MILLIMETRES if found["unit"].strip() == MILLIMETRES else INCHES


def _written(found: re.Match[str], unit: str) -> str:
    here = _unit_of(found)
    if here == unit:
        return found[0]
    places = len(found["number"].partition(".")[2])
    return _shown(Fraction(found["number"]), here, places, unit)


def _shown(number: Fraction, label: str, places: int, unit: str) -> str:
    from heelwise.wording import rounded  # the bench is painted without it

    mm = float(number * _IN_MM[label])
    if unit == MILLIMETRES:
        fine = (label == INCHES and places >= 4) or 0 < mm < _FINE_MM
        return f"{rounded(mm, 3 if fine else 2)} mm"
    fine = label == MILLIMETRES and places >= 3
    return f"{rounded(mm / float(_IN_MM[INCHES]), 4 if fine else 3)} in"


def _shares(text: str, found: re.Match[str]) -> bool:
    return _SHARED.search(text, max(found.start() - 24, 0), found.start()) is not None


def _told_twice(text: str, one: re.Match[str] | None, next_: re.Match[str] | None) -> bool:
    """Whether two neighbours are one length in both units."""
    if one is None or next_ is None or _unit_of(one) == _unit_of(next_):
        return False
    if _AND_THE_OTHER.fullmatch(text, one.end(), next_.start()) is None:
        return False
    (mm, slack), (other_mm, other_slack) = _mm_and_slack(one), _mm_and_slack(next_)
    return abs(mm - other_mm) <= slack + other_slack


def _mm_and_slack(found: re.Match[str]) -> tuple[float, float]:
    factor = float(_IN_MM[_unit_of(found)])
    places = len(found["number"].partition(".")[2])
    return float(found["number"]) * factor, factor * 10.0**-places
