"""A record open for work: entries appended one by one, each on the drive before it counts."""

from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from hashlib import sha256
from itertools import count
from pathlib import Path

from heelwise.storage import crash, errors
from heelwise.storage import whole_files as whole
from heelwise.storage.files import REAL, Files
from heelwise.storage.lock import NOT_OPENED, RecordLock
from heelwise.storage.names import resolved
from heelwise.storage.seals import Scan, State, entry_bytes, head_bytes, scan, seal_line

_ELSEWHERE = "keep the build in another folder: all that was shown as kept is still in memory"
_CLOSED = -1
"""No descriptor: whatever is done with it raises OSError."""


@dataclass(frozen=True, slots=True)
class Aside:
    """A torn end that lies beside a record: its file's name, and how many bytes."""

    file: str
    size: int


def read(path: Path, files: Files = REAL) -> tuple[bytes, Scan]:
    """Read a record and check its seals, without a lock; Unreadable, TooLarge above 16 MiB."""
    with errors.storage_errors(path, "it can't be read", errors.Unreadable):
        data = whole.read_file(files, Path(path), whole.RECORD_CAP)
    return data, scan(data)


def _accept_any(data: bytes, scanned: Scan) -> None:
    pass


class Journal:
    """A record open for work, with its lock held and its acknowledged bytes in memory.

    `count`: entries acknowledged. `recovered`: what was set aside last, if anything was. `trouble`:
    why nothing can be appended now.
    """

    def __init__(self, path: Path, files: Files, holder: str) -> None:
        self.path = path
        self.count = 0
        self.last_seal = ""
        self.recovered: Aside | None = None
        self.trouble: errors.NotKept | None = None
        self._files, self._holder = files, holder
        self._lock = RecordLock(path, files, holder)
        self._fd = _CLOSED
        self._kept = bytearray()
        self._running = sha256()
        self._pending = b""
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
        data = head_bytes(head, path) + entry_bytes(first_entry, path, 1)
        return cls._made(path, data + seal_line(sha256(data).hexdigest()), files, holder)

    @classmethod
    def open_for_work(
        cls,
        path: Path,
        files: Files = REAL,
        holder: str = "",
        accept: Callable[[bytes, Scan], None] = _accept_any,
    ) -> "Journal":
        """Open a record to append to it; a torn end is set aside first.

        Unreadable, TooLarge; Held where it is open already; Damaged where a seal fails, or what
        `accept` raises, and then nothing was written; NotKept where it can't be written to.
        """
        path = resolved(path)
        with errors.storage_errors(path, "it can't be read", errors.Unreadable):
            whole.refuse_odd(files.state_at(path), path)
        journal = cls(path, files, holder)
        return journal._or_closed(lambda: journal._resume(accept))

    def append(self, text: str) -> str:
        """Add an entry and flush it to the drive; when this returns its seal, it is kept.

        `text`: TOML lines, without a seal; tables that its seal shall cover may stand before it.
        Unfit, TooLarge: nothing was written. NotKept, or Changed where someone else changed the
        file: nothing more can be appended before `recover_in_place` or `rescue`.
        """
        if self.trouble is not None:
            raise self.trouble
        body = entry_bytes(text, self.path, self.count + 1, not self._kept.endswith(b"\n"))
        running = self._running.copy()
        running.update(body)
        seal = running.hexdigest()
        line = seal_line(seal)
        # Whatever interrupts this, a key press too, leaves the entry in doubt.
        self._pending = body + line
        if len(self._kept) + len(self._pending) > whole.RECORD_CAP:
            raise errors.TooLarge("the record is full at 16 MiB", self.path, "begin a new one")
        self._write(self._pending, f"entry {self.count + 1} was not kept")
        running.update(line)
        self._kept += self._pending
        self._pending = b""
        self._running = running
        self.count, self.last_seal = self.count + 1, seal
        return seal

    @property
    def data(self) -> bytes:
        """A copy of every acknowledged byte."""
        return bytes(self._kept)

    def asides(self) -> tuple[Aside, ...]:
        """List the torn ends beside the record up to the first gap, and `recovered`; NotKept.

        A program killed between setting one aside and entering it leaves one that no entry names.
        """
        listed: list[Aside | None] = []
        problem = "what was set aside can't be looked at"
        with errors.storage_errors(self.path, problem), suppress(FileNotFoundError):
            for beside in self._besides():
                listed.append(Aside(beside.name, self._files.state_at(beside).size))
        return tuple(filter(None, dict.fromkeys([*listed, self.recovered])))

    def unkept_text(self) -> str:
        """What the file lacks, as text that pasted at its end, or into a new file, completes it.

        The whole record where the file no longer holds all that was kept; empty if all is there.
        """
        try:
            intact = read(self.path, self._files)[0][: len(self._kept)] == self._kept
        except errors.StorageError:
            intact = False
        lacking = self._pending if intact else bytes(self._kept) + self._pending
        return lacking.decode("utf-8", "replace")

    def write_unkept(self) -> Path | None:
        """Write `unkept_text`, if any, to a new file beside the record or where there is room.

        StorageError where it can't be written anywhere: show the text instead.
        """
        text = self.unkept_text()
        name = f"{self.path.name}.unkept.txt"
        return whole.write_somewhere(self.path.parent, name, text.encode()) if text else None

    def rescue(self, to_path: Path) -> "Journal":
        """Go on in another file, made of the acknowledged bytes in memory; this one is closed.

        AlreadyThere, Held, NotKept: this record is as it was, and can be rescued elsewhere.
        """
        rescued = self._made(_new_path(to_path), self.data, self._files, self._holder)
        self.close()
        return rescued

    def recover_in_place(self) -> None:
        """Make the record fit for appending again after an entry was not kept.

        What follows the acknowledged bytes is set aside if it is anything but that entry. After a
        failed flush a fresh file takes the record's place. Changed: the acknowledged bytes are not
        all there, or another program added entries. Held; NotKept: try again, or `rescue`.
        """
        trouble = self.trouble
        if trouble is None:
            return
        if self._closed:
            raise trouble
        self._close_file()
        try:
            self._mend(trouble.flush_failed)
        except errors.NotKept as error:
            # Once a flush has failed, that stays true whatever fails after it.
            error.flush_failed = error.flush_failed or trouble.flush_failed
            self.trouble = error
            raise
        self.trouble, self._pending = None, b""

    def close(self) -> None:
        """Let the file and its lock go; what is acknowledged is on the drive already."""
        if self.trouble is None:
            self.trouble = errors.NotKept("the record is closed", self.path, "open it again")
        self._closed = True
        self._close_file()
        self._lock.release()

    def __enter__(self) -> "Journal":
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @classmethod
    def _made(cls, path: Path, data: bytes, files: Files, holder: str) -> "Journal":
        taken = errors.AlreadyThere(
            "a file of that name is there", path, "give the build another name, or open that file"
        )
        with errors.storage_errors(path, "the record was not made"):
            with suppress(FileNotFoundError):
                files.state_at(path)
                raise taken
            journal = cls(path, files, holder)
            try:
                return journal._or_closed(lambda: journal._make(data))
            except FileExistsError as error:
                raise taken from error

    def _make(self, data: bytes) -> None:
        """Nobody ever sees it half made, and nothing is replaced."""
        self._put(data, replace=False)
        try:
            self._fd = self._files.open(self.path, write=True)
        except OSError:
            with suppress(OSError):
                self._files.unlink(self.path)
            raise
        self._take_in(data, _accept_any)

    def _or_closed(self, begin: Callable[[], None]) -> "Journal":
        try:
            begin()
        except BaseException:
            self.close()
            raise
        crash.work_on(self.path)
        return self

    def _resume(self, accept: Callable[[bytes, Scan], None]) -> None:
        with errors.storage_errors(self.path, NOT_OPENED):
            self._fd = self._files.open(self.path, write=True)
            data = whole.read_open(self._files, self._fd, self.path, whole.RECORD_CAP)
        opened = self._take_in(data, accept)
        with errors.storage_errors(self.path, NOT_OPENED):
            if opened.sealed_end < len(data):
                self._set_aside(data[opened.sealed_end :])
            # The last entry is shown as kept from here on. A program killed before its flush may
            # have left it in the system's memory alone; where a flush failed, it looks flushed
            # there and is not. Written over itself it is due for flushing again in either case.
            last = opened.blocks[-1]
            try:
                self._files.overwrite(self.path, last.start, data[last.start : last.end])
                self._cut(opened.sealed_end)
            except errors.FlushFailed:
                self._write_anew()
            self._files.sync_folder(self.path.parent)

    def _take_in(self, data: bytes, accept: Callable[[bytes, Scan], None]) -> Scan:
        opened = scan(data, self._running)
        accept(data, opened)
        fault = opened.fault
        if opened.state is State.DAMAGED and fault is not None:
            problem = f"entry {fault.entry}: {fault.problem}"
            raise errors.Damaged(problem, self.path, fault.instead)
        self._kept[:] = data[: opened.sealed_end]
        self.count, self.last_seal = len(opened.blocks), opened.last_seal
        return opened

    def _write(self, data: bytes, what: str) -> None:
        self.trouble = errors.NotKept(f"{what}: it was interrupted", self.path, "try again")
        try:
            with errors.storage_errors(self.path, what):
                self._check_untouched()
                if not self._lock.still_ours():
                    problem = "its lock file was taken away, so another program may have it open"
                    raise errors.Changed(problem, self.path, "try again: it is locked anew")
                whole.write_all(self._files, self._fd, data)
                whole.flush(self._files, self._fd)
        except errors.Changed as error:
            self.trouble = errors.Changed(f"{what}: {error.problem}", self.path, error.instead)
            raise self.trouble from error
        except errors.NotKept as error:
            self.trouble = error
            # Whoever opens the record next would find in the system's memory what a flush failed
            # for, flush it with success, and take for kept what never reached the drive.
            if error.flush_failed:
                with suppress(OSError):
                    self._files.truncate(self._fd, len(self._kept))
            raise
        self.trouble = None

    def _check_untouched(self) -> None:
        """Raise Changed where the name leads to another file or that doesn't hold just `_kept`.

        It is read whole: sizes and times can be set by anyone, and this costs less than a flush.
        """
        now = self._files.state(self._fd)
        if self._files.state_at(self.path).identity != now.identity:
            raise errors.Changed("another file has taken its name", self.path, _ELSEWHERE)
        same_size = now.size == len(self._kept)
        if not same_size or whole.read_file(self._files, self.path, whole.RECORD_CAP) != self._kept:
            raise errors.Changed("another program has changed it", self.path, _ELSEWHERE)

    def _mend(self, flush_failed: bool) -> None:
        with errors.storage_errors(self.path, "the record could not be mended"):
            if not self._lock.still_ours():
                self._lock.release()
                self._lock = RecordLock(self.path, self._files, self._holder)
            self._fd = self._files.open(self.path, write=True)
            data = whole.read_open(self._files, self._fd, self.path, whole.RECORD_CAP)
            if data[: len(self._kept)] != self._kept:
                problem = "the file no longer holds all that was kept"
                raise errors.Changed(problem, self.path, _ELSEWHERE)
            tail = data[len(self._kept) :]
            if tail != self._pending and len(scan(data).blocks) > self.count:
                instead = "leave and open the record again, or go on in another folder"
                raise errors.Changed("another program has added entries to it", self.path, instead)
            # The entry that was not kept is still in the caller's hands, so its beginning may go.
            if not self._pending.startswith(tail):
                self._set_aside(tail)
            if flush_failed:
                self._write_anew()
            else:
                self._cut(len(self._kept))

    def _cut(self, size: int) -> None:
        if self._files.state(self._fd).size != size:
            self._files.truncate(self._fd, size)
        whole.flush(self._files, self._fd)

    def _write_anew(self) -> None:
        """Write the same bytes as a new file: it has nothing of what a failed flush left behind."""
        self._close_file()
        with errors.storage_errors(self.path, "the record could not be written again"):
            self._put(self._kept, replace=True)
            self._fd = self._files.open(self.path, write=True)

    def _put(self, data: bytes | bytearray, replace: bool) -> None:
        temporary = self.path.with_name(f".{self.path.name}.new")
        # Whoever left one was killed: the lock is ours, so nobody else is at work on it.
        with suppress(FileNotFoundError):
            self._files.unlink(temporary)
        whole.put(self._files, self.path, data, temporary, replace)

    def _set_aside(self, tail: bytes) -> None:
        """Keep a torn end in a file of its own beside the record, flushed, replacing none."""
        for beside in self._besides():
            with suppress(FileExistsError):
                whole.write_new(self._files, beside, tail)
                self._files.sync_folder(self.path.parent)
                self.recovered = Aside(beside.name, len(tail))
                return

    def _besides(self) -> Iterator[Path]:
        return (self.path.with_name(f"{self.path.name}.torn-{number}") for number in count(1))

    def _close_file(self) -> None:
        fd, self._fd = self._fd, _CLOSED
        # What is acknowledged was flushed, and no close can undo that.
        with suppress(OSError):
            if fd != _CLOSED:
                self._files.close(fd)


def _new_path(path: Path) -> Path:
    """Follow the links in the folder's path alone: a new record's name must be no link."""
    return resolved(Path(path).parent) / path.name
