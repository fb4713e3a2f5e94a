"""The records of a folder in short, read on all cores where there are many. Never writes."""

from __future__ import annotations

import os
import re
import signal
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import BrokenExecutor, ProcessPoolExecutor
from dataclasses import dataclass
from datetime import date, datetime
from itertools import islice
from pathlib import Path
from typing import Any

from heelwise.documents.entry_text import own_tables
from heelwise.documents.faults import Faulty
from heelwise.documents.files import like_a_record
from heelwise.documents.quantities import length_mm, turns
from heelwise.documents.record import Head, check_entries, head_of, record_of
from heelwise.documents.setup import Setup
from heelwise.sheet.setup_words import unit_of
from heelwise.storage.errors import StorageError
from heelwise.storage.journal import read
from heelwise.storage.seals import Scan, State
from heelwise.valvetrain.engine import Valve, ValveKind
from heelwise.valvetrain.travel import Origin, Travel
from heelwise.valvetrain.trials import Reading
from heelwise.walk.scene import scene_of
from heelwise.walk.sign_off import outcomes
from heelwise.walk.walker import phase_of, progress
from heelwise.wording import listed

SIGNED = "signed off"

Lengths = Mapping[ValveKind, tuple[float, ...]]
"""The lengths in an engine by kind in mm, one for each valve, shortest first."""


@dataclass(frozen=True)
class PastBuild:
    """One record in short. `signed`: it is closed; `state` says so, or how far it is.

    `travel`: measured by its own trials, whatever was known before; None where they don't measure
    it. `rocker`: what makes two builds' rockers the same; None where their name isn't given.
    `parts`: the same of engine, heads and lifter.
    """

    file: str
    name: str
    head_seal: str
    last_seal: str
    job: str
    serial: str
    engine: str
    method: str
    state: str
    signed: bool
    virtual: bool
    by: str
    began: datetime
    last: datetime
    lengths: Lengths
    travel: Travel | None
    rocker: tuple[object, ...] | None
    parts: tuple[object, ...] | None
    unit: str
    wrench: str
    calibrated: date | None

    @property
    def words(self) -> str:
        """Everything it can be found by, in lower case."""
        kind = "rehearsal" if self.virtual else ""
        said = (self.name, self.job, self.engine, self.method, self.state, self.by, kind)
        return " ".join(said).casefold()


NotRead = tuple[str, str]
"""A record that can't be used, and why, in one line."""


@dataclass(frozen=True)
class Folder:
    """A folder's records, the one worked on last first, and remarks on what doesn't agree."""

    builds: tuple[PastBuild, ...]
    not_read: tuple[NotRead, ...]
    notes: tuple[str, ...] = ()


def records_in(folder: Path) -> list[Path]:
    """The files of a folder that may be records, by name; OSError where it can't be read."""
    with os.scandir(folder) as found:
        names = [item.name for item in found]
    return [folder / n for n in sorted(names) if n.endswith(".toml") and not n.startswith(".")]


def read_folder(
    paths: Sequence[Path], told: Callable[[int], None] = lambda done: None, cores: int = 1
) -> Folder:
    """Read the records among some files. `told` is called with how many files are done.

    With more `cores` than one other processes help: not from a program that has threads.
    """
    builds, not_read = [], []
    for done, each in enumerate(_read_all(paths, cores), start=1):
        told(done)
        if isinstance(each, PastBuild):
            builds.append(each)
        elif each is not None:
            not_read.append(each)
    builds.sort(key=lambda build: build.last, reverse=True)
    once, notes = _without_copies(builds)
    return Folder(tuple(once), tuple(not_read), (*notes, *_two_names(once)))


def _read_all(paths: Sequence[Path], cores: int) -> Iterator[PastBuild | NotRead | None]:
    done = 0
    if cores > 1:
        pool = ProcessPoolExecutor(
            min(cores, 16), initializer=signal.signal, initargs=(signal.SIGINT, signal.SIG_IGN)
        )  # Ctrl-C is for the process that was asked
        try:
            for each in pool.map(read_build, paths, chunksize=16):
                done += 1
                yield each
        except (OSError, BrokenExecutor):
            pass  # no other process may be had here, or it was ended: the rest is read in this one
        finally:
            pool.shutdown(cancel_futures=True)
    yield from map(read_build, islice(paths, done, None))


def read_build(path: Path) -> PastBuild | NotRead | None:
    """Read one record; None for a file that is none. A closed one isn't read entry by entry."""
    try:
        data, scanned = read(path)
        if not scanned.blocks and not like_a_record(data):
            return None
        head = head_of(data, scanned, path)
        counts = _COUNT if head.procedure.defaults.travel_by == "every count" else _TRIAL
        ended = _ended(data, scanned, counts)
        if ended is not None:
            *trials, last = ended["entry"]
            readings, rows = list(map(_reading, trials)), ended["signoff"]
            at, state, by = last["at"], SIGNED, str(last["by"])
        else:
            record = record_of(data, scanned, path)
            check_entries(record)
            scene = scene_of(head.setup, head.procedure, record.entries)
            readings, rows = list(scene.trials), [vars(each) for each in outcomes(scene.state)]
            torn = ", its end torn or being written" if record.torn else ""
            state = f"{phase_of(scene)}: {progress(scene)[1]}{torn}"
            state = SIGNED if scene.state.closed and not torn else state
            at, by = record.entries[-1].at, scene.state.by
        return _build(path, head, scanned, rows, readings, (at, state, by))
    except Faulty as faulty:
        return str(path), str(faulty.faults[0])
    except (StorageError, OSError, ValueError, KeyError) as error:
        return str(path), str(error)


_CROSSED, _SIGNED = (b'\nkind = "crossed out"\n', b'\nkind = "signed off"\n')
_COUNT = (b'\nkind = "read"\n',)
_TRIAL = (*_COUNT, b'\nphase = "trial"\n')
_OF, _RESTS_ON = re.compile(rb"\nof = (\d+)\n"), re.compile(rb"\nrests_on = \[([\d, ]+)\]")


def _ended(
    data: bytes, scanned: Scan, counts: tuple[bytes, ...]
) -> dict[str, list[dict[str, Any]]] | None:
    """Of a closed record its `counts` that count, the signing and its rows; else None.

    What is crossed out, and what rests on it, doesn't count, as in the fold.
    """
    blocks = [data[each.start : each.end] for each in scanned.blocks]
    if scanned.state is not State.WHOLE or b"\r" in data or _SIGNED not in blocks[-1]:
        return None
    void = {int(crossed[1]) for b in blocks if _CROSSED in b and (crossed := _OF.search(b))}
    texts = []
    for number, block in enumerate(blocks, start=1):
        if void and (rests := _RESTS_ON.search(block)) and void & {*map(int, rests[1].split(b","))}:
            void.add(number)
        if number not in void and all(sign in block for sign in counts):
            texts.append(block)
    return own_tables(b"".join([*texts, blocks[-1]]).decode("utf-8"))


def _reading(table: Mapping[str, Any]) -> Reading:
    mm, count = length_mm(table["pushrod"]), turns(table["turns"])
    return Reading(Valve.parse(table["valve"]), mm, count, table["resolution_turns"])


def _build(
    path: Path,
    head: Head,
    scanned: Scan,
    rows: Iterable[Mapping[str, Any]],
    trials: list[Reading],
    last: tuple[datetime, str, str],
) -> PastBuild:
    at, state, by = last
    setup, build = head.setup, head.build
    job, wrench = setup.job, setup.wrench
    lengths: dict[ValveKind, list[float]] = defaultdict(list)
    for row in rows:
        if row.get("pushrod"):
            lengths[Valve.parse(row["valve"]).kind].append(length_mm(row["pushrod"]))
    known = (job.customer, job.job, job.engine_serial) if job else ()
    tool = (wrench.name, job.wrench_serial if job else None) if wrench else ()
    return PastBuild(
        file=str(path),
        name=path.stem,
        head_seal=scanned.blocks[0].seal,
        last_seal=scanned.last_seal,
        job=", ".join(filter(None, known)),
        serial=(job.engine_serial if job else None) or "",
        engine=setup.engine.card or "-".join(map(str, setup.engine.firing_order)),
        method=head.procedure.method.name,
        state=state,
        signed=state == SIGNED,
        virtual=build.seed is not None,
        by=by,
        began=build.begun,
        last=at,
        lengths={kind: tuple(sorted(each)) for kind, each in lengths.items()},
        travel=own_travel(setup, trials),
        rocker=rocker_of(setup),
        parts=parts_of(setup),
        unit=unit_of(setup),
        wrench=" ".join(filter(None, tool)),
        calibrated=wrench.calibrated if wrench else None,
    )


def own_travel(setup: Setup, trials: Sequence[Reading]) -> Travel | None:
    """The travel per turn that a build's own trials measured, or None."""
    if len(trials) < 2:
        return None
    used = setup.model_copy(update={"before": None}).travel_in_play(trials).used
    return used if used.origin is Origin.MEASURED else None


def rocker_of(setup: Setup) -> tuple[object, ...] | None:
    """What makes two builds' rockers the same: mount, ratio, thread and name; None unnamed."""
    rocker, name = setup.rocker, setup.job.rockers if setup.job else None
    if rocker is None or name is None or rocker.pitch_mm is None:
        return None
    return rocker.mount, rocker.ratio, round(rocker.pitch_mm, 6), plain_name(name)


def parts_of(setup: Setup) -> tuple[object, ...] | None:
    """What makes two engines, their heads and lifters the same; None where that isn't given."""
    job, lifter = setup.job, setup.lifter
    if job is None or lifter is None or job.casting is None or job.lifters is None:
        return None
    order = tuple(setup.engine.firing_order)
    return order, plain_name(job.casting), lifter.kind, plain_name(job.lifters)


def plain_name(name: str) -> str:
    """A name without what people write differently: case, spaces, dashes."""
    return "".join(filter(str.isalnum, name.casefold()))


def _without_copies(builds: Iterable[PastBuild]) -> tuple[list[PastBuild], list[str]]:
    """Each record once, the furthest: copies of one begin with the same seal."""
    by_head: dict[str, list[PastBuild]] = defaultdict(list)
    for build in builds:
        by_head[build.head_seal].append(build)
    notes = []
    for first, *copies in by_head.values():
        if copies:
            names = listed([os.path.basename(each.file) for each in (first, *copies)])
            notes.append(f"{names} are one record: {os.path.basename(first.file)} counts.")
    return [first for first, *_ in by_head.values()], notes


def _two_names(builds: Iterable[PastBuild]) -> Iterator[str]:
    """One engine under two names: a serial written in two ways, or on two kinds of engine."""
    by_serial: dict[str, list[PastBuild]] = defaultdict(list)
    for build in builds:
        if build.serial:
            by_serial[plain_name(build.serial)].append(build)
    for same in by_serial.values():
        for what in ("serial", "engine"):
            names = sorted({getattr(each, what) for each in same})
            if len(names) > 1:
                where = listed([os.path.basename(each.file) for each in same[:4]])
                yield f"engine {same[0].serial}: its {what} is {listed(names, 'or')} in {where}."
