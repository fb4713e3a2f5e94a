"""Reading a record without opening it for work: nothing is written and no lock is taken."""

from dataclasses import dataclass
from pathlib import Path

from heelwise.storage.errors import StorageError, Unreadable, telling
from heelwise.storage.files import REAL, Files
from heelwise.storage.handling import refuse_odd
from heelwise.storage.placing import read_at
from heelwise.storage.seals import Scan, scan


@dataclass(frozen=True, slots=True)
class Comparison:
    """A record's file on the drive against what was acknowledged.

    Attributes:
        intact: Every acknowledged byte is there and can be read.
        said: That in words.
    """

    intact: bool
    said: str


def read(path: Path, files: Files = REAL) -> tuple[bytes, Scan]:
    """Read a record and check its seals.

    Args:
        path: The record.
        files: The file layer.

    Returns:
        Its bytes and what they say of themselves.

    Raises:
        Unreadable: It can't be read.
        TooLarge: It is above 16 MiB.
    """
    with telling(path, "it can't be read", Unreadable):
        data = read_at(files, Path(path))
    return data, scan(data)


def beginning(path: Path, files: Files = REAL) -> bytes:
    """Read the first bytes of a record: its first line is among them.

    Args:
        path: The record.
        files: The file layer.

    Returns:
        At most 64 bytes.

    Raises:
        Unreadable: It can't be read.
    """
    with telling(path, "it can't be read", Unreadable):
        refuse_odd(files, path)
        fd = files.open(path, write=False)
        try:
            return files.read(fd, 64)
        finally:
            files.close(fd)


def compare(files: Files, path: Path, kept: bytes | bytearray) -> Comparison:
    """Read a record again and compare it with what was acknowledged.

    Args:
        files: The file layer.
        path: The record.
        kept: Every acknowledged byte.

    Returns:
        Whether they are all there; a file that can't be read is not intact.
    """
    try:
        with telling(path, "it can't be read", Unreadable):
            found = read_at(files, path)
    except StorageError as error:
        return Comparison(False, f"the file could not be read again: {error.problem}")
    if found[: len(kept)] == kept:
        return Comparison(True, "the file holds all that was kept")
    return Comparison(False, "the file no longer holds all that was kept")
