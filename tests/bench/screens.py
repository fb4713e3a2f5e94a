"""The full screen beside an empty one: key to verdict, and a folder of 5,000 records."""

from __future__ import annotations

import itertools
import shutil
from collections.abc import Iterator
from pathlib import Path

from tests.bench.terminal import Terminal, painted
from tests.bench.timing import EMPTY_APP, RUN, Figure, against
from tests.screens.make_picture import at_a_count
from tests.screens.pressing import rehearsal

RECORDS = 5_000
FEW = 50
EMPTY = ["-c", EMPTY_APP]

EMPTY_INPUT = """
from textual.app import App
from textual.widgets import Input
class Empty(App):
    def compose(self):
        yield Input(value="FLOOR-IS-PAINTED")
Empty().run()
"""


def _verdict(file: Path) -> float:
    with Terminal(["-c", RUN, str(file)], "Is the crank still") as screen:
        screen.press("y", "Right label")
        screen.press("y", "then the wrench clicks")
        screen.press("1 1/8", "typed")
        return screen.press("\r", "INSIDE")


def _echo() -> float:
    with Terminal(["-c", EMPTY_INPUT], "FLOOR-IS-PAINTED") as screen:
        return screen.press("#", "#")


def verdict(folder: Path) -> Iterator[Figure]:
    """Enter pressed after a count, to its verdict painted; against a key in an empty Input.

    The verdict is painted after the reading is durable; the empty Input keeps nothing.
    """
    sitting = at_a_count(folder)
    sitting.close()
    numbers = itertools.count()

    def answered() -> float:
        copy = folder / f"count-{next(numbers)}.toml"
        shutil.copy(sitting.file, copy)
        return _verdict(copy)

    yield against(
        "Enter to a painted verdict, against a key in an empty Input", answered, _echo, 1.3
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
