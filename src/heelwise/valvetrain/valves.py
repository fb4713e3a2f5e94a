"""Valves and how they are named: cylinder first, then I or E, as in ``1I`` and ``8E``."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum

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
        match = _NAME.fullmatch(text.strip())
        if match is None:
            raise ValueError(
                f"{text!r} is not a valve: give the cylinder's number, then I or E, as in 1I or 8E"
            )
        return cls(int(match[1]), Kind(match[2].upper()))

    def __str__(self) -> str:
        return f"{self.cylinder}{self.kind.value}"

    def __lt__(self, other: Valve) -> bool:
        return self._rank() < other._rank()

    def __le__(self, other: Valve) -> bool:
        return self._rank() <= other._rank()

    def __gt__(self, other: Valve) -> bool:
        return self._rank() > other._rank()

    def __ge__(self, other: Valve) -> bool:
        return self._rank() >= other._rank()

    def _rank(self) -> tuple[int, bool]:
        return self.cylinder, self.kind is Kind.EXHAUST
