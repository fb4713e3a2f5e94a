"""Numbers as the trade types them: decimals and fractions, matched by one pattern."""

import re
from fractions import Fraction

from heelwise.documents.faults import quoted

LONGEST = 60
"""Characters of a quantity; a longer text isn't looked at."""

_NUMBER = re.compile(
    r"(?P<whole>[0-9]{1,9})(?:\s+|\s?-\s?)(?P<part>[0-9]{1,9})\s?/\s?(?P<of>[0-9]{1,9})"
    r"|(?P<top>[0-9]{1,9})\s?/\s?(?P<bottom>[0-9]{1,9})"
    r"|(?P<decimal>[0-9]{1,20}(?:\.[0-9]{0,20})?|\.[0-9]{1,20})"
)
_COMMA = re.compile(r"[0-9],[0-9]")
_POWER_OF_TEN = re.compile(r"[0-9.][eE][+-]?[0-9]")
_NO_NUMBER = re.compile(r"[+-]?(?:nan|inf|infinity)\b", re.IGNORECASE)
_PRINTED_FRACTIONS = {
    "¼": "1/4",
    "½": "1/2",
    "¾": "3/4",
    "⅓": "1/3",
    "⅔": "2/3",
    "⅛": "1/8",
    "⅜": "3/8",
    "⅝": "5/8",
    "⅞": "7/8",
    "⁄": "/",
    "−": "-",
}


class QuantityFault(ValueError):
    """A text that is no quantity of the kind wanted.

    Attributes:
        problem: What is wrong, in plain words.
        instead: What would be right.
    """

    def __init__(self, problem: str, instead: str) -> None:
        super().__init__(f"{problem}; {instead}")
        self.problem = problem
        self.instead = instead


def typed_number(text: str, example: str) -> tuple[Fraction, str]:
    """Split a text into its number and what follows it.

    Args:
        text: "7.400 in", "1-3/4", "3/8 in", "1¾ turns"; no sign, no exponent, a point for decimals.
        example: What would be right, for the fault.

    Returns:
        The number, exact, and the rest of the text without the spaces around it.

    Raises:
        QuantityFault: If the text doesn't begin with such a number, or is too long.
    """
    if len(text) > LONGEST:
        raise QuantityFault(f"{quoted(text)} is too long for a quantity", f"write {example}")
    ascii_text = _with_plain_fractions(text).strip()
    _refuse_odd_numbers(text, ascii_text, example)
    found = _NUMBER.match(ascii_text)
    if found is None:
        raise QuantityFault(f"{quoted(text)} doesn't begin with a number", f"write {example}")
    rest = ascii_text[found.end() :]
    if rest[:1] in tuple("0123456789._/"):
        raise QuantityFault(f"{quoted(text)} is no number", f"write {example}")
    return _value(found, text, example), rest.strip()


def _with_plain_fractions(text: str) -> str:
    if text.isascii():
        return text
    for printed, written in _PRINTED_FRACTIONS.items():
        spaced = f" {written}" if written[0].isdigit() else written
        text = text.replace(printed, spaced)
    return text


def _refuse_odd_numbers(text: str, ascii_text: str, example: str) -> None:
    if not ascii_text:
        raise QuantityFault("nothing is written", f"write {example}")
    if ascii_text[0] in "+-":
        raise QuantityFault(f"{quoted(text)} has a sign", f"leave the sign out: {example}")
    if _COMMA.search(ascii_text):
        once = ascii_text.count(",") == 1 and "." not in ascii_text
        pointed = ascii_text.replace(",", ".") if once else example
        raise QuantityFault(f"{quoted(text)} has a comma", f"use a point: write {pointed}")
    if _POWER_OF_TEN.search(ascii_text):
        raise QuantityFault(f"{quoted(text)} has an exponent", f"write it out: {example}")
    if _NO_NUMBER.match(ascii_text):
        raise QuantityFault(f"{quoted(text)} is no number", f"write {example}")


def _value(found: re.Match[str], text: str, example: str) -> Fraction:
    if found["decimal"] is not None:
        return Fraction(found["decimal"])
    top, bottom = int(found["part"] or found["top"]), int(found["of"] or found["bottom"])
    if bottom == 0:
        raise QuantityFault(f"{quoted(text)} divides by zero", f"write {example}")
    if found["whole"] is None:
        return Fraction(top, bottom)
    if top >= bottom:
        raise QuantityFault(
            f"{quoted(text)} has a fraction of one or more beside a whole number",
            f"write {example}",
        )
    return int(found["whole"]) + Fraction(top, bottom)
