"""`heelwise past`: the records of a folder, a row each, found by words."""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from statistics import mode

from heelwise.commands.reporting import DONE, FAULTS, FOLDER, Usage, complain, say, say_json

SHOWN_AFTER_S = 0.5
WORTH_CORES = 100
"""Records from which starting other processes takes less time than it spares."""


def past(given: argparse.Namespace) -> int:
    """Read the folder and print what it holds."""
    from heelwise.sheet.forms import sections_as
    from heelwise.shop import past as rows
    from heelwise.shop.builds import read_folder, records_in

    words = list(given.words)
    folder = Path(os.environ.get(FOLDER) or ".")
    if words and os.path.isdir(words[0]):
        folder = Path(words.pop(0))
    elif words and os.sep in words[0]:
        raise Usage(f"{words[0]}: there is no such folder")
    paths = records_in(folder)
    with _progress(len(paths)) as told:
        known = read_folder(paths, told, (os.cpu_count() or 1) if len(paths) > WORTH_CORES else 1)
    builds = rows.found(known, words)
    if given.json:
        say_json({"folder": str(folder), **rows.past_json(builds, known)})
        return DONE
    sections = rows.past_sections(builds, known)
    if not builds:
        among = f" of {len(known.builds)} holds: {' '.join(words)}" if words else " there yet"
        complain([f"{folder}: no build{among}"])
    if sections:
        unit = mode([each.unit for each in builds] or [""])
        say(sections_as(sections, given.form, unit))
    return DONE if builds else FAULTS


@contextmanager
def _progress(total: int) -> Iterator[Callable[[int], None]]:
    """A bar on a terminal, once it has taken half a second."""
    begun, on_terminal = time.monotonic(), sys.stderr.isatty()
    with ExitStack() as shown:
        bars: list[Callable[[int], None]] = []

        def told(done: int) -> None:
            if not bars and on_terminal and time.monotonic() - begun > SHOWN_AFTER_S:
                from rich.console import Console  # seldom needed, and slow to import
                from rich.progress import Progress

                bar = shown.enter_context(Progress(console=Console(stderr=True), transient=True))
                task = bar.add_task("Reading records", total=total)
                bars.append(lambda done: bar.update(task, completed=done))
            for show in bars:
                show(done)

        yield told
