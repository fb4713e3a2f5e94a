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
NOT_OPENED = "it can't be opened for work"


class RecordLock:
    """The right to append to one record."""

    def __init__(self, path: Path, files: Files, who: str) -> None:
        """Take the lock of a record, whose path has its links followed; Held, NotKept."""
        self._path, self._files = path, files
        self._note = path.with_name(f".{path.name}.holder")
        self._held: HeldLock | None = self._taken()
        note = {
            "who": who[:_TEXT_CAP],
            "pid": os.getpid(),
            "since": datetime.now().astimezone().isoformat(timespec="seconds"),
            "host": socket.gethostname()[:_TEXT_CAP],
        }
        with suppress(OSError):  # at worst someone else's old note names the wrong person
            files.unlink(self._note)
        # The note is a courtesy: a full disk must not keep anyone from opening a record.
        with suppress(OSError):
            fd = files.create(self._note)
            try:
                write_all(files, fd, json.dumps(note).encode())
            finally:
                files.close(fd)

    def still_ours(self) -> bool:
        """Tell whether nobody has taken the lock file away, so that no other can lock a new one."""
        return self._held is not None and self._held.still_ours()

    def release(self) -> None:
        """Let go; a second time does nothing."""
        held, self._held = self._held, None
        if held is None:
            return
        with suppress(OSError):
            if held.still_ours():  # else the note is by whoever locked a new file
                self._files.unlink(self._note)
        # A lock that can't be let go ends with the program; what was kept is on the drive.
        with suppress(OSError):
            held.release()

    def _taken(self) -> HeldLock:
        path = self._path.with_name(f".{self._path.name}.lock")
        with storage_errors(self._path, NOT_OPENED):
            with suppress(FileNotFoundError):
                if not self._files.state_at(path).ordinary:
                    problem = "a folder or device stands where the lock of the record goes"
                    raise NotKept(f"{NOT_OPENED}: {problem}", path, "move it away and try again")
            try:
                return self._files.lock(path, _WAIT_S)
            except TimeoutError as error:
                raise self._held_elsewhere() from error

    def _held_elsewhere(self) -> Held:
        note: dict[str, object] = {}
        with suppress(OSError, StorageError, ValueError, TypeError, RecursionError):
            note = dict(json.loads(read_file(self._files, self._note, _NOTE_CAP)))
        who, pid, since, host = (
            str(note.get(key, ""))[:_TEXT_CAP] for key in ("who", "pid", "since", "host")
        )
        if (pid, host) == (str(os.getpid()), socket.gethostname()[:_TEXT_CAP]):
            return Held("this program has it open already", self._path, "go on where it is open")
        when = f" since {since}" if since else ""
        machine = f" on {host}" if host else ""
        process = f" (process {pid}{machine})" if pid else ""
        problem = f"{who or 'another program'} has it open{when}{process}"
        return Held(problem, self._path, "read it only, or go on when it is closed there")
