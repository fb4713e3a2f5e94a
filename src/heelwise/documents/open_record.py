"""A record opened for work: each entry appended, sealed and on the disk before it counts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import tomli_w

from heelwise import __version__
from heelwise.documents.entries import AnyEntry, Begun, Draft, Recovered
from heelwise.documents.entry_base import Entry
from heelwise.documents.entry_text import entry_text, one_line_pair
from heelwise.documents.faults import Faulty
from heelwise.documents.files import RECORD_MARK
from heelwise.documents.procedure import Procedure
from heelwise.documents.record import (
    BuildTable,
    Head,
    Record,
    check_entries,
    newer_format,
    record_notes,
    record_of,
)
from heelwise.documents.setup import Setup
from heelwise.storage.files import Files
from heelwise.storage.journal import Aside, Journal, beginning, read


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
        self._journal = journal

    @property
    def file(self) -> Path:
        """Where the record is."""
        return self._journal.path

    def asides_to_enter(self) -> tuple[Aside, ...]:
        """Torn ends that lie beside the record and that no entry names yet."""
        named = {e.body.aside for entry in self.entries if (e := entry.when(Recovered))}
        return tuple(aside for aside in self._journal.asides() if aside.file not in named)

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
        rests_on = tuple(sorted(set(draft.rests_on)))
        rows = [{"signed": number, **row} for row in outcome or ()]
        text = entry_text(Entry(number, at, by, draft.body, rests_on))
        seal = self._journal.append(_signoff_text(rows) + text)
        kept = Entry(number, at, by, draft.body, rests_on, seal)
        self.entries.append(kept)
        self.signoff += rows
        return kept

    def go_on_elsewhere(self, path: Path) -> None:
        """After a failure: put all that was acknowledged in a new file and go on there."""
        self._journal = self._journal.rescue(path)

    def try_again_here(self) -> None:
        """After a failure: go on here if all acknowledged is on the disk, or StorageError."""
        self._journal.recover_in_place()

    def unkept_text(self) -> str:
        """After a failure: what the file lacks, to be pasted at its end; "" where nothing is."""
        return self._journal.unkept_text()

    def write_unkept(self) -> Path | None:
        """Write that in a file beside the record, or wherever it can be, or StorageError."""
        return self._journal.write_unkept()

    def as_record(self) -> Record:
        """The record as it stands, for a sheet."""
        return Record(self.file, self.head, tuple(self.entries), tuple(self.signoff))

    def close(self) -> None:
        """Give the lock back."""
        self._journal.close()

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
    text = entry_text(Entry(1, at, by, begun))
    journal = Journal.create(path, head_text(setup, build), text, files or Files(), by)
    kept = Entry(1, at, by, begun, (), journal.last_seal)
    return OpenRecord(Record(path, Head(setup, build, procedure), (kept,)), journal)


def head_text(setup: Setup, build: BuildTable) -> str:
    """The head of a record: the setup, then [build], no text over several lines."""
    tables = {**setup.to_toml_dict(), "build": build.model_dump(exclude_none=True)}
    first, rest = tomli_w.dumps(tables).split("\n", 1)  # the format stands before all else
    return f"{first}\n{RECORD_MARK}\n{rest}"


def _signoff_text(rows: list[dict[str, object]]) -> str:
    return "".join(
        "\n[[signoff]]\n" + "\n".join(one_line_pair(k, v) for k, v in row.items()) + "\n"
        for row in rows
    )
