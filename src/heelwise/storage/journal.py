"""A record open for work: entries appended one by one, each on the drive before it counts."""

from collections.abc import Callable
from hashlib import sha256
from pathlib import Path
from types import TracebackType

from heelwise.storage import crash
from heelwise.storage.errors import (
    Changed,
    Damaged,
    FlushFailed,
    NotKept,
    StorageError,
    TooLarge,
    Unreadable,
    storage_errors,
)
from heelwise.storage.files import REAL, Files
from heelwise.storage.lock import RecordLock
from heelwise.storage.names import resolved
from heelwise.storage.record_file import CAP, ELSEWHERE, Aside, RecordFile
from heelwise.storage.seals import (
    Scan,
    State,
    entry_bytes,
    head_bytes,
    scan,
    scan_on,
    seal_line,
)
from heelwise.storage.whole_files import read_file, refuse_odd, write_somewhere

_NOT_OPENED = "it can't be opened for work"


def read(path: Path, files: Files = REAL) -> tuple[bytes, Scan]:
    """Read a record and check its seals, without a lock; Unreadable, TooLarge above 16 MiB."""
    with storage_errors(path, "it can't be read", Unreadable):
        data = read_file(files, Path(path), CAP)
    return data, scan(data)


def beginning(path: Path, files: Files = REAL) -> bytes:
    """Read at most 64 bytes of a record, its first line among them; Unreadable."""
    with storage_errors(path, "it can't be read", Unreadable):
        refuse_odd(files, path)
        fd = files.open(path, write=False)
        try:
            return files.read(fd, 64)
        finally:
            files.close(fd)


class Journal:
    """A record open for work, with its lock held and its acknowledged bytes in memory.

    `count`: entries acknowledged. `recovered`: what was set aside when it was opened, if it was
    torn. `opened`: what the seals said when it was opened or made. `trouble`: why nothing can be
    appended now.
    """

    def __init__(self, path: Path, files: Files, holder: str) -> None:
        """Lock a name; use `create` or `open_for_work` instead."""
        self.path = path
        self.count = 0
        self.last_seal = ""
        self.recovered: Aside | None = None
        self.opened = scan(b"")
        self._files = files
        self._holder = holder
        self._lock = RecordLock(path, files, holder)
        self._file = RecordFile(files, path)
        self._kept = bytearray()
        self._running = sha256()
        self._pending = b""
        self.trouble: NotKept | None = None
        self._closed = False

    @classmethod
    def create(
        cls, path: Path, head: str, first_entry: str, files: Files = REAL, holder: str = ""
    ) -> "Journal":
        """Make a record of a head and entry 1, TOML lines without a seal, replacing nothing.

        Unfit where the text may not go into a record; AlreadyThere; Held while someone else makes
        it; NotKept where a call failed, and then no record is left there.
        """
        path = _new_path(path)
        start = head_bytes(head, path)
        body = entry_bytes(first_entry, path, 1)
        seal = sha256(start + body).hexdigest()
        return cls._made(path, start + body + seal_line(seal), files, holder)

    @classmethod
    def open_for_work(cls, path: Path, files: Files = REAL, holder: str = "") -> "Journal":
        """Open a record to append to it; a torn end is set aside first.

        Unreadable, TooLarge; Held where it is open already; Damaged where a seal fails, and then
        nothing was written; NotKept where it can't be written to.
        """
        path = resolved(path)
        with storage_errors(path, "it can't be read", Unreadable):
            files.state_at(path)
            refuse_odd(files, path)
        journal = cls(path, files, holder)
        return journal._or_closed(journal._resume)

    def append(self, text: str) -> str:
        """Add an entry and flush it to the drive; when this returns its seal, it is kept.

        `text`: TOML lines, without a seal; tables that its seal shall cover may stand before it.
        Unfit, TooLarge: nothing was written. NotKept, or Changed where someone else changed the
        file: nothing more can be appended before `recover_in_place` or `rescue`.
        """
        number = self.count + 1
        if self.trouble is not None:
            was = self.trouble
            raise NotKept(was.problem, self.path, was.instead, was.flush_failed)
        body = entry_bytes(text, self.path, number, not self._kept.endswith(b"\n"))
        running = self._running.copy()
        running.update(body)
        seal = running.hexdigest()
        line = seal_line(seal)
        if len(self._kept) + len(body) + len(line) > CAP:
            self._pending = body + line  # for whoever leaves with it
            raise TooLarge("the record is full at 16 MiB", self.path, "begin a new one")
        self._write(body + line, number)
        running.update(line)
        self._kept += body + line
        self._running = running
        self.count, self.last_seal = number, seal
        return seal

    @property
    def data(self) -> bytes:
        """A copy of every acknowledged byte: the head and all sealed entries."""
        return bytes(self._kept)

    def asides(self) -> tuple[Aside, ...]:
        """List the torn ends beside the record, whoever set them aside; NotKept.

        The one set aside on opening is among them, also where an earlier one was taken away.
        """
        with storage_errors(self.path, "what was set aside can't be looked at"):
            listed = self._file.asides()
        mine = self.recovered
        return listed if mine is None or mine in listed else (*listed, mine)

    def intact(self) -> bool:
        """Whether every acknowledged byte can be read from the file now; nothing is raised."""
        try:
            data, _ = read(self.path, self._files)
        except StorageError:
            return False
        return data[: len(self._kept)] == self._kept

    def unkept_text(self) -> str:
        """What the file lacks, as text that pasted at its end, or into a new file, completes it.

        The entry that was not kept, with its seal; where the file no longer holds all that was
        kept before it, the whole record. Empty where nothing is lacking.
        """
        lacking = self._pending if self.intact() else bytes(self._kept) + self._pending
        return lacking.decode("utf-8", "replace")

    def write_unkept(self) -> Path | None:
        """Write `unkept_text`, if any, to a new file beside the record or where there is room.

        StorageError where it can't be written anywhere: show the text instead.
        """
        text = self.unkept_text()
        name = f"{self.path.name}.unkept.txt"
        return write_somewhere(self.path.parent, name, text.encode()) if text else None

    def rescue(self, to_path: Path) -> "Journal":
        """Go on in another file, made of the acknowledged bytes in memory; this one is closed.

        AlreadyThere, Held, NotKept: this record is as it was, and can be rescued elsewhere.
        """
        rescued = type(self)._made(_new_path(to_path), self.data, self._files, self._holder)
        self.close()
        return rescued

    def recover_in_place(self) -> Aside | None:
        """Make the record fit for appending again after an entry was not kept.

        The file is read anew, and locked anew where its lock file was taken away. What follows
        the acknowledged bytes is removed; after a failed flush they are written to a fresh file
        that takes its place, because what the system holds of the old one can't be trusted.

        Returns what was set aside where the file ended in anything but the entry not kept.
        Changed: the acknowledged bytes are not all there, or another program added entries. Held:
        another program has the lock now. NotKept: a call failed; try again, or `rescue`.
        """
        trouble = self.trouble
        if trouble is None:
            return None
        self._file.close()
        try:
            recovered = self._mend(trouble)
        except NotKept as error:
            # Once a flush has failed, that stays true whatever fails after it.
            flush_failed = error.flush_failed or trouble.flush_failed
            self.trouble = NotKept(error.problem, self.path, error.instead, flush_failed)
            raise
        self.trouble = None
        self._pending = b""
        return recovered

    def close(self) -> None:
        """Let the file and its lock go; what is acknowledged is on the drive already."""
        if self.trouble is None:
            self.trouble = NotKept("the record is closed", self.path, "open it again")
        self._closed = True
        self._file.close()
        self._lock.release()

    def __enter__(self) -> "Journal":
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    @classmethod
    def _made(cls, path: Path, data: bytes, files: Files, holder: str) -> "Journal":
        RecordFile(files, path).refuse_taken()
        journal = cls(path, files, holder)

        def make() -> None:
            journal._file.make(data)
            journal._take_in(data)

        return journal._or_closed(make)

    def _or_closed(self, begin: Callable[[], None]) -> "Journal":
        try:
            begin()
        except BaseException:
            self.close()
            raise
        crash.work_on(self.path)
        return self

    def _resume(self) -> None:
        with storage_errors(self.path, _NOT_OPENED):
            self._file.open()
            data = self._file.read()
            kept = self._take_in(data)
            if kept < len(data):
                self.recovered = self._file.set_aside(data[kept:])
            self._settle(data, kept)
            self._files.sync_folder(self.path.parent)

    def _settle(self, data: bytes, kept: int) -> None:
        """Make sure of the last entry: it is shown as kept from here on.

        A program killed before its flush may have left it in the system's memory alone; where a
        flush failed, it looks flushed there and is not. The same bytes written over themselves
        are due for flushing again in either case.
        """
        last = self.opened.blocks[-1]
        try:
            self._file.flush_again(last.start, data[last.start : last.end])
            self._file.cut(kept)
        except FlushFailed:
            self._file.write_anew(bytes(self._kept))

    def _take_in(self, data: bytes) -> int:
        self.opened = opened = scan_on(data, self._running)
        fault = opened.fault
        if opened.state is State.DAMAGED and fault is not None:
            problem = f"entry {fault.entry}: {fault.problem}"
            raise Damaged(problem, self.path, fault.instead, fault.entry)
        self._kept[:] = data[: opened.sealed_end]
        self.count, self.last_seal = len(opened.blocks), opened.last_seal
        return opened.sealed_end

    def _write(self, data: bytes, number: int) -> None:
        what = f"entry {number} was not kept"
        # Whatever interrupts this, a key press too, leaves the entry in doubt.
        self.trouble = NotKept(f"{what}: it was interrupted", self.path, "try again")
        self._pending = data
        try:
            with storage_errors(self.path, what):
                self._file.check_untouched(self._kept)
                if not self._lock.still_ours():
                    problem = "its lock file was taken away, so another program may have it open"
                    raise Changed(problem, self.path, "try again: it is locked anew")
                self._file.append(data)
        except Changed as error:
            self.trouble = Changed(f"{what}: {error.problem}", self.path, error.instead)
            raise self.trouble from error
        except NotKept as error:
            self.trouble = error
            if error.flush_failed:
                self._file.take_back(len(self._kept))
            raise
        self.trouble = None
        self._pending = b""

    def _mend(self, trouble: NotKept) -> Aside | None:
        if self._closed:
            raise trouble
        recovered = None
        with storage_errors(self.path, "the record could not be mended"):
            if not self._lock.still_ours():
                self._lock.take_again()
            self._file.open()
            data = self._file.read()
            tail = self._tail(data)
            # The entry that was not kept is still in the caller's hands, so its beginning may go.
            if not self._pending.startswith(tail):
                recovered = self._file.set_aside(tail)
            if trouble.flush_failed:
                self._file.write_anew(bytes(self._kept))
            else:
                self._file.cut(len(self._kept))
        return recovered

    def _tail(self, data: bytes) -> bytes:
        if data[: len(self._kept)] != self._kept:
            raise Changed("the file no longer holds all that was kept", self.path, ELSEWHERE)
        tail = data[len(self._kept) :]
        if tail != self._pending and len(scan(data).blocks) > self.count:
            instead = "leave and open the record again, or go on in another folder"
            raise Changed("another program has added entries to it", self.path, instead)
        return tail


def _new_path(path: Path) -> Path:
    """Follow the links in the folder's path alone: a new record's name must be no link."""
    return resolved(Path(path).parent) / path.name
