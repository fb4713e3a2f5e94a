"""Interleaved timings of a thing and its floor, and starting programs in a pseudo-terminal."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from statistics import median

from heelwise.documents.entries import Draft, Noted
from heelwise.documents.record import OpenRecord
from heelwise.session import Session

AT = datetime(2031, 3, 4, 9, tzinfo=UTC)
PAIRS = 7
ENVIRONMENT = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
"""An installed program has its bytecode beside it, as Textual has in every floor."""
RUN = "import sys; from heelwise.commands.main import main; sys.exit(main())"

EMPTY_APP = """
from textual.app import App
from textual.widgets import Static
class Empty(App):
    def compose(self):
        yield Static("FLOOR-IS-PAINTED")
Empty().run()
"""


@dataclass(frozen=True)
class Figure:
    """One measured ratio; `target` is the most (or, with `at_least`, the least) allowed.

    Without a target it is only told. `measured` is what the ratio is made of: "21.3 ms".
    """

    what: str
    ratio: float
    target: float | None
    measured: str
    at_least: bool = False

    @property
    def met(self) -> bool:
        """Whether the target is met."""
        if self.target is None:
            return True
        return self.ratio >= self.target if self.at_least else self.ratio <= self.target

    def __str__(self) -> str:
        told = f"{self.what:<64} {self.ratio:9.2f}  "
        if self.target is None:
            return f"{told}{'':<18} ({self.measured})"
        sign, word = (">=" if self.at_least else "<="), ("met" if self.met else "MISSED")
        return f"{told}{sign} {self.target:<7g} {word:<7} ({self.measured})"


def _took(act: Callable[[], object]) -> float:
    """What a call says it took, where it says so; else how long the call takes."""
    begun = time.perf_counter()
    told = act()
    return told if isinstance(told, float) else time.perf_counter() - begun


def against(
    what: str,
    act: Callable[[], object],
    floor: Callable[[], object],
    target: float | None,
    pairs: int = PAIRS,
) -> Figure:
    """Time a thing and its floor by turns; the ratio of their medians."""
    act(), floor()
    both = [(_took(act), _took(floor)) for _ in range(pairs)]
    mine, bare = median(a for a, _ in both), median(b for _, b in both)
    return Figure(what, mine / bare, target, f"{told(mine)} / {told(bare)}")


def told(seconds: float) -> str:
    """Seconds as milliseconds."""
    return f"{seconds * 1000:.{1 if seconds > 0.01 else 2}f} ms"


def fill(session: Session, entries: int) -> OpenRecord:
    """Fill a build's record up with notes, as a long build would be."""
    record = session.record
    for number in range(len(record.entries), entries):
        record.keep(Draft(Noted(text=f"note {number}")), AT + timedelta(seconds=number), "AO")
    return record


def python(*words: str) -> None:
    """Run the interpreter to its end."""
    subprocess.run([sys.executable, *words], check=True, capture_output=True, env=ENVIRONMENT)
