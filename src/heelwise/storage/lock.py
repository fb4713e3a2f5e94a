"""Who has a record open for work: a lock beside it, and a note of who holds it and since when.

The lock is the system's, on a file beside the record: that file stays when its holder is killed,
and then locks nothing. The note only tells a second opener whom to ask.
"""

import json
import os
import socket
from contextlib import suppress
from datetime import datetime
from pathlib import Path

from heelwise.storage.errors import Held, NotKept, StorageError, storage_errors
from heelwise.storage.files import Files, HeldLock
from heelwise.storage.whole_files import read_file, write_all

_WAIT_S = 0.1
_NOTE_CAP = 4096
_TEXT_CAP = 200
_NOT_OPENED = "it can't be opened for work"


class RecordLock:
    """The right to append to one record."""

    def __init__(self, path: Path, files: Files, who: str) -> None:
        """Take the lock of a record, whose path has its links followed; Held, NotKept."""
        self._path, self._files, self._who = path, files, who
        self._note = _note_path(path)
        self._held: HeldLock | None = self._taken()
        self._write_note()

    def still_ours(self) -> bool:
        """Tell whether nobody has taken the lock file away, so that no other can lock a new one."""
        return self._held is not None and self._held.still_ours()

    def take_again(self) -> None:
        """Lock anew after the lock file was taken away; raises as making one does.

        Nothing is known then of what happened to the record in between: look at it.
        """
        held, self._held = self._held, None
        if held is not None:
            with suppress(OSError):
                held.release()
        self._held = self._taken()
        self._write_note()

    def release(self) -> None:
        """Let go; a second time does nothing."""
        held, self._held = self._held, None
        if held is None:
            return
        self._remove_note()
        # A lock that can't be let go ends with the program; what was kept is on the drive.
        with suppress(OSError):
            held.release()

    def _taken(self) -> HeldLock:
        path = self._path.with_name(f".{self._path.name}.lock")
        with storage_errors(self._path, _NOT_OPENED):
            with suppress(FileNotFoundError):
                if not self._files.state_at(path).ordinary:
                    problem = "a folder or device stands where the lock of the record goes"
                    raise NotKept(f"{_NOT_OPENED}: {problem}", path, "move it away and try again")
            try:
                return self._files.lock(path, _WAIT_S)
            except TimeoutError as error:
                raise _held(self._path, self._files) from error

    def _write_note(self) -> None:
        note = {
            "who": self._who[:_TEXT_CAP],
            "pid": os.getpid(),
            "since": datetime.now().astimezone().isoformat(timespec="seconds"),
            "host": socket.gethostname()[:_TEXT_CAP],
        }
        self._remove_note()
        # The note is a courtesy: a full disk must not keep anyone from opening a record.
        with suppress(OSError):
            fd = self._files.create(self._note)
            try:
                write_all(self._files, fd, json.dumps(note).encode())
            finally:
                self._files.close(fd)

    def _remove_note(self) -> None:
        # Someone else's old note at worst names the wrong person; the lock is what counts.
        with suppress(OSError):
            self._files.unlink(self._note)


def _held(path: Path, files: Files) -> Held:
    who, pid, since, host = "", 0, "", ""
    with suppress(OSError, StorageError, ValueError, KeyError, TypeError, RecursionError):
        note = json.loads(read_file(files, _note_path(path), _NOTE_CAP))
        pid = int(note["pid"])
        who, since, host = (str(note[key])[:_TEXT_CAP] for key in ("who", "since", "host"))
    if pid == os.getpid() and host == socket.gethostname()[:_TEXT_CAP]:
        return Held("this program has it open already", path, "go on where it is open")
    when = f" since {since}" if since else ""
    machine = f" on {host}" if host else ""
    process = f" (process {pid}{machine})" if pid else ""
    problem = f"{who or 'another program'} has it open{when}{process}"
    return Held(problem, path, "read it only, or go on when it is closed there")


def _note_path(path: Path) -> Path:
    return path.with_name(f".{path.name}.holder")
