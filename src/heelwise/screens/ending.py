"""How the full screen ends whatever ends it: the terminal put back, the outcome in words."""

from __future__ import annotations

import asyncio
import io
import signal
from contextlib import suppress
from typing import TYPE_CHECKING

from textual.app import App
from textual.worker import WorkerFailed

if TYPE_CHECKING:  # the bench loads no model
    from heelwise.session import Session

_SIGNALS = [
    getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)
]


class EndsInOrder(App[int]):
    """An app that ends by a signal as by a key, and keeps what broke it instead of printing it."""

    broken_by: Exception | None = None

    def on_load(self) -> None:
        """From here on the terminal is drawn on: a signal must not leave it so."""
        loop = asyncio.get_running_loop()
        with suppress(NotImplementedError):  # Windows has no such handlers
            for number in _SIGNALS:
                loop.add_signal_handler(number, self.exit, 128 + number)

    def _handle_exception(self, error: Exception) -> None:
        if isinstance(error, WorkerFailed) and isinstance(error.error, Exception):
            error = error.error  # it has the traceback
        self.broken_by = self.broken_by or error
        self._return_code = 1
        if self._exception is None:  # a test waits for it
            self._exception = error
            self._exception_event.set()
        self._close_messages_no_wait()

    def _print_error_renderables(self) -> None:
        if self._exit_renderables and self.broken_by is None:  # a traceback, made by Textual
            from rich.console import Console

            text = io.StringIO()
            Console(file=text, width=100).print(*self._exit_renderables)
            self.broken_by = RuntimeError(text.getvalue())
        self._exit_renderables.clear()


def last_words(app: EndsInOrder, session: Session | None) -> list[str]:
    """What to print once the terminal is put back: what broke, and where what was entered is."""
    lines: list[str] = []
    if app.broken_by is not None:
        from heelwise.storage.crash import crash_lines

        lines = crash_lines(app.broken_by)
    if session is None or session.walker.closed:
        return lines
    lacking = session.write_lacking()
    return (
        [*lines, *lacking]
        if lines or lacking
        else [
            f"Left. Everything is kept in {session.file}",
            "The same command goes on from there; so does the bench.",
        ]
    )
