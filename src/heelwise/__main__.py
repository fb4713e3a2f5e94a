"""What `heelwise` and `python -m heelwise` start: ready to be stopped before anything is loaded."""

import io
import os
import sys

# Built in: loading `signal` itself would leave time for a traceback.
from _signal import SIGINT, signal  # type: ignore[import-not-found]

STOPPED = 130
"""What a shell expects of a program that was stopped by Ctrl-C."""


def start() -> int:
    """Run the command line as a program of its own, and give its exit code."""
    signal(SIGINT, _stop)
    _open_closed_streams()
    from heelwise.commands.main import main

    code = main()
    _let_no_thread_hold_it(code)
    return code


def _stop(signum: int, frame: object) -> None:
    """End at once: no import or clean-up can be left half done, and what is kept is on the disk."""
    os.write(2, b"\nStopped by Ctrl-C. What was shown as kept is kept.\n"[os.isatty(2) ^ 1 :])
    os._exit(STOPPED)


def _let_no_thread_hold_it(code: int) -> None:
    """End though a thread hangs, as one that reads a terminal that is gone may."""
    import threading  # loaded by now, if any thread was begun

    for thread in threading.enumerate():
        if thread is not threading.current_thread() and not thread.daemon:
            thread.join(5)
            if thread.is_alive():
                os._exit(code)


def _open_closed_streams() -> None:
    """Put something in place of closed streams, or the next file opened would take their part.

    What is printed to a closed output then fails as a write to any other bad file does.
    """
    for number, mode in ((0, os.O_RDONLY), (1, os.O_RDONLY), (2, os.O_WRONLY)):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, mode)  # the lowest number that is free
    sys.stdin = sys.stdin or _stream(0, "r")
    sys.stdout = sys.stdout or _stream(1, "w")
    sys.stderr = sys.stderr or _stream(2, "w")


def _stream(number: int, mode: str) -> io.TextIOWrapper:
    raw = io.FileIO(number, mode)
    buffered = io.BufferedReader(raw) if mode == "r" else io.BufferedWriter(raw)
    return io.TextIOWrapper(buffered, encoding="utf-8")


if __name__ == "__main__":
    sys.exit(start())
