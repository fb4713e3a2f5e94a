"""The one layer through which all work on files goes, so that tests can make any call fail."""

import errno
import os
import stat
import sys
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from heelwise.storage.errors import NO_FLUSH

_BINARY = getattr(os, "O_BINARY", 0)
_NO_WAIT = getattr(os, "O_NONBLOCK", 0)  # a named pipe must not hang us
_NO_LINKS = frozenset({errno.EPERM, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS, errno.EMLINK})


@dataclass(frozen=True, slots=True)
class FileState:
    """What the system says of a file.

    `identity`: drive and file number, the same for the same file under any name. `ordinary`:
    False for folders, pipes and devices.
    """

    size: int
    identity: tuple[int, int]
    ordinary: bool


class HeldLock(Protocol):
    """A lock in our hands."""

    def still_ours(self) -> bool:
        """Tell whether the lock file is still the one that was locked."""

    def release(self) -> None:
        """Let go."""


class Files:
    """Every call on the file system that storage makes; each raises OSError where it fails."""

    retry_waits_s: tuple[float, ...] = (
        (0.01, 0.02, 0.05, 0.1, 0.2, 0.4, 0.8) if os.name == "nt" else ()
    )
    """Waits between tries of a replacement: only Windows refuses one for a scanner."""

    def create(self, path: Path) -> int:
        """Make a new file for writing and return its descriptor; FileExistsError if it is there."""
        return os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL | os.O_APPEND | _BINARY, 0o666)

    def open(self, path: Path, *, write: bool) -> int:
        """Open a file that is there, to read, or to read and append."""
        mode = os.O_RDWR | os.O_APPEND if write else os.O_RDONLY
        return os.open(path, mode | _NO_WAIT | _BINARY)

    def read(self, fd: int, count: int) -> bytes:
        """Read up to `count` bytes; empty at the end."""
        return os.read(fd, count)

    def write(self, fd: int, data: bytes | memoryview) -> int:
        """Write some of `data` and return how many bytes went."""
        return os.write(fd, data)

    def overwrite(self, path: Path, place: int, data: bytes) -> None:
        """Write bytes from offset `place` on over what is there, without flushing."""
        fd = os.open(path, os.O_RDWR | _BINARY)
        try:
            os.lseek(fd, place, os.SEEK_SET)
            rest = memoryview(data)
            while rest:
                rest = rest[os.write(fd, rest) :]
        finally:
            os.close(fd)

    def sync(self, fd: int) -> None:
        """Flush a file down to the drive."""
        if sys.platform == "darwin":
            import fcntl

            # There fsync stops at the drive's own cache; some file systems know only fsync.
            try:
                fcntl.fcntl(fd, fcntl.F_FULLFSYNC)
                return
            except OSError as error:
                if error.errno not in NO_FLUSH:  # a real failure must not be tried again
                    raise
        os.fsync(fd)

    def sync_folder(self, folder: Path) -> None:
        """Flush a folder's list of names down to the drive."""
        if os.name == "nt":  # Windows has no such call: the name goes down with the file
            return
        fd = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(fd)
        except OSError as error:
            if error.errno not in NO_FLUSH:
                raise
        finally:
            os.close(fd)

    def truncate(self, fd: int, size: int) -> None:
        """Cut a file to `size` bytes."""
        os.ftruncate(fd, size)

    def state(self, fd: int) -> FileState:
        """Look at an open file."""
        return _state(os.fstat(fd))

    def state_at(self, path: Path) -> FileState:
        """Look at the file of a name."""
        return _state(os.stat(path))

    def close(self, fd: int) -> None:
        """Close a descriptor."""
        os.close(fd)

    def replace(self, source: Path, target: Path) -> None:
        """Give `source` the name `target`, replacing what has it."""
        os.replace(source, target)

    def place_new(self, source: Path, target: Path) -> None:
        """Give `source` the name `target`; FileExistsError, and no change, if that is taken."""
        if os.name == "nt":
            os.rename(source, target)  # there it never replaces
            return
        try:
            os.link(source, target)
        except OSError as error:
            if error.errno not in _NO_LINKS:
                raise
            # An empty file claims the name, which nobody else can then take; the full one replaces
            # it at one stroke, so that no half-written file is ever there under that name.
            os.close(self.create(target))
            try:
                os.replace(source, target)
            except OSError:
                os.unlink(target)
                raise
            return
        # The file has its name; the temporary one is only a second name for it.
        with suppress(OSError):
            os.unlink(source)

    def unlink(self, path: Path) -> None:
        """Remove a name."""
        os.unlink(path)

    def lock(self, path: Path, wait_s: float) -> HeldLock:
        """Lock a file, made if need be; TimeoutError if another has it for all of `wait_s`."""
        return _Lock(path, wait_s)


REAL = Files()
"""The file system itself, for whoever asks for no other."""


class _Lock:
    def __init__(self, path: Path, wait_s: float) -> None:
        from filelock import FileLock  # only a writer pays for this import

        os.stat(path.parent)  # older versions would make a folder that has vanished
        self._path = path
        self._lock = FileLock(path, timeout=wait_s, thread_local=False)
        try:
            self._lock.acquire(poll_interval=0.02)
        except NotImplementedError as error:
            raise OSError(errno.ENOSYS, "locks are not supported here") from error
        self._identity = _state(os.stat(path)).identity

    def still_ours(self) -> bool:
        """Tell whether the lock file is still the one that was locked."""
        try:
            return self._lock.is_locked and _state(os.stat(self._path)).identity == self._identity
        except FileNotFoundError:
            return False

    def release(self) -> None:
        """Let go."""
        self._lock.release()


def _state(status: os.stat_result) -> FileState:
    identity = (status.st_dev, status.st_ino)
    return FileState(status.st_size, identity, stat.S_ISREG(status.st_mode))
