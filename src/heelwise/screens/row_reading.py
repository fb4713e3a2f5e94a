"""What a file of the bench holds. Imported with the first file read, after the first paint."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from heelwise.documents.faults import Faulty
from heelwise.documents.record import Record, read_record
from heelwise.documents.setup import Setup, load_setup
from heelwise.documents.toml import FileKind, kind_of, read_toml
from heelwise.screens.shelf import REHEARSAL, Kind, Row
from heelwise.session import is_rehearsal
from heelwise.walk.build import Build
from heelwise.walk.scene import Scene
from heelwise.walk.state import BuildState, fold
from heelwise.walk.walker import phase_of


def read_row(row: Row) -> Row:
    """Read a file of the bench; whatever is wrong with it becomes part of its row."""
    try:
        kind = kind_of(row.path)
        if kind is FileKind.RECORD:
            return _record_row(row, read_record(row.path))
        if kind is not FileKind.SETUP or _another_programs(row.path):
            return replace(row, kind=Kind.OTHER)
        return _setup_row(row)
    except Faulty as faulty:
        return replace(row, kind=Kind.BROKEN, faults=tuple(str(f) for f in faulty.faults))


def _another_programs(path: Path) -> bool:
    """Whether a file is good TOML with nothing of a setup in it, not even a faulty one's."""
    tables = read_toml(path)
    return bool(tables) and not tables.keys() & {"format", *Setup.model_fields}


def _setup_row(row: Row) -> Row:
    setup = load_setup(row.path)
    cylinders = setup.make_engine().cylinders
    return replace(row, kind=Kind.SETUP, far=f"{cylinders} cylinders, not begun")


def _record_row(row: Row, record: Record) -> Row:
    build = Build(record.head.setup, record.head.procedure)
    standing = fold(build.engine.valves, record.entries)
    return replace(
        row,
        kind=Kind.RECORD,
        last=record.entries[-1].at,
        phase="signed off" if standing.closed else phase_of(Scene(build, standing)),
        far=_far(standing),
        outstanding=", ".join(_outstanding(standing, record)),
        method=record.head.build.procedure,
    )


def _far(standing: BuildState) -> str:
    valves = standing.valves.values()
    proved = sum(one.proof is not None for one in valves)
    read = sum(one.count_stands for one in valves)
    if proved:
        return f"{proved} of {len(valves)} proved"
    tried = sum(bool(one.trials) or one.checked is not None for one in valves)
    if tried and not read:
        return f"{tried} tried, 0 of {len(valves)} read"
    return f"{read} of {len(valves)} read"


def _outstanding(standing: BuildState, record: Record) -> Iterable[str]:
    if is_rehearsal(record.head):
        yield REHEARSAL
    if record.torn:
        yield "torn end"
    outside = [
        str(valve)
        for valve, one in standing.valves.items()
        if one.count_stands and not one.settled_count
    ]
    if outside:
        yield f"{' '.join(outside)} outside the window"
    if standing.lost is not None and standing.crank is None:
        yield "the crank's place is not known"
