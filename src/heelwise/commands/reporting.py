"""How commands speak: plain lines on the output, faults on the error stream, JSON for scripts."""

import io
import os
import sys
from collections.abc import Callable, Iterable
from contextlib import suppress

from heelwise.plain_text import plain

DONE, FAULTS, USAGE = 0, 1, 2
FOLDER = "HEELWISE_FOLDER"
"""Environment variable naming the folder of builds."""


class Usage(Exception):
    """The command's own words are off: what is wrong and what would be right."""


def say(text: str = "") -> None:
    """Print a line; characters the console does not know are shown as marks, not as an error."""
    print(plain(text, keep_newlines=True), flush=True)


def complain(lines: Iterable[str]) -> None:
    """Print lines of what is wrong on the error stream; where nobody reads it, nothing happens."""
    with suppress(OSError):
        for line in lines:
            print(plain(line), file=sys.stderr, flush=True)


def say_json(value: object) -> None:
    """Print a value as JSON: floats unrounded, never NaN."""
    import json

    print(json.dumps(value, allow_nan=False, ensure_ascii=True, indent=1), flush=True)


def on_a_terminal() -> bool:
    """Whether both ends of the talk are a terminal, so that a full screen can be drawn."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def guarded(run: Callable[[], int]) -> int:
    """Run a command and give its exit code; what goes wrong is put in words, never in a traceback.

    After a fault of the program the code is `crash.CODE`.
    """
    _make_streams_forgiving()
    try:
        code = run()
        sys.stdout.flush()
    except Usage as usage:
        complain([f"heelwise: {usage}"])
        code = USAGE
    except Exception as error:  # noqa: BLE001 - nobody else is left to say it in words
        code = _tell(error)
    try:
        sys.stdout.flush()
    except (OSError, ValueError):  # what waits to be printed isn't tried again on the way out
        with suppress(OSError, ValueError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return code


def _tell(error: Exception) -> int:
    from heelwise.documents.faults import Faulty
    from heelwise.storage import crash
    from heelwise.storage.errors import StorageError, system_words

    if isinstance(error, Faulty):
        complain(error.lines())
    elif isinstance(error, StorageError):
        complain([str(error)])
    elif isinstance(error, OSError):
        problem, instead = system_words(error)
        where = error.filename or "what is printed can't be written"
        if not isinstance(error, BrokenPipeError):  # a reader that went away (`| head`) knows
            complain([f"{where}: {problem}; {instead}"])
    else:
        complain(crash.crash_lines(error))
        return crash.CODE
    return FAULTS


def _make_streams_forgiving() -> None:
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
    if isinstance(sys.stdin, io.TextIOWrapper):  # a foreign byte is refused where it is typed
        sys.stdin.reconfigure(errors="surrogateescape")
