"""Pushrods on hand: a length, or so many of one, as in `8 of 6.850 in`."""

import re
from collections.abc import Iterable
from typing import Annotated

from pydantic import PlainValidator

from heelwise.documents.faults import quoted
from heelwise.documents.quantities import length_mm
from heelwise.documents.typed_numbers import QuantityFault

_MANY = re.compile(r"\s*(\d{1,4})\s+of\s+(.+)", re.ASCII | re.DOTALL)


def on_hand(text: object) -> tuple[float, int | None]:
    """Read one line of what is on hand.

    Args:
        text: A length, or a count, `of` and a length.

    Returns:
        The length in mm, and how many there are; None where no number is given: no limit.

    Raises:
        QuantityFault: It is neither.
    """
    many = _MANY.fullmatch(text) if isinstance(text, str) else None
    mm = length_mm(many[2] if many else text)
    if mm <= 0:
        raise QuantityFault(f"is {quoted(text)}", "write more than 0")
    return mm, int(many[1]) if many else None


def stock_of(texts: Iterable[str]) -> dict[float, int]:
    """Count what is on hand of each length that is limited.

    Args:
        texts: As `on_hand` reads them; the same length may stand more than once.

    Returns:
        How many by length in mm; a length that once stands without a number is not limited.
    """
    stock: dict[float, int] = {}
    free: set[float] = set()
    for mm, count in map(on_hand, texts):
        if count is None:
            free.add(mm)
        else:
            stock[mm] = stock.get(mm, 0) + count
    return {mm: count for mm, count in stock.items() if mm not in free}


def _kept(typed: object) -> str:
    on_hand(typed)
    assert isinstance(typed, str)  # or the reader would have refused it
    return typed


OnHand = Annotated[str, PlainValidator(_kept)]
"""A length on hand as typed, with or without how many."""
