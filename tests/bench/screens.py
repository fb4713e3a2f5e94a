"""The full screen beside an empty one: key to verdict, and a folder of 5,000 records."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from statistics import median, quantiles
from string import ascii_letters

from heelwise.session import open_session
from tests.bench.terminal import Terminal, painted
from tests.bench.timing import EMPTY_APP, RUN, Figure, against, fill, told
from tests.screens.pressing import at_a_count, rehearsal

RECORDS = 5_000
FEW = 50
COUNTS = 16
"""Verdicts timed at each size and length."""
SHORT_QUIET_S = 0.15
NOT_HELD_S = 0.4
"""A key that comes again sooner may count as held down."""
EMPTY = ["-c", EMPTY_APP]

EMPTY_INPUT = """
from textual.app import App
from textual.widgets import Input
class Empty(App):
    def compose(self):
        yield Input(value="FLOOR-IS-PAINTED")
Empty().run()
"""


def _echo() -> float:
    with Terminal(["-c", EMPTY_INPUT], "FLOOR-IS-PAINTED") as screen:
        return screen.press("#", "#")


def _echoes(size: tuple[int, int], presses: int) -> list[float]:
    """Seconds from a key to its letter painted in an empty Input, a letter after another."""
    with Terminal(["-c", EMPTY_INPUT], "FLOOR-IS-PAINTED", size) as screen:
        return [screen.press(letter, letter, SHORT_QUIET_S) for letter in ascii_letters[:presses]]


def _script(file: Path) -> list[tuple[str, str]]:
    """What to press from a resume on, and the verdict to wait for; "" for no count.

    A copy of the record is walked on without a screen, so that the same is asked again.
    """
    script: list[tuple[str, str]] = []
    with open_session(file) as session:
        while not session.walker.closed and sum(bool(each) for _, each in script) < COUNTS:
            prompt, sensed = session.walker.prompt, session.sense()
            assert sensed is not None
            feedback = session.walker.reply(sensed.answer, sensed.texts)
            said = re.search(r"[A-Z]{4,}", feedback.text) if prompt.records == "count" else None
            option = prompt.option(sensed.answer)
            typed = [] if option else [sensed.answer]
            keys = "\r".join([option.key if option else "", *typed, *sensed.texts]).lstrip("\r")
            enter = "" if option and not sensed.texts else "\r"
            script.append((keys + enter, said[0] if said else ""))
    return script


def _verdicts(file: Path, size: tuple[int, int], script: list[tuple[str, str]]) -> list[float]:
    """Seconds from Enter after each count until its verdict is painted."""
    took = []
    with Terminal(["-c", RUN, str(file)], "Is the crank still", size) as screen:
        for keys, verdict in script:
            screen.settle(NOT_HELD_S)
            if verdict:
                screen.child.send(keys.removesuffix("\r"))
                took.append(screen.press("\r", (verdict, verdict.lower()), SHORT_QUIET_S))
            else:
                screen.child.send(keys)
    return took


def verdict(folder: Path) -> Iterator[Figure]:
    """Enter pressed after a count, to its verdict painted; beside a key in an empty Input.

    The verdict is painted after the reading is durable; the empty Input keeps nothing.
    """
    for entries in (30, 300, 10_000):
        with at_a_count(folder, f"count-{entries}") as session:
            fill(session, entries)
        walked = folder / f"walked-{entries}.toml"
        shutil.copy(session.file, walked)
        script = _script(walked)
        for columns, rows in ((80, 24), (140, 45), (200, 60)):
            copy = folder / f"count-{entries}-{columns}.toml"
            shutil.copy(session.file, copy)
            took = _verdicts(copy, (columns, rows), script)
            floor = _echoes((columns, rows), len(took))
            slow, bare = (quantiles(each, n=20, method="inclusive")[-1] for each in (took, floor))
            yield Figure(
                f"Enter to verdict at {columns}x{rows}, {entries} entries: ms, 95th percentile",
                slow * 1000.0,
                16.0,
                f"median {told(median(took))}, a key in an empty Input {told(median(floor))} and "
                f"{told(bare)}: ratio {median(took) / median(floor):.2f} and {slow / bare:.2f}",
            )


def many(folder: Path) -> Iterator[Figure]:
    """The bench on 5,000 records: first screenful, keys while the rest is read, memory."""
    sitting = rehearsal(folder, name="record")
    sitting.close()
    few = folder / "few"
    few.mkdir()
    for number in range(RECORDS - 1):
        shutil.copy(sitting.file, folder / f"record-{number}.toml")
    for number in range(FEW):
        shutil.copy(sitting.file, few / f"record-{number}.toml")
    words = ["-c", RUN, "--folder", str(folder)]
    yield against(
        f"bench on {RECORDS} records, to its first row",
        lambda: painted(words, "record-"),
        lambda: painted(EMPTY, "FLOOR-IS"),
        1.5,
    )
    yield against(
        "a key while the rest is read, against a key in an empty Input",
        lambda: _found(words),
        _echo,
        None,
    )
    base, some, all_ = _resident(EMPTY, "FLOOR-IS"), _resident_read(few), _resident_read(folder)
    rows = all_ - some
    yield Figure(
        "resident memory less the rows, against an empty app",
        (all_ - rows) / base,
        1.5,
        f"{some:.1f} / {base:.1f} MiB; {RECORDS} rows {rows:.1f} MiB",
    )


def _found(words: list[str]) -> float:
    """Seconds a key takes that is pressed while thousands of rows are still to be read."""
    with Terminal(words, "still to be read") as bench:
        typed = "record-4998"
        return bench.press_at_once(typed, "1 of 5000") / len(typed)


def _resident(words: list[str], text: str) -> float:
    with Terminal(words, text) as screen:
        screen.settle()
        return screen.resident_mib


def _resident_read(folder: Path) -> float:
    """MiB once every row of a folder was read and nothing is painted any more."""
    return _resident(["-c", RUN, "--folder", str(folder)], "record-")
