"""A record open for work: entries appended one by one, each on the drive before it counts."""

from collections.abc import Callable
from pathlib import Path
from types import TracebackType

from heelwise.storage.errors import (
    Changed,
    Damaged,
    FlushFailed,
    NotKept,
    TooLarge,
    Unreadable,
    telling,
)
from heelwise.storage.files import REAL, Files
from heelwise.storage.fitting import entry_bytes, head_bytes
from heelwise.storage.handling import refuse_odd
from heelwise.storage.locks import RecordLock, who_holds
from heelwise.storage.openfile import ELSEWHERE, OpenFile
from heelwise.storage.placing import (
    CAP,
    Aside,
    Recovered,
    followed,
    followed_folder,
    lying_beside,
    put_anew,
    put_in_place,
    refuse_taken,
    set_aside,
)
from heelwise.storage.reading import Comparison, compare, read
from heelwise.storage.seals import Scan, Sealer, State, scan_on, seal_line

__all__ = ["CAP", "Comparison", "Journal", "Recovered", "read", "who_holds"]


class Journal:
    """A record open for work, with its lock held and its acknowledged bytes in memory.

    Attributes:
        path: The record, with links followed.
        count: How many entries are acknowledged.
        last_seal: The seal of the last of them.
        recovered: What was set aside when it was opened, if it was torn; else None.
        opened: What the seals said when it was opened or made.
        rescued: How the file it was rescued from compared; None where it was not.
    """

    def __init__(self, path: Path, files: Files, lock: RecordLock, who: str) -> None:
        """Use `create` or `open_for_work` instead."""
        self.path = path
        self.count = 0
        self.last_seal = ""
        self.recovered: Recovered | None = None
        self.rescued: Comparison | None = None
        self.opened: Scan | None = None
        self._files = files
        self._lock = lock
        self._who = who
        self._file = OpenFile(files, path)
        self._kept = bytearray()
        self._sealer = Sealer()
        self._pending = b""
        self._trouble: NotKept | None = None

    @classmethod
    def create(
        cls, path: Path, head: str, first_entry: str, files: Files = REAL, holder: str = ""
    ) -> "Journal":
        """Make a record of a head and entry 1, at one stroke, replacing nothing.

        Args:
            path: Its name; the folder must be there.
            head: TOML lines of the head, the setup and the ``[build]`` table.
            first_entry: TOML lines of entry 1, without its seal.
            files: The file layer.
            holder: A name to tell a second opener.

        Returns:
            The record, open for work.

        Raises:
            Unfit: The text may not go into a record.
            AlreadyThere: The name is taken.
            Held: Someone is making it.
            NotKept: A call failed; no record is left there.
        """
        path = followed_folder(Path(path))
        start = head_bytes(head, path)
        body = entry_bytes(first_entry, path, 1)
        sealer = Sealer()
        sealer.add(start + body)
        return cls._made(path, start + body + seal_line(sealer.seal()), files, holder)

    @classmethod
    def open_for_work(cls, path: Path, files: Files = REAL, holder: str = "") -> "Journal":
        """Open a record to append to it; a torn end is set aside first.

        Args:
            path: The record.
            files: The file layer.
            holder: A name to tell a second opener.

        Returns:
            The record; `recovered` tells what was set aside.

        Raises:
            Unreadable: It can't be read.
            TooLarge: It is above 16 MiB.
            Held: Someone else has it open for work.
            Damaged: A seal fails; nothing was written.
            NotKept: It can't be written to.
        """
        path = followed(Path(path))
        with telling(path, "it can't be read", Unreadable):
            files.state_at(path)
            refuse_odd(files, path)
        journal = cls(path, files, RecordLock.take(path, files, holder), holder)
        return journal._or_closed(journal._resume)

    def append(self, text: str) -> str:
        """Add an entry and flush it to the drive.

        Args:
            text: Its TOML lines from ``[[entry]]`` to its last field, without a seal; tables that
                its seal shall cover may stand before it.

        Returns:
            Its seal. When this returns, the entry is kept.

        Raises:
            Unfit: The text may not go into a record; nothing was written.
            TooLarge: The record would grow above 16 MiB; nothing was written.
            NotKept: The entry is not kept for certain, and nothing more can be appended before
                `recover_in_place` or `rescue`.
            Changed: The same, because someone else changed or moved the file.
        """
        number = self.count + 1
        if self._trouble is not None:
            was = self._trouble
            raise NotKept(was.problem, self.path, was.instead, was.flush_failed)
        body = entry_bytes(text, self.path, number, not self._kept.endswith(b"\n"))
        sealer = self._sealer.copy()
        sealer.add(body)
        seal = sealer.seal()
        line = seal_line(seal)
        if len(self._kept) + len(body) + len(line) > CAP:
            raise TooLarge("the record is full at 16 MiB", self.path, "begin a new one")
        self._write(body + line, number)
        sealer.add(line)
        self._kept += body + line
        self._sealer = sealer
        self.count, self.last_seal = number, seal
        return seal

    @property
    def data(self) -> bytes:
        """A copy of every acknowledged byte: the head and all sealed entries."""
        return bytes(self._kept)

    @property
    def trouble(self) -> NotKept | None:
        """Why nothing can be appended now, or None."""
        return self._trouble

    def asides(self) -> tuple[Aside, ...]:
        """List the torn ends that lie beside the record, whoever set them aside; may raise NotKept.

        The one set aside when this was opened is among them; it alone if an earlier one was taken
        away.
        """
        with telling(self.path, "what was set aside can't be looked at"):
            found = lying_beside(self._files, self.path)
        mine = self.recovered
        if mine is None or any(aside.file == mine.file for aside in found):
            return found
        return (*found, Aside(mine.file, mine.set_aside))

    def compare(self) -> Comparison:
        """Read the file on the drive again and compare it with what was acknowledged."""
        return compare(self._files, self.path, self._kept)

    def rescue(self, to_path: Path) -> "Journal":
        """Go on in another file, made of the acknowledged bytes in memory.

        Args:
            to_path: The new file's name; its folder must be there.

        Returns:
            The new record, open for work, with every acknowledged entry and no other; its
            `rescued` tells how the old file compares. This one is closed.

        Raises:
            AlreadyThere: The name is taken.
            Held: Someone is making it.
            NotKept: It could not be made; this record is as it was, and can be rescued elsewhere.
        """
        compared = self.compare()
        path = followed_folder(Path(to_path))
        rescued = type(self)._made(path, self.data, self._files, self._who)
        rescued.rescued = compared
        self.close()
        return rescued

    def recover_in_place(self) -> Recovered | None:
        """Make the record fit for appending again after an entry was not kept.

        The file is opened and read anew. Where its acknowledged bytes are all there, what follows
        them is removed; after a failed flush they are written to a fresh file that takes its place,
        because what the system holds of the old one can't be trusted.

        Returns:
            What was set aside, where the file ended in anything but the entry not kept; else None.

        Raises:
            Changed: The acknowledged bytes are not all there, or the lock was taken away.
            NotKept: A call failed; try again, or `rescue`.
        """
        trouble = self._trouble
        if trouble is None:
            return None
        self._file.close()
        try:
            recovered = self._mend(trouble)
        except NotKept as error:
            # Once a flush has failed, that stays true whatever fails after it.
            flush_failed = error.flush_failed or trouble.flush_failed
            self._trouble = NotKept(error.problem, self.path, error.instead, flush_failed)
            raise
        self._trouble = None
        self._pending = b""
        return recovered

    def close(self) -> None:
        """Let the file and its lock go; what is acknowledged is on the drive already."""
        if self._trouble is None:
            self._trouble = NotKept("the record is closed", self.path, "open it again")
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
    def _made(cls, path: Path, data: bytes, files: Files, who: str) -> "Journal":
        refuse_taken(files, path)
        journal = cls(path, files, RecordLock.take(path, files, who), who)

        def make() -> None:
            journal._file.adopt(put_in_place(files, path, data))
            journal._take_in(data)

        return journal._or_closed(make)

    def _or_closed(self, begin: Callable[[], None]) -> "Journal":
        try:
            begin()
        except BaseException:
            self.close()
            raise
        return self

    def _resume(self) -> None:
        with telling(self.path, "it can't be opened for work"):
            self._file.open()
            data = self._file.read()
            kept = self._take_in(data)
            if kept < len(data):
                self.recovered = set_aside(self._files, self.path, data[kept:], self.count + 1)
            self._settle(data, kept)
            self._files.sync_folder(self.path.parent)
            self._file.note()

    def _settle(self, data: bytes, kept: int) -> None:
        """Make sure of the last entry: it is shown as kept from here on.

        A program killed before its flush may have left it in the system's memory alone; where a
        flush failed, it looks flushed there and is not. The same bytes written over themselves
        are due for flushing again in either case.
        """
        last = self.opened.blocks[-1] if self.opened is not None else None
        try:
            if last is not None:
                self._files.overwrite(self.path, last.start, data[last.start : last.end])
            self._file.cut(kept)
        except FlushFailed:
            self._put_anew()

    def _take_in(self, data: bytes) -> int:
        """Check the seals and hold what they cover; give its length."""
        found = scan_on(data, self._sealer)
        self.opened, fault = found, found.fault
        if found.state is State.DAMAGED and fault is not None:
            problem = f"entry {fault.entry}: {fault.problem}"
            raise Damaged(problem, self.path, fault.instead, fault.entry)
        self._kept[:] = data[: found.sealed_end]
        self.count, self.last_seal = len(found.blocks), found.last_seal
        return found.sealed_end

    def _write(self, data: bytes, number: int) -> None:
        what = f"entry {number} was not kept"
        # Whatever interrupts this, a key press too, leaves the entry in doubt.
        self._trouble = NotKept(f"{what}: it was interrupted", self.path, "try again")
        self._pending = data
        try:
            with telling(self.path, what):
                self._file.check_untouched(self._kept)
                self._check_lock()
                self._file.add(data)
        except Changed as error:
            self._trouble = Changed(f"{what}: {error.problem}", self.path, error.instead)
            raise self._trouble from error
        except NotKept as error:
            self._trouble = error
            if error.flush_failed:
                self._file.take_back(len(self._kept))
            raise
        self._trouble = None
        self._pending = b""

    def _check_lock(self) -> None:
        if not self._lock.still_ours():
            raise Changed("it is no longer locked for this program", self.path, ELSEWHERE)

    def _mend(self, trouble: NotKept) -> Recovered | None:
        recovered = None
        with telling(self.path, "the record could not be mended"):
            self._check_lock()
            self._file.open()
            data = self._file.read()
            if data[: len(self._kept)] != self._kept:
                raise Changed("the file no longer holds all that was kept", self.path, ELSEWHERE)
            tail = data[len(self._kept) :]
            # The entry that was not kept is still in the caller's hands, so its beginning may go.
            if not self._pending.startswith(tail):
                recovered = set_aside(self._files, self.path, tail, self.count + 1)
            if trouble.flush_failed:
                self._put_anew()
            else:
                self._file.cut(len(self._kept))
            self._file.note()
        return recovered

    def _put_anew(self) -> None:
        self._file.close()
        put_anew(self._files, self.path, bytes(self._kept))
        self._file.open()
