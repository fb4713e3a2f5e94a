"""A record read whole: seals first, on bytes; then its head; then its entries. Never writes."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import Annotated, Any, cast

from pydantic import ConfigDict, Field, ValidationError

from heelwise.documents.entries import AnyEntry
from heelwise.documents.entry_text import entry_faults, parse_entry
from heelwise.documents.faults import FILE, MOST_TOLD, Fault, Faulty, quoted
from heelwise.documents.model_faults import faults_of
from heelwise.documents.procedure import Procedure, parse_procedure, procedure_digest
from heelwise.documents.setup import FORMAT, Setup, format_faults, parse_setup
from heelwise.documents.toml_reading import parse_toml
from heelwise.documents.typed_fields import Paragraph, ShortLine, Table
from heelwise.storage.errors import StorageError
from heelwise.storage.journal import read
from heelwise.storage.placing import CAP as RECORD_CAP
from heelwise.storage.seals import Scan, State, scan

_LIKE_A_RECORD = re.compile(rb"^[ \t]*\[+[ \t]*(build|entry)[ \t]*\]", re.MULTILINE)
_FORMAT = re.compile(rb"\Aformat = ([1-9][0-9]{0,8})\r?\n")
TORN = "the end is torn: what follows the last sealed entry was never finished"


class BuildTable(Table):
    """[build]: what the build is, who began it, and all that its procedure said then."""

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
    """The part of a record that never changes."""

    setup: Setup
    build: BuildTable
    procedure: Procedure


@dataclass(frozen=True)
class Record:
    """A record as read: its head, its sealed entries, and how its bytes are.

    `signoff` holds the rows of every signing, oldest first; each carries the
    number of the entry that signed it.
    """

    file: Path
    head: Head
    entries: tuple[AnyEntry, ...]
    signoff: tuple[Mapping[str, object], ...] = ()
    scan: Scan | None = field(default=None, compare=False)

    @property
    def last_seal(self) -> str:
        """The seal of the last entry, printed on the sheet."""
        return self.entries[-1].seal if self.entries else ""

    @property
    def torn(self) -> bool:
        """Whether bytes follow the last sealed entry."""
        return self.scan is not None and self.scan.state is State.TORN

    @property
    def last_signing(self) -> tuple[Mapping[str, object], ...]:
        """The rows of the latest signing."""
        latest = max((cast(int, row.get("signed", 0)) for row in self.signoff), default=0)
        return tuple(row for row in self.signoff if row.get("signed") == latest)


def read_record(path: Path) -> Record:
    """Read a record to its last sealed entry; a torn end is left where it is.

    Raises:
        Faulty: If a seal is wrong, or the head or an entry can't be understood.
    """
    try:
        data, scan = read(path)
    except StorageError as error:
        raise Faulty(str(path), [Fault("file", error.problem, error.instead)]) from None
    return record_of(data, scan, path)


def record_of(data: bytes, scan: Scan, path: Path) -> Record:
    """Make a record of bytes whose seals were looked at.

    Raises:
        Faulty: If a seal is wrong, or the head or an entry can't be understood.
    """
    _refuse_newer(data, path)
    if not scan.blocks and not _LIKE_A_RECORD.search(data):
        instead = "name a record: a file with [build] and entries"
        raise Faulty(str(path), [Fault(FILE, "is no record", instead)])
    if scan.state is State.DAMAGED or not scan.blocks:
        raise Faulty(str(path), [seal_fault(scan)])
    raw = parse_toml(data[: scan.sealed_end], str(path), RECORD_CAP)
    head = _head(raw, str(path))
    tables = raw.get("entry", [])
    seals = [block.seal for block in scan.blocks]
    if not isinstance(tables, list) or [t.get("seal") for t in tables] != seals:
        problem = "are not the entries its seals were found for"
        raise Faulty(str(path), [Fault("entry", problem, "an untouched record")])
    entries = tuple(parse_entry(t, n, str(path)) for n, t in enumerate(tables, start=1))
    _check_begun(entries, str(path))
    return Record(path, head, entries, _signoff(raw, str(path)), scan)


def newer_format(data: bytes) -> list[Fault]:
    """Tell by a record's first line alone whether it is of a newer format.

    A newer format may be sealed otherwise, and is not damaged for that.

    Returns:
        One fault, or none.
    """
    found = _FORMAT.match(data)
    faults = format_faults({"format": int(found[1])}) if found else []
    return [fault for fault in faults if "newer" in fault.problem]


def _refuse_newer(data: bytes, path: Path) -> None:
    faults = newer_format(data)
    if not faults:
        return
    found = scan(_FORMAT.sub(f"format = {FORMAT}\n".encode(), data, count=1))
    if found.blocks:  # it is one of ours but for its number
        problem = "its seal does not agree with the file before it: the format's number was changed"
        raise Faulty(str(path), [Fault("entry 1", problem, f"format = {FORMAT}, as it was made")])
    raise Faulty(str(path), faults)


def seal_fault(scan: Scan) -> Fault:
    """The fault of a record whose seals don't all agree."""
    fault = scan.fault
    if fault is None:
        return Fault("entry 1", "no sealed entry", "a record made by this program")
    return Fault(f"entry {fault.entry}", fault.problem, fault.instead)


def record_faults(path: Path) -> list[Fault]:
    """Everything wrong with a record, its torn end included; for `check`."""
    try:
        record = read_record(path)
    except Faulty as faulty:
        return list(faulty.faults)
    torn = [seal_fault(record.scan)] if record.torn and record.scan else []
    return [*_not_understood(record), *torn]


def must_be_understood(record: Record) -> None:
    """Refuse a record that a build can't go on from, though its seals agree.

    Raises:
        Faulty: If an entry names no valve of the engine, or a reading is none.
    """
    faults = _not_understood(record)
    if faults:
        raise Faulty(str(record.file), faults)


def _not_understood(record: Record) -> list[Fault]:
    return entry_faults(record.entries, record.head.setup.make_engine().valves)[:MOST_TOLD]


def _head(raw: dict[str, Any], file: str) -> Head:
    faults = format_faults(raw)
    if faults:
        raise Faulty(file, faults)
    try:
        build = BuildTable.model_validate(raw.get("build"))
    except ValidationError as error:
        raise Faulty(file, faults_of(error, "build", model=BuildTable)) from None
    plain = {k: v for k, v in raw.items() if k not in ("build", "entry", "signoff")}
    setup = parse_setup(plain, file, resolve=False)
    return Head(setup, build, _procedure(build, file))


def _procedure(build: BuildTable, file: str) -> Procedure:
    """The procedure as it stood when the build was begun, out of the record itself."""
    data = build.procedure_text.encode()
    digest = procedure_digest(data)
    if digest != build.procedure_digest:
        problem = "is not the text its digest was made of"
        raise Faulty(file, [Fault("build.procedure_text", problem, "an untouched record")])
    try:
        return _parsed(build.procedure_text, build.procedure, digest)
    except Faulty as faulty:
        raise Faulty(faulty.file or f"{file}, the procedure in it", faulty.faults) from None


@lru_cache(maxsize=16)
def _parsed(text: str, name: str, digest: str) -> Procedure:
    """Known by its whole text: most records of a folder hold the same few procedures."""
    return parse_procedure(parse_toml(text.encode(), ""), name, digest)


def _check_begun(entries: tuple[AnyEntry, ...], file: str) -> None:
    if not entries or entries[0].body.kind != "begun":
        raise Faulty(file, [Fault("entry 1.kind", "is not begun", 'entry 1 has kind = "begun"')])


def _signoff(raw: dict[str, Any], file: str) -> tuple[Mapping[str, object], ...]:
    rows = raw.get("signoff", [])
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise Faulty(file, [Fault("signoff", "is not written as tables", "an untouched record")])
    for number, row in enumerate(rows, start=1):
        signed = row.get("signed")
        if not isinstance(signed, int) or isinstance(signed, bool):
            problem = f"is {quoted(signed)}" if "signed" in row else "is missing"
            instead = "the number of the entry that signed"
            raise Faulty(file, [Fault(f"signoff {number}.signed", problem, instead)])
    return tuple(rows)
