"""The full screen beside an empty one: key to verdict, and a folder of 5,000 records."""

from __future__ import annotations

import shutil
import time
from collections.abc import Iterator
from pathlib import Path
from statistics import median

from tests.bench.terminal import Terminal, painted
from tests.bench.timing import EMPTY_APP, PAIRS, RUN, Figure
from tests.screens.make_picture import at_a_count
from tests.screens.pressing import rehearsal

RECORDS = 5_000
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
    pairs = []
    for number in range(PAIRS):
        copy = folder / f"count-{number}.toml"
        shutil.copy(sitting.file, copy)
        pairs.append((_verdict(copy), _echo()))
    mine, bare = median(a for a, _ in pairs), median(b for _, b in pairs)
    yield Figure(
        "Enter to a painted verdict, against a key in an empty Input", mine / bare, 1.3, mine
    )


def many(folder: Path) -> Iterator[Figure]:
    """The bench on 5,000 records: first screenful, and memory once every row was read."""
    sitting = rehearsal(folder, name="record")
    sitting.close()
    for number in range(RECORDS - 1):
        shutil.copy(sitting.file, folder / f"record-{number}.toml")
    words = ["-c", RUN, "--folder", str(folder)]
    pairs = [(painted(words, "record-"), painted(EMPTY, "FLOOR-IS")) for _ in range(PAIRS)]
    mine, bare = median(a for a, _ in pairs), median(b for _, b in pairs)
    yield Figure(f"bench on {RECORDS} records, to its first row", mine / bare, 1.5, mine)
    with Terminal(EMPTY, "FLOOR-IS") as empty:
        empty.settle()
        base = empty.resident_mib
    with Terminal(words, "record-") as bench:
        time.sleep(1.0)
        first = bench.resident_mib
        begun = time.perf_counter()
        bench.child.send("record-4998")
        bench.child.expect_exact("1 of 5000")
        found = time.perf_counter() - begun
        bench.child.send("\x1b")
        while bench.settle():
            pass
        whole = bench.resident_mib
        took = time.perf_counter() - begun
    print(f"found by typing 11 keys while the rest is read: {found * 1000:.0f} ms")
    print(f"resident MiB: empty {base:.1f}, after 1 s {first:.1f}")
    print(f"resident MiB: every row read, after {took:.0f} s, {whole:.1f}")
    yield Figure("resident memory, every row read, against an empty app", whole / base, 1.5, 0.0)
