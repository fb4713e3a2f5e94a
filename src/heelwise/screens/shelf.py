"""What the bench lists: the folder's files at once, and what each holds once it was read."""

from __future__ import annotations

import os
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import Enum
from operator import attrgetter
from pathlib import Path

_FIRST_S = datetime(2, 1, 1, tzinfo=UTC).timestamp()
_LAST_S = datetime(9998, 1, 1, tzinfo=UTC).timestamp()


class RowKind(Enum):
    """What a file turned out to be."""

    UNREAD = "…"
    RECORD = "build"
    SETUP = "setup"
    OTHER = "other"
    BROKEN = "can't be used"


@dataclass(frozen=True, slots=True)
class Row:
    """One file of the folder. Of thousands few are in sight: paths and times are made on asking.

    Attributes:
        file: the file's name with its folder.
        seconds: when the file was touched last, since the epoch.
        phase: of a record, "signed off" once it is closed.
        far: how far a record is, or what a setup is of, in words.
        done: valves done of `total`, for a bar.
        job: customer or engine, where the setup tells.
        faults: what makes the file unusable.
        last: when a record's last entry was made.
        virtual: whether a record is a rehearsal.
    """

    file: str
    seconds: float
    kind: RowKind = RowKind.UNREAD
    phase: str = ""
    far: str = ""
    done: int = 0
    total: int = 0
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
        seconds = min(max(self.seconds, _FIRST_S), _LAST_S)
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


def _fits(row: Row, words: list[str]) -> bool:
    known = f"{row.name} {row.phase} {row.job} {row.kind.value}".lower()
    return all(word in known for word in words)


class Shelf:
    """The rows of a folder: which are in sight, which were read.

    Whoever reads the files, maybe in a thread of its own, only asks `next_unread`.
    """

    def __init__(self, rows: list[Row]) -> None:
        self.rows = rows
        self.shown = list(range(len(rows)))
        self._to_read = dict.fromkeys(range(len(rows)))
        self.unread = len(rows)

    def place_of(self, file: str) -> int:
        """Where a file stands among the rows shown; the first place if it doesn't."""
        places = (place for place, n in enumerate(self.shown) if self.rows[n].file == file)
        return next(places, 0)

    def find(self, typed: str) -> None:
        """Show only rows whose name, job or phase holds every word typed."""
        words = typed.lower().split()
        self.shown = [
            number
            for number, row in enumerate(self.rows)
            if row.kind is not RowKind.OTHER and (not words or _fits(row, words))
        ]

    def next_unread(self, first: int, last: int) -> int | None:
        """Take the next row to read: of those in sight, from first to before last, first."""
        sight = (number for number in self.shown[first:last] if number in self._to_read)
        number = next(sight, next(iter(self._to_read), None))
        if number is not None:
            del self._to_read[number]
        return number

    def update(self, number: int, row: Row) -> None:
        """Put in what a row turned out to be."""
        self.rows[number] = row
        self.unread -= 1
        if row.kind is RowKind.OTHER and number in self.shown:
            self.shown.remove(number)
