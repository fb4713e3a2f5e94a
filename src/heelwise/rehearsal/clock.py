"""A rehearsal's clock: each answer takes its time, and waits are passed over."""

from __future__ import annotations

from datetime import datetime, timedelta

AN_ANSWER = timedelta(seconds=20)


class RehearsalClock:
    """Goes on from a given time; counts as real time nowhere."""

    def __init__(self, start: datetime) -> None:
        self._now = start

    def now(self) -> datetime:
        """The rehearsal's time."""
        return self._now

    def reach(self, until: datetime | None) -> None:
        """Let an answer's time go by, and any wait with it."""
        self._now += AN_ANSWER
        if until is not None and until > self._now:
            self._now = until
