"""Sentences that keep their lengths as numbers until they are painted in a unit.

Free to every package, like `plain_text`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, copysign, floor, isclose
from string import Formatter

INCHES, MILLIMETERS, BOTH = "in", "mm", ""
"""The units a sentence can be painted in; BOTH: inches, then millimeters in brackets."""

MM_PER_INCH = 25.4
"""Exactly (NIST SP 811, Appendix B.8)."""


def rounded(value: float, places: int) -> str:
    """Write a number to so many decimals, a half away from zero however it was added up."""
    return f"{value + copysign(5e-10, value):.{places}f}"  # 7.375 in is 187.33 mm everywhere


@dataclass(frozen=True)
class Length:
    """A length in a sentence.

    `places`: decimals in inches; millimeters get one fewer. `typed`: the text it was typed as,
    which is shown untouched, with the other unit beside it where that is asked for.
    """

    mm: float
    places: int = 3
    typed: str = ""
    typed_unit: str = ""

    def painted(self, unit: str) -> str:
        """The length in a unit, or in both."""
        if self.typed:
            same = unit in (BOTH, self.typed_unit)
            return self.typed if same else f"{self.typed} = {self._number(unit)}"
        if unit == BOTH:
            return f"{self._number(INCHES)} ({self._number(MILLIMETERS)})"
        return self._number(unit)

    def _number(self, unit: str) -> str:
        if unit == MILLIMETERS:
            return f"{rounded(self.mm, self.places - 1)} mm"
        return f"{rounded(self.mm / MM_PER_INCH, self.places)} in"

    def __str__(self) -> str:
        return self.painted(BOTH)


Part = str | Length


class Text(str):
    """A sentence with lengths in it. As a plain `str` it reads in both units."""

    parts: tuple[Part, ...]

    def __new__(cls, *parts: Part) -> Text:
        """Put parts together; the parts of a `Text` among them are kept."""
        flat = tuple(
            inner for part in parts for inner in (part.parts if isinstance(part, Text) else (part,))
        )
        made = super().__new__(cls, "".join(map(str, flat)))
        made.parts = flat
        return made

    def painted(self, unit: str) -> str:
        """The sentence with every length in one unit."""
        return "".join(p.painted(unit) if isinstance(p, Length) else p for p in self.parts)

    def __add__(self, other: str) -> Text:
        return Text(self, other)

    def __radd__(self, other: str) -> Text:
        return Text(other, self)


def text(template: str, *values: object, **named: object) -> Text:
    """Fill a template like "try {}: expect {turns:.2f}", keeping lengths and texts put into it."""
    parts: list[Part] = []
    given = iter(values)
    for literal, field, spec, _ in Formatter().parse(template):
        parts.append(literal)
        if field is not None:
            value = named[field] if field else next(given)
            shown = value if isinstance(value, Length | Text) else format(value, spec or "")
            parts.append(shown)
    return Text(*parts)


def joined(between: str, texts: Iterable[str]) -> Text:
    """`str.join` that keeps the lengths."""
    parts: list[Part] = []
    for each in texts:
        parts += [between, each] if parts else [each]
    return Text(*parts)


def painted(sentence: str, unit: str) -> str:
    """A sentence in a unit; a plain `str` has no lengths and stays as it is."""
    return sentence.painted(unit) if isinstance(sentence, Text) else sentence


def listed(names: Sequence[object], last: str = "and") -> str:
    """Names in a row: "1I", "1I and 2E", "1I, 2E and 3I"."""
    words = [str(name) for name in names]
    return f" {last} ".join(part for part in (", ".join(words[:-1]), *words[-1:]) if part)


def counted(count: int, thing: str, many: str = "") -> str:
    """A count with its noun: "1 valve", "3 valves"."""
    return f"{count} {thing if count == 1 else many or thing + 's'}"


def show_turns(turns: float) -> str:
    """Write turns, everywhere: "1 3/8" where a sixteenth or a sixth fits, else to a hundredth."""
    for parts in (16, 6):
        fraction = Fraction(round(turns * parts), parts)
        if isclose(turns, fraction, abs_tol=1e-7):
            words = [str(part) for part in divmod(abs(fraction), 1) if part]
            return ("-" if fraction < 0 else "") + (" ".join(words) or "0")
    return f"{turns:.2f}"


def show_window(least: float, most: float) -> str:
    """A window of turns, "3/8 to 7/8"; decimals are rounded inward: what is shown is inside."""
    low, high = show_turns(least), show_turns(most)
    low = f"{ceil(least * 100 - 1e-6) / 100:.2f}" if "." in low else low
    high = f"{floor(most * 100 + 1e-6) / 100:.2f}" if "." in high else high
    return f"{low} to {high}"


def span(lengths_mm: Iterable[float]) -> Text:
    """Lengths by their ends: "218.5 mm", "218.5 mm to 219.0 mm"; empty for none."""
    mm = sorted(lengths_mm)
    return joined(" to ", (Text(Length(each)) for each in dict.fromkeys((*mm[:1], *mm[-1:]))))
