"""Speeds as ratios to a floor measured in the same run: `python -m tests.bench.run [NAME ...]`.

Names: start, verdict, folder, keep, past, replay, positions, rehearsal; all of them by default.
"""

from __future__ import annotations

import cProfile
import io
import os
import pstats
import sys
import tempfile
import time
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path

from heelwise.documents.entries import AnyEntry, Draft, Read
from heelwise.documents.record import OpenRecord, read_record
from heelwise.rehearsal.rehearse import RehearsalClock, hands_off, truth_of
from heelwise.session import Session
from heelwise.shop.builds import folder_of, read_all
from heelwise.storage import journal
from heelwise.walk.build import Build
from heelwise.walk.state import fold
from heelwise.walk.walker import Clock
from tests.bench import bench_positions, screens
from tests.bench.terminal import painted
from tests.bench.timing import AT, EMPTY_APP, RUN, Figure, against, fill, python
from tests.screens.pressing import at_a_count, real_build, rehearsal
from tests.shop.folders import another


def _filled(folder: Path, entries: int, name: str) -> OpenRecord:
    """A rehearsal's record filled up with notes, as a long build would be."""
    return fill(rehearsal(folder, name=name), entries)


def start(folder: Path) -> Iterator[Figure]:
    """Process start to the first painted question."""
    fill(real_build(folder, Clock()), 300).close()
    question = "You stopped here"

    def floor() -> float:
        return painted(["-c", EMPTY_APP], "FLOOR-IS-PAINTED")

    yield against(
        "bench, to its first row",
        lambda: painted(["-c", RUN, "--folder", str(folder)], "tug"),
        floor,
        1.25,
    )
    yield against(
        "resume of a record of 300 entries, to its question",
        lambda: painted(["-c", RUN, str(folder / "tug.toml")], question),
        floor,
        1.6,
    )
    yield against(
        "--version, against python -c 'import argparse'",
        lambda: python("-c", RUN, "--version"),
        lambda: python("-c", "import argparse"),
        1.5,
    )


def keep(folder: Path) -> Iterator[Figure]:
    """A reading entered until it is durable, against a bare append and fsync of the same bytes."""
    count = next(e.body for e in _counted(folder) if isinstance(e.body, Read))
    for entries in (10, 300, 10_000):
        record = _filled(folder, entries, f"keep-{entries}")
        bare = os.open(folder / f"bare-{entries}", os.O_WRONLY | os.O_CREAT | os.O_APPEND)
        before = record.file.stat().st_size
        record.keep(Draft(count, (1,)), AT, "AO")
        same = record.file.read_bytes()[before:]

        def append(fd: int = bare, data: bytes = same) -> None:
            os.write(fd, data)
            os.fsync(fd)

        def kept(to: OpenRecord = record) -> None:
            to.keep(Draft(count, (1,)), AT, "AO")

        yield against(f"kept and durable at {entries} entries", kept, append, 2.0, 41)
        record.close()
        os.close(bare)


def _counted(folder: Path) -> tuple[AnyEntry, ...]:
    """What a count on a valve comes to."""
    with at_a_count(folder) as sitting:
        return sitting.walker.reply("5/8").entries


def replay(folder: Path) -> Iterator[Figure]:
    """Reading, checking and folding a whole record, against tomllib alone on that file."""
    for entries in (1_000, 10_000):
        _filled(folder, entries, f"replay-{entries}").close()
        path = folder / f"replay-{entries}.toml"

        def whole(file: Path = path) -> None:
            record = read_record(file)
            valves = Build(record.head.setup, record.head.procedure).engine.valves
            fold(valves, record.entries)

        def bare(file: Path = path) -> None:
            tomllib.loads(file.read_text(encoding="utf-8"))

        yield against(f"replay of {entries} entries, against tomllib alone", whole, bare, 3.0)


def positions(folder: Path) -> Iterator[Figure]:
    """Fewest positions, beside scipy's mixed-integer solver and from 2 to 24 cylinders."""
    yield from bench_positions.figures()


def whole_job(folder: Path) -> Iterator[Figure]:
    """A hands-off V8 rehearsal: seconds, and in a second one what it spends them on."""
    begun = time.perf_counter()
    entries = _hands_off(folder, "timed")
    took = time.perf_counter() - begun
    profile = cProfile.Profile()
    profile.runcall(_hands_off, folder, "profiled")
    shown = io.StringIO()
    pstats.Stats(profile, stream=shown).sort_stats("tottime").print_stats(8)
    print("\n".join(line for line in shown.getvalue().splitlines() if line.strip()))
    yield Figure(f"hands-off V8, {entries} entries: seconds", took, None, f"{took:.2f} s")


def _hands_off(folder: Path, name: str) -> int:
    """Go through a whole rehearsal; the number of its entries."""
    with rehearsal(folder, name=name) as sitting:
        walker = Session(sitting.record, RehearsalClock(AT)).walker
        hands_off(walker, truth_of(sitting.record.head), lambda entry: None)
        return len(sitting.record.entries)


def past(folder: Path) -> Iterator[Figure]:
    """A thousand finished records listed, against reading them and their seals on one core."""
    paths = [another(folder / f"build-{number:04}.toml", number) for number in range(1000)]

    def floor() -> None:
        for path in paths:
            journal.read(path)

    yield against(
        "1000 records listed",
        lambda: folder_of(read_all(paths, os.cpu_count() or 1)),
        floor,
        2.0,
        3,
    )


FIGURES: dict[str, Callable[[Path], Iterator[Figure]]] = {
    "start": start,
    "verdict": screens.verdict,
    "folder": screens.many,
    "keep": keep,
    "past": past,
    "replay": replay,
    "positions": positions,
    "rehearsal": whole_job,
}


def main(names: list[str]) -> None:
    """Measure and print."""
    print(f"{'figure':<64} {'ratio':>9}  target")
    for name in names or list(FIGURES):
        with tempfile.TemporaryDirectory() as folder:
            for figure in FIGURES[name](Path(folder)):
                print(figure, flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
