"""What can go wrong with a file, in words a builder can act on."""

import errno
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

_NO_RIGHT = (
    "it isn't allowed here",
    "get the right to read and write here, or keep the build elsewhere",
)
_WORDS: dict[int, tuple[str, str]] = {
    errno.ENOSPC: ("the disk is full", "free some room, or keep the build in another folder"),
    errno.EFBIG: ("the file may not grow any more", "keep the build in another folder"),
    errno.EIO: ("the drive reported an error", "keep the build on another drive, and check this"),
    errno.EROFS: ("the drive is read-only", "make it writable, or keep the build elsewhere"),
    errno.EACCES: _NO_RIGHT,
    errno.EPERM: _NO_RIGHT,
    errno.ENOENT: ("the file or its folder is not there", "put it back, or name another folder"),
    errno.ENOTDIR: ("its folder is a file", "name a folder that is there"),
    errno.EISDIR: ("it is a folder", "name a file"),
    errno.EDQUOT: ("your share of the disk is used up", "free some room, or use another folder"),
}

NO_FLUSH = frozenset({errno.EINVAL, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS, errno.ENOTTY})
"""What systems answer that can't flush such a thing at all."""


class StorageError(Exception):
    """Something about a file that stops the work: what is wrong, where, and what to do instead."""

    def __init__(self, problem: str, where: str | Path, instead: str) -> None:
        self.problem = problem
        self.where = str(where)
        self.instead = instead
        super().__init__(problem, self.where, instead)

    def __str__(self) -> str:
        return f"{self.where}: {self.problem}; {self.instead}"


class FlushFailed(OSError):
    """A flush that failed: it must never be tried again and then called good."""


class BadName(StorageError):
    """A name or path that can't be used: of a file, a folder or a person."""


class AlreadyThere(StorageError):
    """A file of that name is there, and nothing is ever replaced."""


class Unreadable(StorageError):
    """A file that can't be read."""


class TooLarge(StorageError):
    """A file, or a file with what was to be added, above its cap."""


class Unfit(StorageError):
    """Text that may not go into a record as it is; nothing was written."""


class Damaged(StorageError):
    """A record one of whose seals fails; it is left exactly as it is."""


class NotKept(StorageError):
    """A write that did not reach the disk for certain.

    `flush_failed`: what the system holds of the file can't be trusted to be on the drive.
    """

    flush_failed = False


class Changed(NotKept):
    """The file, or its lock, was changed or moved by someone else while it was open."""


class Held(StorageError):
    """A record that is open for work already, elsewhere or in this very program."""


def system_words(error: OSError) -> tuple[str, str]:
    """What an operating system error means, and what to do about it."""
    if isinstance(error, FlushFailed) and error.errno in NO_FLUSH:
        return ("this folder can't flush a file to its drive", "keep the build on a local drive")
    words = (error.strerror or type(error).__name__).lower()
    other = (f"the system says: {words}", "try again, or use another folder")
    return _WORDS.get(error.errno or 0, other)


@contextmanager
def storage_errors(
    where: str | Path, what: str, kind: type[StorageError] = NotKept
) -> Iterator[None]:
    """Raise a `kind` for any failing call inside the block; its problem begins with `what`."""
    try:
        yield
    except ValueError as error:  # a null byte, or half a character, in a path
        raise BadName(f"{what}: no file can have that name", where, "name another") from error
    except OSError as error:
        problem, instead = system_words(error)
        raised = kind(f"{what}: {problem}", where, instead)
        if isinstance(raised, NotKept):
            raised.flush_failed = isinstance(error, FlushFailed)
        raise raised from error
