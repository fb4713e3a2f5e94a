"""Who has a record open for work: a lock beside it, and a note of who holds it and since when.

The lock is the system's, on a file beside the record: that file stays when its holder is killed,
and then locks nothing. The note only tells a second opener whom to ask.
"""

import json
import os
import socket
from contextlib import suppress
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path

from heelwise.storage.errors import StorageError, telling
from heelwise.storage.files import REAL, Files, HeldLock
from heelwise.storage.handling import read_open, write_all

WAIT_S = 0.1
"""How long an opener waits for a lock: longer than a glance at who holds it takes."""

_NOTE_CAP = 4096
_TEXT_CAP = 200


@dataclass(frozen=True, slots=True)
class Holder:
    """Who has a record open for work.

    Attributes:
        who: The name given when it was opened; may be empty.
        pid: The number of the process; 0 where not known.
        since: When, as an ISO 8601 date-time with offset; empty where not known.
        host: The machine's name; may be empty.
    """

    who: str
    pid: int
    since: str
    host: str

    def __str__(self) -> str:
        since = f" since {self.since}" if self.since else ""
        host = f" on {self.host}" if self.host else ""
        process = f" (process {self.pid}{host})" if self.pid else ""
        return f"{self.who or 'another program'} has it open{since}{process}"


class Held(StorageError):
    """A record that someone else has open for work.

    Attributes:
        holder: Who, as far as is known.
    """

    def __init__(self, where: Path, holder: Holder) -> None:
        super().__init__(str(holder), where, "read it only, or go on when it is closed there")
        self.holder = holder


class RecordLock:
    """The right to append to one record."""

    def __init__(self, path: Path, files: Files, held: HeldLock) -> None:
        self._note = _note_path(path)
        self._files = files
        self._held: HeldLock | None = held

    @classmethod
    def take(cls, path: Path, files: Files, who: str) -> "RecordLock":
        """Take the lock of a record.

        Args:
            path: The record, with links in it followed.
            files: The file layer.
            who: A name to tell others.

        Returns:
            The lock.

        Raises:
            Held: Another has it.
            NotKept: The folder can't be written to.
        """
        with telling(path, "it can't be opened for work"):
            try:
                held = files.lock(_lock_path(path), WAIT_S)
            except TimeoutError as error:
                raise Held(path, _read_note(path, files)) from error
        lock = cls(path, files, held)
        lock._tell(who)
        return lock

    def still_ours(self) -> bool:
        """Tell whether nobody has taken the lock file away, so that no other can lock a new one."""
        return self._held is not None and self._held.still_ours()

    def release(self) -> None:
        """Let go; a second time does nothing."""
        held, self._held = self._held, None
        if held is None:
            return
        self._forget()
        # A lock that can't be let go ends with the program; what was kept is on the drive.
        with suppress(OSError):
            held.release()

    def _tell(self, who: str) -> None:
        since = datetime.now().astimezone().isoformat(timespec="seconds")
        holder = Holder(who[:_TEXT_CAP], os.getpid(), since, socket.gethostname()[:_TEXT_CAP])
        self._forget()
        # The note is a courtesy: a full disk must not keep anyone from opening a record.
        with suppress(OSError):
            fd = self._files.create(self._note)
            try:
                write_all(self._files, fd, json.dumps(asdict(holder)).encode())
            finally:
                self._files.close(fd)

    def _forget(self) -> None:
        # Someone else's old note at worst names the wrong person; the lock is what counts.
        with suppress(OSError):
            self._files.unlink(self._note)


def who_holds(path: Path, files: Files = REAL) -> Holder | None:
    """Tell who has a record open for work; nothing is written.

    Args:
        path: The record.
        files: The file layer.

    Returns:
        The holder, or None where nobody has it open, or that can't be found out.
    """
    path = Path(os.path.realpath(path))
    lock_path = _lock_path(path)
    try:
        files.state_at(lock_path)
        files.lock(lock_path, 0).release()
    except TimeoutError:
        return _read_note(path, files)
    except OSError:
        return None
    return None


def _read_note(path: Path, files: Files) -> Holder:
    try:
        fd = files.open(_note_path(path), write=False)
        try:
            found = json.loads(read_open(files, fd, path, _NOTE_CAP))
        finally:
            files.close(fd)
        return Holder(
            str(found["who"])[:_TEXT_CAP],
            int(found["pid"]),
            str(found["since"])[:_TEXT_CAP],
            str(found["host"])[:_TEXT_CAP],
        )
    except (OSError, StorageError, ValueError, KeyError, TypeError, RecursionError):
        return Holder("", 0, "", "")  # half written, or not ours: someone holds it all the same


def _lock_path(path: Path) -> Path:
    return path.with_name(f".{path.name}.lock")


def _note_path(path: Path) -> Path:
    return path.with_name(f".{path.name}.holder")
