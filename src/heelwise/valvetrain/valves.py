"""Valves and how they are named: cylinder first, then I or E, as in ``1I`` and ``8E``."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

_NAME = re.compile(r"([1-9][0-9]?)([IiEe])")


class Kind(StrEnum):
    """Intake or exhaust."""

    INTAKE = "I"
    EXHAUST = "E"


@dataclass(frozen=True)
class Valve:
    """One valve of an engine; valves sort by cylinder, the intake before the exhaust.

    Attributes:
        cylinder: the cylinder's number, from 1.
        kind: intake or exhaust.
    """

    cylinder: int
    kind: Kind

    @classmethod
    def parse(cls, text: str) -> Valve:
        """Read a valve's name.

        Args:
            text: cylinder number, then I or E in either case, as in ``"1I"`` or ``"8e"``.

        Returns:
            The valve named.

        Raises:
            ValueError: the text is no valve's name.
        """
        return _parsed(text)

    def __str__(self) -> str:
        return f"{self.cylinder}{self.kind.value}"

    def __hash__(self) -> int:
        # Valves are looked up by the thousand; an enumeration's own hash is slow.
        return self.cylinder * 2 + (self.kind is Kind.EXHAUST)

    def __lt__(self, other: Valve) -> bool:
        return self.rank() < other.rank()

    def __le__(self, other: Valve) -> bool:
        return self.rank() <= other.rank()

    def __gt__(self, other: Valve) -> bool:
        return self.rank() > other.rank()

    def __ge__(self, other: Valve) -> bool:
        return self.rank() >= other.rank()

    def rank(self) -> tuple[int, bool]:
        """What valves are sorted by, as a key for many of them."""
        return self.cylinder, self.kind is Kind.EXHAUST


@lru_cache(maxsize=1024)
def _parsed(text: str) -> Valve:
    match = _NAME.fullmatch(text.strip())
    if match is None:
        raise ValueError(
            f"{text!r} is not a valve: give the cylinder's number, then I or E, as in 1I or 8E"
        )
    return Valve(int(match[1]), Kind(match[2].upper()))
