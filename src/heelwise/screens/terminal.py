"""The terminal: bytes that are not UTF-8, and windows too small to ask anything on."""

from __future__ import annotations

import os
import selectors
from codecs import getincrementaldecoder
from typing import TYPE_CHECKING

from textual import events
from textual._xterm_parser import XTermParser
from textual.app import ComposeResult
from textual.geometry import Size
from textual.screen import ModalScreen
from textual.widgets import Static

from heelwise.screens.styled_text import lines

if TYPE_CHECKING:
    from textual.driver import Driver

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
                        data = _sent(self.fileno)
                        if not data:
                            self._loop.call_soon_threadsafe(self._app.exit, TERMINAL_GONE)
                            return
                        sent = decode(data)
                        for event in parser.feed(sent) if sent else ():
                            self.process_message(event)
                    for event in parser.tick():
                        self.process_message(event)

    return LenientDriver


def _sent(terminal: int) -> bytes:
    """What the terminal sent; nothing once it is gone."""
    try:
        return os.read(terminal, 4096)
    except OSError:
        return b""


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

    def on_mount(self) -> None:
        """Say how large."""
        self._show(self.app.size)

    def on_resize(self, event: events.Resize) -> None:
        """Say how large it is now."""
        self._show(event.size)

    def _show(self, size: Size) -> None:
        needed = f"{SMALLEST.width} x {SMALLEST.height}"
        rows = [
            [("Window too small", "bad")],
            [(f"needs {needed}", "strong")],
            [(f"is {size.width} x {size.height}", "plain")],
            [("Nothing is taken.", "plain")],
            [("F10 leaves", "quiet")],
        ]
        self.query_one("#size", Static).update(lines(rows))
