"""A program in a pseudo-terminal, timed from a key or its start to a text it paints."""

from __future__ import annotations

import re
import sys
import time
from pathlib import Path
from types import TracebackType

import pexpect

from tests.bench.timing import ENVIRONMENT

QUIET_S = 0.4
"""No output for so long counts as done painting."""

SEQUENCES = re.compile(r"\x1b\[[0-?]*[ -/]*[@-~]|\x1b\].*?(?:\x07|\x1b\\)")


class Terminal:
    """A program of some columns and rows. Use it with `with`; it is killed at the end."""

    def __init__(self, words: list[str], text: str, size: tuple[int, int] = (80, 24)) -> None:
        env = {**ENVIRONMENT, "TERM": "xterm-256color", "TEXTUAL_ANIMATIONS": "none"}
        begun = time.perf_counter()
        self.child = pexpect.spawn(
            sys.executable, words, env=env, dimensions=size[::-1], timeout=60, encoding="utf-8"
        )
        self.child.delaybeforesend = None
        self.child.expect_exact(text)
        self.started_s = time.perf_counter() - begun

    def settle(self, quiet_s: float = QUIET_S) -> str:
        """Take in output until there is none for so long; what was shown, without sequences."""
        taken, self.child.buffer = self.child.buffer, ""
        while True:
            try:
                taken += str(self.child.read_nonblocking(65536, quiet_s))
            except pexpect.TIMEOUT:
                return SEQUENCES.sub("", taken)

    def press(self, keys: str, text: str | tuple[str, ...], quiet_s: float = QUIET_S) -> float:
        """Seconds from sending keys to a text, or one of several, in what is painted then."""
        self.settle(quiet_s)
        return self.press_at_once(keys, text)

    def press_at_once(self, keys: str, text: str | tuple[str, ...]) -> float:
        """As `press`, while the program may still be painting."""
        begun = time.perf_counter()
        self.child.send(keys)
        self.child.expect_exact([text] if isinstance(text, str) else list(text))
        return time.perf_counter() - begun

    @property
    def resident_mib(self) -> float:
        """Memory that is resident, in MiB."""
        told = Path(f"/proc/{self.child.pid}/status").read_text(encoding="ascii")
        return int(told.split("VmRSS:")[1].split()[0]) / 1024.0

    def __enter__(self) -> Terminal:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.child.kill(9)
        self.child.close(force=True)


def painted(words: list[str], text: str) -> float:
    """Seconds from the start of a program until it shows a text."""
    with Terminal(words, text) as screen:
        return screen.started_s
