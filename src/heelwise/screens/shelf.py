"""What the bench lists: the folder's files at once, and what each holds once it was read."""

from __future__ import annotations

import os
from dataclasses import dataclass, replace
from datetime import datetime
from enum import Enum
from operator import attrgetter
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:  # no model is loaded before the bench is painted
    pass

_LAST_S = 2e11
"""A time within the calendar, since the epoch."""


class RowKind(Enum):
    """What a file turned out to be."""

    UNREAD = "…"
    RECORD = "build"
    SETUP = "setup"
    OTHER = "other"
    BROKEN = "broken"


@dataclass(frozen=True, slots=True)
class Row:
    """One file of the folder. Of thousands few are in sight: paths and times are made on asking.

    `seconds`: when it was touched last, since the epoch; `last`: when a record's last entry was
    made. `far`: how far a record is, or what a setup is of. `job`: customer or engine, if known.
    """

    file: str
    seconds: float
    kind: RowKind = RowKind.UNREAD
    phase: str = ""
    far: str = ""
    by: str = ""
    job: str = ""
    outstanding: str = ""
    faults: tuple[str, ...] = ()
    last: datetime | None = None
    method: str = ""
    virtual: bool = False

    @property
    def path(self) -> Path:
        """The file."""
        return Path(self.file)

    @property
    def name(self) -> str:
        """The file's name without folder and ending."""
        return os.path.basename(self.file).removesuffix(".toml")

    @property
    def touched(self) -> datetime:
        """When it was worked on last; a file's time can lie beyond any calendar."""
        seconds = min(max(self.seconds, 0.0), _LAST_S)
        return self.last or datetime.fromtimestamp(seconds).astimezone()


def list_folder(folder: Path) -> list[Row]:
    """Every .toml file of a folder, the one touched last first; nothing is read yet.

    Raises OSError if the folder can't be read.
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
            rows.append(Row(item.path, seconds))
    return sorted(rows, key=attrgetter("seconds"), reverse=True)


class Shelf:
    """The rows of a folder: which are in sight, which were read.

    Whoever reads the files, maybe in a thread of its own, only asks `next_unread`.
    """

    def __init__(self, rows: list[Row]) -> None:
        self.rows = rows
        self.shown = list(range(len(rows)))
        self._to_read = dict.fromkeys(range(len(rows)))
        self.unread = len(rows)
        self.longest = max((len(row.name) for row in rows), default=0)

    def place_of(self, name: str) -> int:
        """Where a file stands among the rows shown; the first place if it doesn't."""
        places = (place for place, n in enumerate(self.shown) if self.rows[n].name == name)
        return next(places, 0)

    def find(self, typed: str) -> None:
        """Show only rows whose name, job or phase holds every word typed."""
        words = typed.lower().split()

        def fits(row: Row) -> bool:
            known = f"{row.name} {row.phase} {row.job} {row.kind.value}".lower()
            return row.kind is not RowKind.OTHER and all(word in known for word in words)

        self.shown = [number for number, row in enumerate(self.rows) if fits(row)]

    def next_unread(self, first: int, last: int) -> int | None:
        """Take the next row to read: of those in sight, from first to before last, first."""
        sight = (number for number in self.shown[first:last] if number in self._to_read)
        number = next(sight, next(iter(self._to_read), None))
        if number is not None:
            del self._to_read[number]
        return number

    def update(self, number: int, row: Row) -> None:
        """Put in what a row turned out to be; after the last, sort by when each was worked on."""
        self.rows[number] = row
        self.unread -= 1
        if row.kind is RowKind.OTHER and number in self.shown:
            self.shown.remove(number)
        if not self.unread:
            ours = (each for each in self.rows if each.kind is not RowKind.OTHER)
            self.rows = sorted(ours, key=attrgetter("touched"), reverse=True)
            self.find("")


def read_row(row: Row) -> Row:
    """Read a file of the bench; whatever is wrong with it becomes part of its row."""
    from heelwise.documents.faults import Faulty
    from heelwise.documents.files import FileKind, kind_of, read_toml
    from heelwise.documents.setup import Setup, load_setup
    from heelwise.storage.errors import StorageError

    try:
        kind = kind_of(row.path)
        if kind is FileKind.RECORD:
            return _record_row(row)
        tables = read_toml(row.path) if kind is FileKind.SETUP else {"other": True}
        if tables and not tables.keys() & {"format", *Setup.model_fields}:
            return replace(row, kind=RowKind.OTHER)  # another program's, or no setup
        setup = load_setup(row.path)
        far = f"{setup.make_engine().cylinders} cylinders"
        return replace(row, kind=RowKind.SETUP, far=far, job=setup.whose)
    except Faulty as faulty:
        return replace(row, kind=RowKind.BROKEN, faults=tuple(str(f) for f in faulty.faults))
    except (StorageError, OSError, ValueError) as error:
        return replace(row, kind=RowKind.BROKEN, faults=(str(error),))


def _record_row(row: Row) -> Row:
    from heelwise.documents.record import read_record
    from heelwise.session import is_rehearsal
    from heelwise.walk.scene import scene_of
    from heelwise.walk.walker import outstanding, phase_of, progress

    record = read_record(row.path)
    scene = scene_of(record.head.setup, record.head.procedure, record.entries)
    _, far = progress(scene)
    return replace(
        row,
        kind=RowKind.RECORD,
        last=record.entries[-1].at,
        phase="signed off" if scene.state.closed else phase_of(scene),
        far=far,
        by=scene.state.by,
        job=record.head.setup.whose,
        outstanding=", ".join([*(["torn end"] if record.torn else []), *outstanding(scene)]),
        method=record.head.build.procedure,
        virtual=is_rehearsal(record.head),
    )
