"""The records of a folder in short, read on all cores where there are many. Never writes."""

import json
import os
import re
import signal
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import BrokenExecutor, ProcessPoolExecutor
from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache
from itertools import islice
from pathlib import Path
from typing import Any

from heelwise.documents import quantities
from heelwise.documents.faults import Faulty
from heelwise.documents.files import like_a_record, own_tables
from heelwise.documents.quantities import length_mm
from heelwise.documents.record import Head, check_entries, head_of, record_of
from heelwise.documents.setup import Setup
from heelwise.sheet.setup_words import unit_of
from heelwise.storage.errors import StorageError
from heelwise.storage.journal import read
from heelwise.storage.seals import Scan, State
from heelwise.valvetrain.engine import Valve, ValveKind
from heelwise.valvetrain.travel import Origin, Travel
from heelwise.valvetrain.trials import Reading
from heelwise.walk.prove import outcomes
from heelwise.walk.scene import scene_of
from heelwise.walk.walker import phase_of, progress
from heelwise.wording import listed

SIGNED = "signed off"


@dataclass(frozen=True)
class PastBuild:
    """One record in short. `signed`: it is closed; `state` says so, or how far it is.

    `lengths`: in the engine by kind, in mm, one a valve, shortest first. `travel`: measured by its
    own trials, whatever was known before; None where they don't measure it. `rocker`: what makes
    two builds' rockers the same, () where their name isn't given. `parts`: the same of engine,
    heads and lifter.
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
    rehearsal: bool
    by: str
    began: datetime
    last: datetime
    lengths: Mapping[ValveKind, Sequence[float]]
    travel: Travel | None
    rocker: tuple[object, ...]
    parts: tuple[object, ...]
    unit: str
    wrench: str
    calibrated: date | None


NotRead = tuple[str, str]
"""A record that can't be used, and why, in one line."""


@dataclass(frozen=True)
class Folder:
    """A folder's records, the one worked on last first, and remarks on what doesn't agree."""

    builds: tuple[PastBuild, ...]
    not_read: tuple[NotRead, ...]
    notes: tuple[str, ...]


def records_in(folder: Path) -> list[Path]:
    """The files of a folder that may be records, by name; OSError where it can't be read."""
    names = sorted(os.listdir(folder))
    return [folder / n for n in names if n.endswith(".toml") and not n.startswith(".")]


def folder_of(reads: Iterable[PastBuild | NotRead | None]) -> Folder:
    """What was read of a folder's files put together: copies of one record count once."""
    found = list(reads)
    builds = [each for each in found if isinstance(each, PastBuild)]
    builds.sort(key=lambda build: build.last, reverse=True)
    copies = grouped(builds, lambda build: build.head_seal).values()
    once, notes = [same[0] for same in copies], []
    for same in copies:
        if len(same) > 1:
            names = [os.path.basename(each.file) for each in same]
            notes.append(f"{listed(names)} are one record: {names[0]} counts.")
    for same in grouped(once, lambda build: plain_name(build.serial)).values():
        for what in ("serial", "engine"):  # a serial written in two ways, or on two kinds
            names = sorted({getattr(each, what) for each in same})
            if len(names) > 1:
                where = listed([os.path.basename(each.file) for each in same[:4]])
                which = listed(names, "or")
                notes.append(f"engine {same[0].serial}: its {what} is {which} in {where}.")
    not_read = tuple(each for each in found if isinstance(each, tuple))
    return Folder(tuple(once), not_read, tuple(notes))


def grouped(
    builds: Iterable[PastBuild], key: Callable[[PastBuild], str]
) -> dict[str, list[PastBuild]]:
    """Builds by what they have in common; those that have none of it are left out."""
    groups: dict[str, list[PastBuild]] = defaultdict(list)
    for build in builds:
        if name := key(build):
            groups[name].append(build)
    return groups


def read_all(paths: Sequence[Path], cores: int) -> Iterator[PastBuild | NotRead | None]:
    """Read files with the help of other processes: not from a program that has threads."""
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
        if closed := _closed(data, scanned, head):
            counts, tables = closed
            last = tables["entry"][0]
            ended = last["at"], str(last["by"]), SIGNED
            return _build(path, head, scanned, tables["signoff"], counts, ended)
        record = record_of(data, scanned, path)
        check_entries(record)
        scene = scene_of(head.setup, head.procedure, record.entries)
        state = f"{phase_of(scene)}: {progress(scene)[1]}"
        if record.torn:
            state += ", its end torn or being written"
        elif scene.state.closed:
            state = SIGNED
        ended = record.entries[-1].at, scene.state.by, state
        rows = map(vars, outcomes(scene.state))
        return _build(path, head, scanned, rows, scene.trials, ended)
    except Faulty as faulty:
        return str(path), str(faulty.faults[0])
    except (StorageError, OSError, ValueError, KeyError, TypeError) as error:
        return str(path), str(error)


_CROSSED, _SIGNED = (b'\nkind = "crossed out"\n', b'\nkind = "signed off"\n')
_COUNT, _TRIAL = b'\nkind = "read"\n', b'\nphase = "trial"\n'
_CHECKED = b'\nkind = "checked"\n'
_OF, _RESTS_ON = re.compile(rb"\nof = (\d+)\n"), re.compile(rb"\nrests_on = \[([\d, ]+)\]")
_FIELDS = re.compile(rb"\n(valve|pushrod|turns|resolution_turns) = (.+)")


def _closed(
    data: bytes, scanned: Scan, head: Head
) -> tuple[list[Reading], dict[str, list[dict[str, Any]]]] | None:
    """Of a closed record the counts that measure travel, then the signing and its rows; else None.

    What is crossed out, and what rests on it, doesn't count, as in the fold.
    """
    blocks = [data[each.start : each.end] for each in scanned.blocks]
    if scanned.state is not State.WHOLE or b"\r" in data or _SIGNED not in blocks[-1]:
        return None
    every = head.procedure.defaults.travel_by == "every count"
    if every and _CHECKED in data:  # zero lash as checked measures it too
        return None
    void = {int(crossed[1]) for b in blocks if _CROSSED in b and (crossed := _OF.search(b))}
    counts, first = [], min(void, default=len(blocks))
    for number, block in enumerate(blocks, start=1):
        rests = _RESTS_ON.match(block, block.rfind(b"\nrests_on")) if number > first else None
        if rests and not void.isdisjoint(map(int, rests[1].split(b","))):
            void.add(number)
        if number not in void and _COUNT in block and (every or _TRIAL in block):
            counts.append(_reading(**{k.decode(): v for k, v in _FIELDS.findall(block)}))
    tables = own_tables(blocks[-1])
    return (counts, tables) if tables else None


@lru_cache(maxsize=1 << 14)  # an engine's lengths and counts are much the same, and so are two's
def _reading(valve: bytes, pushrod: bytes, turns: bytes, resolution_turns: bytes) -> Reading:
    """A count of its fields, written as in JSON."""
    mm, count = length_mm(json.loads(pushrod)), quantities.turns(json.loads(turns))
    return Reading(Valve.parse(json.loads(valve)), mm, count, json.loads(resolution_turns))


def _build(
    path: Path,
    head: Head,
    scanned: Scan,
    rows: Iterable[Mapping[str, Any]],
    trials: Iterable[Reading],
    ended: tuple[datetime, str, str],
) -> PastBuild:
    last, by, state = ended
    setup, job, wrench = head.setup, head.setup.job, head.setup.wrench
    lengths: dict[ValveKind, list[float]] = defaultdict(list)
    for row in rows:
        if row.get("pushrod"):
            lengths[Valve.parse(row["valve"]).kind].append(length_mm(row["pushrod"]))
    tool = (wrench.name, job.wrench_serial if job else None) if wrench else ()
    return PastBuild(
        file=str(path),
        name=path.stem,
        head_seal=scanned.blocks[0].seal,
        last_seal=scanned.last_seal,
        job=setup.whose,
        serial=(job and job.engine_serial) or "",
        engine=setup.engine.card or "-".join(map(str, setup.engine.firing_order)),
        method=head.procedure.method.name,
        state=state,
        signed=state == SIGNED,
        rehearsal=head.build.seed is not None,
        by=by,
        began=head.build.begun,
        last=last,
        lengths={kind: sorted(each) for kind, each in lengths.items()},
        travel=own_travel(setup, tuple(trials)),
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


def rocker_of(setup: Setup) -> tuple[object, ...]:
    """What makes two builds' rockers the same: mount, ratio, thread and name; () unnamed."""
    rocker, name = setup.rocker, setup.job and setup.job.rockers
    if rocker and name and (pitch_mm := rocker.figure("thread")):
        return rocker.mount, rocker.ratio, round(pitch_mm, 6), plain_name(name)
    return ()


def parts_of(setup: Setup) -> tuple[object, ...]:
    """What makes two engines, their heads and lifters the same; () where that isn't given."""
    job, lifter, order = setup.job, setup.lifter, tuple(setup.engine.firing_order)
    if job and lifter and job.casting and job.lifters:
        return order, plain_name(job.casting), lifter.kind, plain_name(job.lifters)
    return ()


def plain_name(name: str) -> str:
    """A name without what people write differently: case, spaces, dashes."""
    return "".join(filter(str.isalnum, name.casefold()))
