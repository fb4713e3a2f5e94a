"""What the terminal sends and shows: keys one by one, odd bytes, small windows, an orderly end."""

from __future__ import annotations

import asyncio
import os
import selectors
import signal
from codecs import getincrementaldecoder
from contextlib import suppress
from typing import TYPE_CHECKING

from textual import events
from textual._xterm_parser import XTermParser
from textual.app import App, ComposeResult
from textual.geometry import Size
from textual.message import Message
from textual.message_pump import MessagePump
from textual.screen import ModalScreen
from textual.widgets import Static
from textual.worker import WorkerFailed

from heelwise.screens.styled_text import lines

if TYPE_CHECKING:
    from textual.driver import Driver

    from heelwise.session import Session

UNREADABLE = "\ufffd"
"""What a byte that can't be read is turned into."""

TERMINAL_GONE = 129
"""What a shell expects of a program that was hung up on."""
SMALLEST = Size(60, 18)
"""Below this a question and its answers can't be seen whole."""


def lenient(driver: type[Driver]) -> type[Driver]:
    """A terminal driver that goes on where a byte is not UTF-8.

    Textual's own decoder is strict, in a thread of its own: one byte of a Latin-1 console ends
    the program. Any other kind of driver (Windows, tests) is given back as it is.
    """
    if os.name != "posix":
        return driver
    from textual.drivers.linux_driver import LinuxDriver

    if driver is not LinuxDriver:
        return driver

    class LenientDriver(LinuxDriver):
        def run_input_thread(self) -> None:
            parser = XTermParser(self._debug)
            decode = getincrementaldecoder("utf-8")(errors="replace").decode
            with selectors.SelectSelector() as selector:
                selector.register(self.fileno, selectors.EVENT_READ)
                while not self.exit_event.is_set():
                    if selector.select(0.1):
                        data = b""
                        with suppress(OSError):  # it is gone
                            data = os.read(self.fileno, 4096)
                        if not data:
                            self._loop.call_soon_threadsafe(self._app.exit, TERMINAL_GONE)
                            return
                        sent = decode(data)
                        for event in parser.feed(sent) if sent else ():
                            self.process_message(event)
                    for event in parser.tick():
                        self.process_message(event)

    return LenientDriver


def too_small(size: Size) -> bool:
    """Whether a window is too small to ask anything on."""
    return size.width < SMALLEST.width or size.height < SMALLEST.height


class TooSmallScreen(ModalScreen[None]):
    """Stands over everything, and takes no answer, until the program takes it away."""

    CSS_PATH = "modal.tcss"
    AUTO_FOCUS = ""

    def compose(self) -> ComposeResult:
        """How large the window is and must be."""
        yield Static(id="size")

    def on_resize(self, event: events.Resize) -> None:
        """Say how large it is now; a screen is told its size when it is first shown as well."""
        rows = [
            [("Window too small", "bad")],
            [(f"needs {SMALLEST.width} x {SMALLEST.height}", "strong")],
            [(f"is {event.size.width} x {event.size.height}", "plain")],
            [("Nothing is taken.", "plain")],
            [("F10 leaves", "quiet")],
        ]
        self.query_one("#size", Static).update(lines(rows))


CALM = 2
"""Rounds in which neither screen nor focus changed, until a key counts as dealt with."""

LOST_S = 0.5
"""How often it is looked whether what a key was given to went away with it."""

UNREADABLE_KEY = "That character can't be read here; type deg for °."


class Round(Message):
    """Follows a key through every queue on its way up; once it arrives, the key has been there."""

    def __init__(self) -> None:
        super().__init__()
        self.arrived = asyncio.Event()


class KeyQueue(App[int]):
    """A program that gives each key to the screen that stands when all before it was done."""

    def __init__(self) -> None:
        super().__init__()
        self._keys: asyncio.Queue[events.Key | events.Paste] = asyncio.Queue()

    def on_mount(self) -> None:
        """Give keys out, as long as the program runs."""
        self._giving = asyncio.create_task(self._give_keys())
        self._giving.add_done_callback(self._gave)

    def _gave(self, giving: asyncio.Task[None]) -> None:
        error = None if giving.cancelled() else giving.exception()
        if isinstance(error, Exception):
            self._handle_exception(error)

    def on_unmount(self) -> None:
        """Give no more keys."""
        self._giving.cancel()

    async def on_event(self, event: events.Event) -> None:
        """Queue keys and pasted texts; all else as it comes."""
        if isinstance(event, events.Key) and event.character == UNREADABLE:
            self.notify(UNREADABLE_KEY, severity="warning", markup=False)
        elif isinstance(event, events.Key | events.Paste) and not event.is_forwarded:
            self._keys.put_nowait(event)
        else:
            await super().on_event(event)

    async def _give_keys(self) -> None:
        while self.return_value is None:  # else it is ending, and no screen is left
            key = await self._keys.get()
            place, calm = (self.focused or self.screen, self.screen), 0
            await super().on_event(key)
            while calm < CALM and self.return_value is None:
                await self._go_round(place[0])
                now = (self.focused or self.screen, self.screen)
                place, calm = now, calm + 1 if now == place else 0

    async def _go_round(self, target: MessagePump) -> None:
        """Wait until what a key began, in its target's queue and all above, is done."""
        sent = Round()
        while target.post_message(sent) and target.is_running and not sent.arrived.is_set():
            with suppress(TimeoutError):
                await asyncio.wait_for(sent.arrived.wait(), LOST_S)
        began_here = asyncio.Event()
        self.call_later(began_here.set)  # what the key began in this queue comes first
        await began_here.wait()

    def on_round(self, event: Round) -> None:
        """A key, and all that it began on its way up, is done."""
        event.stop()
        event.arrived.set()


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


def last_words(app: EndsInOrder, session: Session | None) -> list[str]:
    """What to print once the terminal is put back: what broke, and where what was entered is."""
    lines: list[str] = []
    if app.broken_by is not None:
        from heelwise.storage.crash import crash_lines

        lines = crash_lines(app.broken_by)
    if session is None or session.walker.closed:
        return lines
    kept = f"Left. Everything is kept in {session.file}"
    again = "The same command picks up from there; so does the bench."
    return [*lines, *session.write_lacking()] or [kept, again]
