"""How commands speak: plain lines on the output, faults on the error stream, JSON for scripts."""

from __future__ import annotations

import argparse
import io
import json
import sys
from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import asdict

from heelwise.plain_text import plain

DONE, FAULTS, USAGE = 0, 1, 2


class Usage(Exception):
    """The command's own words are off: what is wrong and what would be right."""


def say(text: str = "") -> None:
    """Print a line; characters the console does not know are shown as marks, not as an error."""
    print(plain(text, keep_newlines=True), flush=True)


def complain(lines: Iterable[str]) -> None:
    """Print lines of what is wrong on the error stream."""
    for line in lines:
        print(plain(line), file=sys.stderr, flush=True)


def say_json(value: object) -> None:
    """Print a value as JSON: floats unrounded, never NaN."""
    print(json.dumps(value, allow_nan=False, ensure_ascii=True, indent=1), flush=True)


def on_a_terminal() -> bool:
    """Whether both ends of the talk are a terminal, so that a full screen can be drawn."""
    return sys.stdin is not None and sys.stdin.isatty() and sys.stdout.isatty()


def guarded(run: Callable[[argparse.Namespace], int], given: argparse.Namespace) -> int:
    """Run a command; whatever it finds wrong is told in words, never as a traceback."""
    from heelwise.documents.faults import Faulty
    from heelwise.storage.errors import StorageError, system_words

    _make_streams_forgiving()
    try:
        return run(given)
    except Faulty as faulty:
        complain(faulty.lines())
    except StorageError as error:
        complain([str(error)])
    except Usage as usage:
        complain([f"heelwise: {usage}"])
        return USAGE
    except BrokenPipeError:
        # The reader went away (`| head`): nothing more to say, and nowhere to say it.
        _give_up_output()
    except OSError as error:
        problem, instead = system_words(error)
        where = error.filename or "what is printed can't be written"
        if not error.filename:
            _give_up_output()
        with suppress(OSError):  # both streams may lead to the same full disk
            complain([f"{where}: {problem}; {instead}"])
    except KeyboardInterrupt:
        complain(["", "Left. What was shown as kept is kept."])
        return 130
    return FAULTS


def faults_json(file: str, faults: Iterable[object]) -> dict[str, object]:
    """Faults of one file as `check --json` gives them."""
    return {"file": file, "faults": [asdict(f) for f in faults]}  # type: ignore[call-overload]


def _give_up_output() -> None:
    """Let nothing that waits to be printed be tried again on the way out."""
    sys.stdout = io.TextIOWrapper(io.BytesIO())


def _make_streams_forgiving() -> None:
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
