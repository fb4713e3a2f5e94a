"""What the bench lists: the folder's files at once, and what each holds once it was read."""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from enum import Enum
from pathlib import Path

from heelwise.documents import kinds
from heelwise.documents.faults import Faulty
from heelwise.documents.kinds import kind_of
from heelwise.documents.record_reading import Record, read_record
from heelwise.documents.setup import Setup, load_setup
from heelwise.documents.toml_reading import read_toml
from heelwise.screens.sitting import is_rehearsal
from heelwise.walk.build import Build
from heelwise.walk.next_prompt import phase_of
from heelwise.walk.scene import Scene
from heelwise.walk.standing import Standing, fold


class Kind(Enum):
    """What a file turned out to be."""

    UNREAD = "…"
    RECORD = "build"
    SETUP = "setup"
    OTHER = "other"
    BROKEN = "can't be used"


@dataclass(frozen=True)
class Row:
    """One file of the folder."""

    path: Path
    touched: datetime
    kind: Kind = Kind.UNREAD
    phase: str = ""
    far: str = ""
    outstanding: str = ""
    faults: tuple[str, ...] = ()


def list_folder(folder: Path) -> list[Row]:
    """Every .toml file of a folder, the one touched last first; nothing is read yet.

    Raises:
        OSError: If the folder can't be read.
    """
    rows = []
    with os.scandir(folder) as found:
        for item in found:
            if not item.name.endswith(".toml") or item.name.startswith("."):
                continue
            try:
                seconds = item.stat().st_mtime
            except OSError:
                seconds = 0.0  # gone since, or a link to nothing: reading it will say so
            rows.append(Row(Path(item.path), datetime.fromtimestamp(seconds).astimezone()))
    return sorted(rows, key=lambda row: row.touched, reverse=True)


def read_row(row: Row) -> Row:
    """Read a file of the bench; whatever is wrong with it becomes part of its row."""
    try:
        kind = kind_of(row.path)
        if kind is kinds.Kind.RECORD:
            return _record_row(row, read_record(row.path))
        if kind is not kinds.Kind.SETUP or _another_programs(row.path):
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
        touched=record.entries[-1].at,
        phase="signed off" if standing.closed else phase_of(Scene(build, standing)),
        far=_far(standing),
        outstanding=", ".join(_outstanding(standing, record)),
    )


def _far(standing: Standing) -> str:
    valves = standing.valves.values()
    proved = sum(one.proof is not None for one in valves)
    read = sum(one.count_stands for one in valves)
    if proved:
        return f"{proved} of {len(valves)} proved"
    return f"{read} of {len(valves)} read" if read else f"0 of {len(valves)} read"


def _outstanding(standing: Standing, record: Record) -> Iterable[str]:
    if is_rehearsal(record.head):
        yield "rehearsal"
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


class Shelf:
    """The rows of a folder: which are in sight, which were read."""

    def __init__(self, rows: list[Row]) -> None:
        self.rows = rows
        self.shown = list(range(len(rows)))
        self._unread = dict.fromkeys(range(len(rows)))

    def find(self, typed: str) -> None:
        """Show only rows whose name holds every word typed."""
        words = typed.lower().split()
        self.shown = [n for n in range(len(self.rows)) if self._fits(n, words)]

    def _fits(self, number: int, words: list[str]) -> bool:
        row = self.rows[number]
        known = f"{row.path.stem} {row.phase} {row.kind.value}".lower()
        return row.kind is not Kind.OTHER and all(word in known for word in words)

    def next_unread(self, first: int, last: int) -> int | None:
        """The next row to read: of those in sight before any other.

        Args:
            first: The first row in sight, counted among those shown.
            last: One past the last.
        """
        for number in self.shown[first:last]:
            if number in self._unread:
                return number
        return next(iter(self._unread), None)

    def took(self, number: int, row: Row) -> None:
        """Put in what a row turned out to be."""
        self.rows[number] = row
        self._unread.pop(number, None)
        if row.kind is Kind.OTHER and number in self.shown:
            self.shown.remove(number)

    @property
    def unread(self) -> int:
        """How many were not read yet."""
        return len(self._unread)
