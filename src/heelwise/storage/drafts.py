"""A draft of a setup, kept beside the builds until it becomes one."""

import os
from contextlib import suppress
from pathlib import Path

from heelwise.storage.errors import StorageError, Unreadable, storage_errors
from heelwise.storage.files import REAL, Files
from heelwise.storage.names import inside, safe_name
from heelwise.storage.whole_files import read_file, write_whole

NEW_SETUP = "new-setup"
"""What the draft of a setup being filled in is called."""

CAP = 1 << 20
"""The most bytes of a draft: 1 MiB."""


def keep_draft(folder: Path, name: str, text: str, files: Files = REAL) -> Path:
    """Keep a draft, in place of an earlier one of that name.

    Raises:
        BadName: The name is not fit for a file.
        NotKept: A call failed; an earlier draft is there still.
    """
    path = _path(folder, name)
    write_whole(path, text.encode("utf-8", "surrogatepass"), files)
    return path


def read_draft(folder: Path, name: str, files: Files = REAL) -> str | None:
    """Read a draft; None where there is none.

    Raises:
        BadName: The name is not fit for a file.
        Unreadable: It can't be read, or is not text.
        TooLarge: It is above 1 MiB.
    """
    path = _path(folder, name)
    with storage_errors(path, "the draft can't be read", Unreadable):
        try:
            data = read_file(files, path, CAP)
        except FileNotFoundError:
            return None
    try:
        return data.decode("utf-8", "surrogatepass")
    except UnicodeDecodeError as error:
        raise Unreadable("the draft is not text", path, "remove it and begin anew") from error


def has_draft(folder: Path, name: str) -> bool:
    """Whether there is a draft of a name, readable or not; nothing is raised."""
    try:
        return os.path.lexists(_path(folder, name))
    except StorageError:  # a link that leads out of the folder, or a folder that can't be seen
        return False


def delete_draft(folder: Path, name: str, files: Files = REAL) -> None:
    """Remove a draft; nothing happens where there is none.

    Raises:
        BadName: The name is not fit for a file.
        NotKept: It can't be removed.
    """
    path = _path(folder, name)
    with storage_errors(path, "the draft was not removed"), suppress(FileNotFoundError):
        files.unlink(path)


def _path(folder: Path, name: str) -> Path:
    return inside(folder, f"{safe_name(name)}.draft")
