"""Making, reading and mending record files as a whole; appending is the journal's."""

import os
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from heelwise.storage.errors import AlreadyThere, telling
from heelwise.storage.files import Files
from heelwise.storage.handling import flush, read_open, replace_patiently, write_new

CAP = 16 << 20
"""The most bytes of a record: 16 MiB."""

_MOST_ENDS = 10_000


@dataclass(frozen=True, slots=True)
class Recovered:
    """What was set aside to bring a torn record back to its last sealed entry.

    Attributes:
        set_aside: How many bytes.
        file: The name of the file beside the record that they are in now.
        entry: The number of the entry that was not finished.
    """

    set_aside: int
    file: str
    entry: int


@dataclass(frozen=True, slots=True)
class Aside:
    """A torn end that lies beside a record.

    Attributes:
        file: Its file's name.
        size: How many bytes.
    """

    file: str
    size: int


def refuse_taken(files: Files, path: Path) -> None:
    """Refuse a name that is taken.

    Args:
        files: The file layer.
        path: The name.

    Raises:
        AlreadyThere: It is taken.
        NotKept: That can't be found out.
    """
    with telling(path, "the record was not made"):
        try:
            files.state_at(path)
        except FileNotFoundError:
            return
    raise _taken(path)


def put_in_place(files: Files, path: Path, data: bytes) -> int:
    """Make a record at one stroke: nobody ever sees it half made, and nothing is replaced.

    Args:
        files: The file layer.
        path: Its name; the caller holds its lock.
        data: All its bytes.

    Returns:
        A descriptor to append with.

    Raises:
        AlreadyThere: The name is taken.
        NotKept: A call failed; no record is left there.
    """
    temporary = _fresh(files, path, data, "the record was not made")
    with telling(path, "the record was not made"):
        try:
            files.place_new(temporary, path)
        except FileExistsError as error:
            _clear(files, temporary)
            raise _taken(path) from error
        except OSError:
            _clear(files, temporary)
            raise
        try:
            files.sync_folder(path.parent)
            return files.open(path, write=True)
        except OSError:
            _clear(files, path)  # it is not certain to last, so it must not seem to be there
            raise


def put_anew(files: Files, path: Path, data: bytes) -> None:
    """Write a record's same bytes again as a new file in its place.

    After a failed flush the system may hold as written what never reached the drive; a new file
    has nothing of that.

    Args:
        files: The file layer.
        path: The record; the caller holds its lock.
        data: All its acknowledged bytes.

    Raises:
        NotKept: A call failed; the file there is the old one, or the new one whole.
    """
    temporary = _fresh(files, path, data, "the record could not be written again")
    with telling(path, "the record could not be written again"):
        try:
            replace_patiently(files, temporary, path)
        except OSError:
            _clear(files, temporary)
            raise
        files.sync_folder(path.parent)


def read_at(files: Files, path: Path) -> bytes:
    """Read a whole record.

    Args:
        files: The file layer.
        path: The record.

    Returns:
        Its bytes.

    Raises:
        OSError: A call failed.
        TooLarge: It is above the cap.
    """
    fd = files.open(path, write=False)
    try:
        return read_open(files, fd, path, CAP)
    finally:
        files.close(fd)


def set_aside(files: Files, path: Path, tail: bytes, entry: int) -> Recovered:
    """Keep a torn end in a file of its own beside the record, flushed, replacing none before it.

    Args:
        files: The file layer.
        path: The record.
        tail: The bytes after its last seal.
        entry: The number of the entry that was not finished.

    Returns:
        What was set aside and where.

    Raises:
        OSError: A call failed; the record is as it was.
    """
    for count in range(1, _MOST_ENDS):
        beside = _beside(path, count)
        try:
            write_new(files, beside, tail)
        except FileExistsError:
            continue
        files.sync_folder(path.parent)
        return Recovered(len(tail), beside.name, entry)
    raise FileExistsError("too many torn ends beside the record")


def lying_beside(files: Files, path: Path) -> tuple[Aside, ...]:
    """List the torn ends that lie beside a record.

    A program killed between setting one aside and entering it leaves one that no entry names.

    Args:
        files: The file layer.
        path: The record.

    Returns:
        They in the order in which they were set aside, up to the first number not there.

    Raises:
        OSError: A call failed.
    """
    found = []
    for count in range(1, _MOST_ENDS):
        beside = _beside(path, count)
        try:
            state = files.state_at(beside)
        except FileNotFoundError:
            break
        found.append(Aside(beside.name, state.size))
    return tuple(found)


def cut(files: Files, fd: int, size: int) -> None:
    """Cut a record to its acknowledged bytes and flush that.

    Args:
        files: The file layer.
        fd: A descriptor open for writing.
        size: The length in bytes.

    Raises:
        OSError: A call failed.
    """
    files.truncate(fd, size)
    flush(files, fd)


def followed(path: Path) -> Path:
    """Follow the links in a record's path, so that all its names share one lock."""
    return Path(os.path.realpath(path))


def followed_folder(path: Path) -> Path:
    """Follow the links in the folder's path alone: a new record's name must be no link."""
    return Path(os.path.realpath(path.parent)) / path.name


def _beside(path: Path, count: int) -> Path:
    return path.with_name(f"{path.name}.torn-{count}")


def _fresh(files: Files, path: Path, data: bytes, what: str) -> Path:
    temporary = path.with_name(f".{path.name}.new")
    with telling(path, what):
        try:
            write_new(files, temporary, data)
        except FileExistsError:
            # Whoever left it was killed: the lock is ours, so nobody else is at work on it.
            files.unlink(temporary)
            write_new(files, temporary, data)
    return temporary


def _clear(files: Files, path: Path) -> None:
    # The failure that led here is what is told.
    with suppress(OSError):
        files.unlink(path)


def _taken(path: Path) -> AlreadyThere:
    return AlreadyThere(
        "a file of that name is there", path, "give the build another name, or open that file"
    )
