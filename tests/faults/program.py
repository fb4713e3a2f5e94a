"""Starting the real program as a process of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
RUN = "import sys; from heelwise.__main__ import start; sys.exit(start())"
LONG_ENOUGH_S = 120
"""Only so that a program that hangs fails a test instead of stopping the suite."""


@dataclass(frozen=True)
class Ended:
    """How a run ended, its output as bytes."""

    code: int
    out: bytes
    err: bytes

    @property
    def told(self) -> list[int]:
        """Numbers of the entries that were told as kept."""
        return told(self.out)

    @property
    def said(self) -> str:
        """What it said on the error stream."""
        return self.err.decode("utf-8", "replace")


def told(out: bytes) -> list[int]:
    """Numbers in whole lines `kept N`; a line cut short by a kill tells nothing."""
    lines = out.replace(b"\r\n", b"\n").split(b"\n")[:-1]
    return [int(n) for line in lines if (n := line.removeprefix(b"kept ")) != line and n.isdigit()]


def command(*words: object, before: Sequence[str] = (), first: str = "") -> list[str]:
    """The words that start the program, with another program or a line of Python before it.

    As with its own script, nothing is imported from the working folder.
    """
    return [*before, sys.executable, "-P", "-c", f"{first}\n{RUN}", *map(str, words)]


def environment(**more: str) -> dict[str, str]:
    """The environment the program is started in."""
    # COLUMNS and LINES would win over the size of the pseudo-terminal.
    ours = ("HEELWISE", "COLUMNS", "LINES")
    here = {k: v for k, v in os.environ.items() if not k.startswith(ours)}
    return {**here, "PYTHONPATH": str(ROOT / "src"), "PYTHONUTF8": "1", **more}


def run(*words: object, typed: str | bytes = b"", before: Sequence[str] = (), **env: str) -> Ended:
    """Run the program to its end."""
    given = typed.encode() if isinstance(typed, str) else typed
    done = subprocess.run(
        command(*words, before=before),
        input=given,
        capture_output=True,
        env=environment(**env),
        timeout=LONG_ENOUGH_S,
        check=False,
    )
    return Ended(done.returncode, done.stdout, done.stderr)


def in_words(ended: Ended) -> None:
    """Whatever went wrong was told in words: no traceback, no bare error of the system."""
    assert "Traceback" not in ended.said, ended.said
    assert "Errno" not in ended.said, ended.said
    assert b"Traceback" not in ended.out
    if ended.code:
        assert ended.said.strip(), "it failed without a word"
