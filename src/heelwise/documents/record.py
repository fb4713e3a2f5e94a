"""A record: read whole, seals first, then head and entries; or opened for work."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import Annotated, Any

import tomli_w
from pydantic import ConfigDict, Field, ValidationError

from heelwise import __version__
from heelwise.documents.entries import AnyEntry, Begun, Draft
from heelwise.documents.entry_base import Entry, NotKnown
from heelwise.documents.entry_text import (
    entry_faults,
    entry_text,
    one_line_pair,
    own_tables,
    parse_entry,
    raw_entry,
)
from heelwise.documents.faults import FILE, MOST_LISTED, Fault, Faulty, faults_of, quoted
from heelwise.documents.fields import Paragraph, ShortLine, Table, without_unknown
from heelwise.documents.files import FORMAT, RECORD_MARK, format_faults, like_a_record, parse_toml
from heelwise.documents.procedure import Procedure, kept_procedure, procedure_digest
from heelwise.documents.setup import Setup, parse_setup
from heelwise.storage.errors import StorageError
from heelwise.storage.files import Files
from heelwise.storage.journal import Journal, beginning, read
from heelwise.storage.seals import Scan, State
from heelwise.storage.seals import scan as scan_seals
from heelwise.storage.whole_files import RECORD_CAP

_FORMAT = re.compile(rb"\Aformat = ([1-9][0-9]{0,8})\r?\n")
_NOT_KNOWN = "not known to this version"


class BuildTable(Table):
    """[build]: what the build is, who began it, and all of its procedure as it was then."""

    model_config = ConfigDict(arbitrary_types_allowed=True)

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

    `slipped_in`: tables that stand among the entries, where a walk puts none.
    """

    file: Path
    head: Head
    entries: tuple[AnyEntry, ...]
    signoff: tuple[Mapping[str, object], ...] = ()
    scan: Scan | None = field(default=None, compare=False)
    slipped_in: tuple[str, ...] = ()

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
        places = list(self.head.unknown)
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
    _check_seals(data, scan, file)
    raw, slipped_in = _parsed(data, scan, file)
    head = _head(raw, file)
    tables: Any = raw.get("entry", [])
    if [table.get("seal") for table in tables] != [block.seal for block in scan.blocks]:
        problem = "are not the entries its seals were found for"
        raise Faulty(file, [Fault("entry", problem, "an untouched record")])
    kept = tuple(parse_entry(table, n, file) for n, table in enumerate(tables, start=1))
    if not isinstance(kept[0].body, Begun):
        raise Faulty(file, [Fault("entry 1.kind", "isn't begun", 'entry 1 has kind = "begun"')])
    return Record(path, head, kept, _signoff(raw, file), scan, slipped_in)


def head_of(data: bytes, scan: Scan, path: Path) -> Head:
    """A record's head alone; Faulty if a seal is wrong, or it isn't understood."""
    _check_seals(data, scan, str(path))
    return _head(_head_tables(data[: scan.head_end], str(path)), str(path))


def _check_seals(data: bytes, scan: Scan, file: str) -> None:
    if faults := newer_format(data):
        if scan_seals(_FORMAT.sub(f"format = {FORMAT}\n".encode(), data, count=1)).blocks:
            # It is one of ours but for its number.
            problem = "its seal does not agree with the file before it: the format's number was "
            faults = [Fault("entry 1", f"{problem}changed", f"format = {FORMAT}, as it was made")]
        raise Faulty(file, faults)
    if not scan.blocks and not like_a_record(data):
        instead = "name a record: a file with [build] and entries"
        raise Faulty(file, [Fault(FILE, "isn't a record", instead)])
    if scan.state is State.DAMAGED or not scan.blocks:
        raise Faulty(file, [_seal_fault(scan)])


def _parsed(data: bytes, scan: Scan, file: str) -> tuple[dict[str, Any], tuple[str, ...]]:
    """The whole document, and tables of the head that stand among the entries.

    Entries are read by their own quick reader where they are as we write them.
    """
    head = _head_tables(data[: scan.head_end], file)
    rest = data[scan.head_end : scan.sealed_end].replace(b"\r\n", b"\n")
    try:
        tables = own_tables(rest.decode("utf-8"))
    except UnicodeDecodeError:
        tables = None
    if tables is None or "entry" in head or "signoff" in head:
        whole = parse_toml(data[: scan.sealed_end], file, RECORD_CAP)
        known = {**whole, **head}
        return known, tuple(
            key for key in whole if key not in _GROWS and whole[key] != head.get(key)
        )
    return {**head, **tables}, ()


_GROWS = ("entry", "signoff")
_PROCEDURE = re.compile(rb'^procedure_text = "(?:[^"\\\n]++|\\.)*+"\r?$', re.MULTILINE)


def _head_tables(data: bytes, file: str) -> dict[str, Any]:
    """The tables of a head. Its procedure is most of it, and the same in many records."""
    lines = _PROCEDURE.findall(data)
    if len(lines) == 1 and b'"""' not in data and b"'''" not in data:
        with suppress(Faulty):  # it is told of the whole
            rest = data.replace(lines[0], b'procedure_text = ""')
            head: dict[str, Any] = parse_toml(rest, file, RECORD_CAP)
            build = head.get("build")
            if isinstance(build, dict) and build.get("procedure_text") == "":
                return {**head, "build": {**build, "procedure_text": _procedure_text(lines[0])}}
    return parse_toml(data, file, RECORD_CAP)


@lru_cache(maxsize=32)
def _procedure_text(line: bytes) -> object:
    return parse_toml(line, "", RECORD_CAP)["procedure_text"]


def newer_format(data: bytes) -> list[Fault]:
    """Tell by a record's first line alone whether it is of a newer format: one fault, or none.

    A newer format may be sealed otherwise, and is not damaged for that.
    """
    match = _FORMAT.match(data)
    faults = format_faults({"format": int(match[1])}) if match else []
    return [fault for fault in faults if "newer" in fault.problem]


def _seal_fault(scan: Scan) -> Fault:
    if scan.fault is None:
        return Fault("entry 1", "no sealed entry", "a record made by this program")
    return Fault.at(f"entry {scan.fault.entry}", scan.fault)


def record_faults(path: Path) -> list[Fault]:
    """Everything wrong with a record, its torn end included; for `check`."""
    try:
        record = read_record(path)
    except Faulty as faulty:
        return list(faulty.faults)
    torn = [_seal_fault(record.scan)] if record.torn and record.scan else []
    return [*_faults_of_entries(record), *torn]


def record_notes(record: Record) -> list[Fault]:
    """What this version doesn't know of a record: no fault, but it can't walk it on."""
    instead = "the version that made it can go on with it; this one prints and checks it"
    return [Fault(where, f"is {_NOT_KNOWN}", instead) for where in record.unknown[:MOST_LISTED]]


def check_entries(record: Record) -> None:
    """Raise Faulty where a reading can't be worked with, or a valve isn't the engine's."""
    if faults := _faults_of_entries(record):
        raise Faulty(str(record.file), faults)


def _faults_of_entries(record: Record) -> list[Fault]:
    return entry_faults(record.entries, record.head.setup.make_engine().valves)[:MOST_LISTED]


def _head(raw: dict[str, Any], file: str) -> Head:
    if faults := format_faults(raw):
        raise Faulty(file, faults)
    known, unknown = raw.get("build"), dict[str, object]()
    if isinstance(known, Mapping):
        known, unknown = without_unknown(BuildTable, known, "build")
    try:
        build = BuildTable.model_validate(known)
    except ValidationError as error:
        raise Faulty(file, faults_of(error, "build", model=BuildTable)) from None
    plain = {k: v for k, v in raw.items() if k not in ("build", "entry", "signoff")}
    setup = parse_setup(plain, file, resolve=False)
    if procedure_digest(build.procedure_text.encode()) != build.procedure_digest:
        problem = "is not the text its digest was made of"
        raise Faulty(file, [Fault("build.procedure_text", problem, "an untouched record")])
    try:
        procedure, not_known = kept_procedure(build.procedure_text, build.procedure)
    except Faulty as faulty:
        raise Faulty(f"{file}, the procedure in it", faulty.faults) from None
    places = (*setup.unknown, *unknown, *(f"build.procedure_text, {key}" for key in not_known))
    return Head(setup, build, procedure, places)


def _signoff(raw: dict[str, Any], file: str) -> tuple[Mapping[str, object], ...]:
    rows = raw.get("signoff", [])
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise Faulty(file, [Fault("signoff", "isn't written as tables", "an untouched record")])
    for number, row in enumerate(rows, start=1):
        signed = row.get("signed")
        if not isinstance(signed, int) or isinstance(signed, bool):
            problem = f"is {quoted(signed)}" if "signed" in row else "is missing"
            instead = "the number of the entry that signed"
            raise Faulty(file, [Fault(f"signoff {number}.signed", problem, instead)])
    return tuple(rows)


# ---------------------------------------- opened for work


@dataclass(frozen=True)
class Rehearsal:
    """What a rehearsal keeps in [build]: its seed and the faults planted by it."""

    seed: int
    planted: tuple[str, ...]


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
        kept = parse_entry(raw_entry(drafted), number, str(self.file))
        rows = [{"signed": number, **row} for row in outcome or ()]
        pairs = ("\n".join(one_line_pair(k, v) for k, v in row.items()) for row in rows)
        signed = "".join(f"\n[[signoff]]\n{lines}\n" for lines in pairs)
        kept = replace(kept, seal=self.journal.append(signed + entry_text(kept)))
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

    StorageError if it is held by another, damaged, or can't be read; Faulty if it can't be worked
    with or holds what this version doesn't know. One of a newer format is left as it is.
    """
    layer = files or Files()
    if newer_format(beginning(path, layer)):
        record_of(*read(path, layer), path)  # which raises, whatever else is wrong with it
    journal = Journal.open_for_work(path, files=layer, holder=by)
    try:
        assert journal.opened is not None, "an open journal was scanned"
        record = record_of(journal.data, journal.opened, path)
        check_entries(record)
        if unknown := record_notes(record):
            raise Faulty(str(path), unknown)
        return OpenRecord(record, journal)
    except BaseException:
        journal.close()
        raise


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
    head, text = f"{first}\n{RECORD_MARK}\n{rest}", entry_text(Entry(1, at, by, begun))
    journal = Journal.create(path, head, text, files or Files(), by)
    kept = Entry(1, at, by, begun, (), journal.last_seal)
    return OpenRecord(Record(path, Head(setup, build, procedure), (kept,)), journal)
