"""Time as the walk takes it: a real clock, or a rehearsal's that passes waits over."""

from __future__ import annotations

from datetime import datetime
from typing import Protocol


class Clock(Protocol):
    """Gives the time, and is told when an answer waits for one."""

    def now(self) -> datetime:
        """The time, with an offset."""

    def reach(self, until: datetime | None) -> None:
        """Be told that the prompt waits until then; a real clock does nothing."""


class RealClock:
    """The machine's own clock."""

    def now(self) -> datetime:
        """The local time, to the second, with its offset."""
        return datetime.now().astimezone().replace(microsecond=0)

    def reach(self, until: datetime | None) -> None:
        """Nothing: real lifters take their real time."""
