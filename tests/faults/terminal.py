"""The real program in a pseudo-terminal: what it sends is kept byte by byte and drawn by pyte."""

from __future__ import annotations

import os
import termios
import time
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from types import TracebackType

import pexpect
import pyte

from tests.faults.program import LONG_ENOUGH_S, command, environment

ROWS, COLUMNS = 40, 120


class Terminal:
    """One run of the program, its keyboard and its screen."""

    def __init__(
        self,
        *words: object,
        before: Sequence[str] = (),
        rows: int = ROWS,
        columns: int = COLUMNS,
        first: str = "",
        env: Mapping[str, str] | None = None,
    ) -> None:
        program, *rest = command(*words, before=before, first=first)
        terminal = {"TERM": "xterm-256color", "LANG": "C.UTF-8", "TEXTUAL_ANIMATIONS": "none"}
        given = environment(**{**terminal, **(env or {})})
        self._child = pexpect.spawn(program, rest, env=given, dimensions=(rows, columns))
        self._child.delaybeforesend = None
        self.out = b""
        self._screen = pyte.Screen(columns, rows)
        self._stream = pyte.ByteStream(self._screen)

    def __enter__(self) -> Terminal:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.kill()

    @property
    def shown(self) -> str:
        """The screen as a person sees it."""
        return "\n".join(line.rstrip() for line in self._screen.display)

    @property
    def unwrapped(self) -> str:
        """What is shown, as one line: a long path is broken where the screen ends."""
        return "".join(self._screen.display)

    @property
    def alive(self) -> bool:
        """Whether the program still runs."""
        return bool(self._child.isalive())

    def read(self, wait_s: float = 0.05) -> bool:
        """Take in what was sent meanwhile; False where nothing was."""
        try:
            part = self._child.read_nonblocking(1 << 16, wait_s)
        except (pexpect.TIMEOUT, pexpect.EOF):
            return False
        self.out += part
        self._stream.feed(part)
        return True

    def until(self, what: str, holds: Callable[[], bool]) -> None:
        """Take in output until something holds; fails by name where the program is gone."""
        end = time.monotonic() + LONG_ENOUGH_S
        while not holds():
            if not self.read() and not self.alive:
                self._drain()
                assert holds(), f"the program ended before {what}:\n{self._tail}"
                return
            assert time.monotonic() < end, f"never came: {what}:\n{self._tail}\n{self.shown}"

    def type(self, text: str) -> None:
        """Press keys."""
        self._child.send(text.encode())

    def send(self, data: bytes) -> None:
        """Send bytes in one write, whatever they are; nothing happens where nobody reads."""
        with suppress(OSError):
            os.write(self._child.child_fd, data)

    def ended(self) -> int:
        """Wait for its end; the exit code."""
        self.until("its end", lambda: not self.alive)
        self._drain()
        self._child.close()
        code = self._child.exitstatus
        assert code is not None, f"it was ended by signal {self._child.signalstatus}"
        return int(code)

    def signal(self, number: int) -> None:
        """Send the program a signal."""
        self._child.kill(number)

    @property
    def cooked(self) -> bool:
        """Whether the terminal shows what is typed and waits for lines, as a shell wants it."""
        modes = termios.tcgetattr(self._child.child_fd)[3]
        return bool(modes & termios.ECHO and modes & termios.ICANON)

    def kill(self) -> None:
        """End it at once, and take in what it had sent before."""
        if not self._child.closed:
            self._child.kill(9)
            self._drain()
            self._child.close(force=True)

    def _drain(self) -> None:
        while self.read():
            pass

    @property
    def _tail(self) -> str:
        return self.out[-3000:].decode("utf-8", "replace")
