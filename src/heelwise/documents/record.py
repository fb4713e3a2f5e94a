"""A record: read whole, seals first, then head and entries; or opened for work."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path
from typing import Annotated, Any, NamedTuple

import tomli_w
from pydantic import ConfigDict, Field, ValidationError

from heelwise import __version__
from heelwise.documents import entry_text as text
from heelwise.documents.entries import AnyEntry, Begun, Draft
from heelwise.documents.entry_base import Entry, NotKnown
from heelwise.documents.faults import FILE, MOST_LISTED, Fault, Faulty, faults_of
from heelwise.documents.fields import Paragraph, ShortLine, Table
from heelwise.documents.files import (
    RECORD_MARK,
    known_format,
    like_a_record,
    own_tables,
    parse_toml,
)
from heelwise.documents.procedure import Procedure, kept_procedure, procedure_digest
from heelwise.documents.setup import Setup, parse_setup
from heelwise.storage.errors import StorageError
from heelwise.storage.files import Files
from heelwise.storage.journal import Journal, read
from heelwise.storage.seals import Scan, State

_FORMAT = re.compile(rb"\Aformat = ([1-9][0-9]{0,8})\r?\n")
_NOT_KNOWN = "not known to this version"


class BuildTable(Table):
    """[build]: what the build is, who began it, and all of its procedure as it was then."""

    model_config = ConfigDict(extra="allow")

    name: ShortLine
    begun: datetime
    by: ShortLine
    procedure: ShortLine
    procedure_digest: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
    procedure_text: str
    seed: int | None = None
    planted: list[Paragraph] | None = None


@dataclass(frozen=True)
class Head:
    """The part of a record that never changes; `unknown`: keys this version doesn't know."""

    setup: Setup
    build: BuildTable
    procedure: Procedure
    unknown: tuple[str, ...] = ()


@dataclass(frozen=True)
class Record:
    """A record as read; `signoff`: the rows of every signing, each with the entry that signed.

    `more`: names of tables that stand among the entries, where this version puts none.
    """

    file: Path
    head: Head
    entries: tuple[AnyEntry, ...]
    signoff: tuple[Mapping[str, object], ...] = ()
    scan: Scan | None = field(default=None, compare=False)
    more: tuple[str, ...] = ()

    @property
    def last_seal(self) -> str:
        """The seal of the last entry, printed on the sheet."""
        return self.entries[-1].seal if self.entries else ""

    @property
    def torn(self) -> bool:
        """Whether bytes follow the last sealed entry."""
        return self.scan is not None and self.scan.state is State.TORN

    @property
    def unknown(self) -> tuple[str, ...]:
        """Where there is what this version doesn't know: "job", "lifter.color", "entry 7"."""
        places = [*self.head.unknown, *self.more]
        for entry in self.entries:
            keys = (
                [""] if isinstance(entry.body, NotKnown) else [f".{key}" for key in entry.unknown]
            )
            places += [f"entry {entry.number}{key}" for key in keys]
        return tuple(places)


def read_record(path: Path) -> Record:
    """Read a record to its last sealed entry, a torn end left where it is; or Faulty."""
    try:
        data, scanned = read(path)
    except StorageError as error:
        raise Faulty(str(path), [Fault(FILE, error.problem, error.instead)]) from None
    return record_of(data, scanned, path)


def record_of(data: bytes, scan: Scan, path: Path) -> Record:
    """Make a record of bytes; Faulty if a seal is wrong, or head or an entry isn't understood."""
    file = str(path)
    head = head_of(data, scan, path)
    rest, lines_before = data[scan.head_end : scan.sealed_end], data.count(b"\n", 0, scan.head_end)
    tables: Any = own_tables(rest) or parse_toml(b"\n" * lines_before + rest, file)
    kept = tuple(text.parse_entry(row, n, file) for n, row in enumerate(tables["entry"], start=1))
    if not isinstance(kept[0].body, Begun):
        raise Faulty(file, [Fault("entry 1.kind", "isn't begun", 'entry 1 has kind = "begun"')])
    rows = tables.get("signoff", [])
    if not all(isinstance(row, dict) and type(row.get("signed")) is int for row in rows):
        problem = "has a row without the number of the entry that signed"
        raise Faulty(file, [Fault("signoff", problem, "an untouched record")])
    more = tuple(key for key in tables if key not in ("entry", "signoff"))
    return Record(path, head, kept, tuple(rows), scan, more)


def head_of(data: bytes, scan: Scan, path: Path) -> Head:
    """A record's head alone; Faulty if a seal is wrong, or it isn't understood."""
    file = str(path)
    if match := _FORMAT.match(data):
        known_format({"format": int(match[1])}, file)  # a newer one may be sealed otherwise
    if not scan.blocks and not like_a_record(data):
        instead = "name a record: a file with [build] and entries"
        raise Faulty(file, [Fault(FILE, "isn't a record", instead)])
    if scan.state is State.DAMAGED:
        raise Faulty(file, _seal_faults(scan))
    head = data[: scan.head_end]
    return _head(own_tables(head) or parse_toml(head, file), file)


def _seal_faults(scan: Scan) -> list[Fault]:
    return [Fault.at(f"entry {scan.fault.entry}", scan.fault)] if scan.fault else []


def record_faults(record: Record) -> list[Fault]:
    """Everything wrong with a record that could be read, its torn end included; for `check`."""
    return [*_faults_of_entries(record), *(_seal_faults(record.scan) if record.scan else ())]


def record_notes(record: Record) -> list[Fault]:
    """What this version doesn't know of a record: no fault, but it can't walk it on."""
    instead = "the version that made it can go on with it; this one prints and checks it"
    return [Fault(where, f"is {_NOT_KNOWN}", instead) for where in record.unknown[:MOST_LISTED]]


def check_entries(record: Record) -> None:
    """Raise Faulty where a reading can't be worked with, or a valve isn't the engine's."""
    if faults := _faults_of_entries(record):
        raise Faulty(str(record.file), faults)


def _faults_of_entries(record: Record) -> list[Fault]:
    return text.entry_faults(record.entries, record.head.setup.make_engine().valves)[:MOST_LISTED]


def _head(raw: dict[str, Any], file: str) -> Head:
    try:
        build = BuildTable.model_validate(raw.get("build"))
    except ValidationError as error:
        raise Faulty(file, faults_of(error, "build", model=BuildTable)) from None
    plain = {k: v for k, v in raw.items() if k != "build"}
    setup = parse_setup(plain, file, resolve=False)
    if procedure_digest(build.procedure_text.encode()) != build.procedure_digest:
        problem = "is not the text its digest was made of"
        raise Faulty(file, [Fault("build.procedure_text", problem, "an untouched record")])
    try:
        procedure, not_known = kept_procedure(build.procedure_text, build.procedure)
    except Faulty as faulty:
        raise Faulty(f"{file}, the procedure in it", faulty.faults) from None
    places = [f"build.{key}" for key in build.model_extra or ()]
    places += [f"build.procedure_text, {key}" for key in not_known]
    return Head(setup, build, procedure, (*setup.unknown, *places))


# ---------------------------------------- opened for work


class Rehearsal(NamedTuple):
    """What a rehearsal keeps in [build]: its seed and the faults planted by it."""

    seed: int
    planted: Sequence[str]


class OpenRecord:
    """A record with its journal. One writer at a time; close it, or use it with `with`."""

    def __init__(self, record: Record, journal: Journal) -> None:
        self.head = record.head
        self.entries = list(record.entries)
        self.signoff = list(record.signoff)
        self.journal = journal

    @property
    def file(self) -> Path:
        """Where the record is."""
        return self.journal.path

    def keep(
        self,
        draft: Draft,
        at: datetime,
        by: str,
        outcome: Iterable[Mapping[str, object]] | None = None,
    ) -> AnyEntry:
        """Append an entry; when this returns it is on the disk, else NotKept: it doesn't count.

        `outcome`: rows to write as `[[signoff]]` just before an entry that signs off.
        """
        number = len(self.entries) + 1
        drafted = Entry(number, at, by, draft.body, tuple(sorted(set(draft.rests_on))))
        # What couldn't be read again is never written.
        kept = text.parse_entry(text.raw_entry(drafted), number, str(self.file))
        rows = [{"signed": number, **row} for row in outcome or ()]
        pairs = ("\n".join(text.one_line_pair(k, v) for k, v in row.items()) for row in rows)
        signed = "".join(f"\n[[signoff]]\n{lines}\n" for lines in pairs)
        kept = replace(kept, seal=self.journal.append(signed + text.entry_text(kept)))
        self.entries.append(kept)
        self.signoff += rows
        return kept

    def as_record(self) -> Record:
        """The record as it stands, for a sheet."""
        return Record(self.file, self.head, tuple(self.entries), tuple(self.signoff))

    def close(self) -> None:
        """Give the lock back."""
        self.journal.close()

    def __enter__(self) -> OpenRecord:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def open_record(path: Path, by: str = "", files: Files | None = None) -> OpenRecord:
    """Open a record for work, setting a torn end aside beside it; a second opener is told `by`.

    StorageError if it is held by another or can't be read; Faulty if it can't be worked with or
    holds what this version doesn't know, and then it is left as it is.
    """
    records: list[Record] = []

    def accept(data: bytes, scanned: Scan) -> None:
        record = record_of(data, scanned, path)
        check_entries(record)
        if unknown := record_notes(record):
            raise Faulty(str(path), unknown)
        records.append(record)

    journal = Journal.open_for_work(path, files or Files(), by, accept)
    return OpenRecord(records[0], journal)


def begin_record(
    path: Path,
    setup: Setup,
    procedure: Procedure,
    by: str,
    at: datetime,
    rehearsal: Rehearsal | None = None,
    files: Files | None = None,
) -> OpenRecord:
    """Make a record of a setup with entry 1, and open it for work, or StorageError."""
    build = BuildTable(
        name=path.stem,
        begun=at,
        by=by,
        procedure=procedure.id,
        procedure_digest=procedure.digest,
        procedure_text=procedure.text,
        seed=rehearsal.seed if rehearsal else None,
        planted=list(rehearsal.planted) if rehearsal else None,
    )
    begun = Begun(
        procedure=procedure.id, procedure_digest=procedure.digest, program=f"heelwise {__version__}"
    )
    tables = {**setup.to_toml_dict(), "build": build.model_dump(exclude_none=True)}
    first, rest = tomli_w.dumps(tables).split("\n", 1)  # the format stands before all else
    head = f"{first}\n{RECORD_MARK}\n{rest}"
    entry = Entry(1, at, by, begun)
    journal = Journal.create(path, head, text.entry_text(entry), files or Files(), by)
    kept = (replace(entry, seal=journal.last_seal),)
    return OpenRecord(Record(path, Head(setup, build, procedure), kept), journal)
