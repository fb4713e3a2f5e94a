"""Lengths and turns as words inside a sentence; screens and sheets lay out their own."""

from decimal import ROUND_HALF_UP, Decimal
from math import isclose

MM_PER_INCH = 25.4
"""Exactly (NIST SP 811, Appendix B.8)."""


_MOST_ROUNDED = 1e9


def rounded(value: float, places: int) -> str:
    """Write a number to so many decimals, a half away from zero.

    A length that lies half-way, as 7.375 in does between 187.32 and 187.33 mm, comes out the same
    on every screen, however it was added up.

    Args:
        value: Any number; a billion and more, and what is no number, is written as it comes.
        places: Decimals.
    """
    if not abs(value) < _MOST_ROUNDED:
        return f"{value:.{places}f}"
    exact = Decimal(f"{value:.9f}")
    return str(exact.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP))


def length_text(mm: float) -> str:
    """Put a length in words, inches first: ``0.078 in (1.99 mm)``.

    Args:
        mm: Length in mm.

    Returns:
        The length in both units, to a thousandth of an inch and a hundredth of a mm.
    """
    return f"{rounded(mm / MM_PER_INCH, 3)} in ({rounded(mm, 2)} mm)"


def turns_text(turns: float) -> str:
    """Put turns in words: ``1 3/8 turns`` where a sixteenth fits, else a decimal.

    Args:
        turns: Turns, any finite number.

    Returns:
        The figure with ``turn`` or ``turns`` behind it.
    """
    return f"{_figure(turns)} {'turn' if 0 < turns <= 1 else 'turns'}"


def _figure(turns: float) -> str:
    sixteenths = round(turns * 16)
    if turns < 0 or not isclose(turns * 16, sixteenths, abs_tol=1e-6):
        return f"{turns:.2f}"
    whole, rest = divmod(sixteenths, 16)
    if not rest:
        return str(whole)
    bottom = 16
    while rest % 2 == 0:
        rest, bottom = rest // 2, bottom // 2
    return f"{whole} {rest}/{bottom}" if whole else f"{rest}/{bottom}"
