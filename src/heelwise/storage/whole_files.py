"""Whole files read and written at one stroke, drafts among them: the old or the new, never half."""

import errno
import os
import secrets
import tempfile
import time
from contextlib import suppress
from pathlib import Path

from heelwise.storage import errors
from heelwise.storage.files import REAL, Files, FileState
from heelwise.storage.names import inside, resolved

RECORD_CAP = 16 << 20
"""The most bytes of a record: 16 MiB."""

_CHUNK = 1 << 20


def write_whole(path: Path, data: bytes, files: Files = REAL, *, replace: bool = False) -> None:
    """Write a file at one stroke; its folder must be there.

    AlreadyThere where the name is taken and not to be replaced; Unreadable for a folder or a
    device; NotKept where a call failed: the file from before is there, if any, or the new one.
    """
    path = resolved(path) if replace else path
    temporary = path.with_name(f".{path.name[:200]}.{os.getpid()}-{secrets.token_hex(4)}.new")
    with errors.storage_errors(path, "it was not written"):
        try:
            with suppress(FileNotFoundError):
                if replace:
                    refuse_odd(files.state_at(path), path)
            put(files, path, data, temporary, replace)
        except FileExistsError as error:
            problem = "a file of that name is there"
            raise errors.AlreadyThere(problem, path, "give this one another name") from error


def write_somewhere(beside: Path | None, name: str, data: bytes) -> Path:
    """Write a new file in a folder, else in the home folder, else in the temporary one."""
    folders = [beside] if beside else []
    folders.append(Path(os.path.expanduser("~")))
    with suppress(OSError):  # nothing can be written to any temporary folder
        folders.append(Path(tempfile.gettempdir()))
    failed: list[errors.StorageError] = []
    for folder in folders:
        taken = os.path.lexists(folder / name)
        path = folder / (f"{secrets.token_hex(4)}-{name}" if taken else name)
        try:
            write_whole(path, data)
        except errors.StorageError as error:
            failed.append(error)
        else:
            return path
    raise failed[-1]


def put(files: Files, path: Path, data: bytes | bytearray, temporary: Path, replace: bool) -> None:
    """Write `data` under a temporary name, flushed, and move it to `path`, flushed.

    Raises OSError: no temporary file is left then, and nothing new that is not certain to last.
    """
    write_new(files, temporary, data)
    placed = False
    try:
        if replace:
            _replace(files, temporary, path)
        else:
            files.place_new(temporary, path)
        placed = True
        files.sync_folder(path.parent)
    except OSError:
        with suppress(OSError):  # the failure that led here is what counts
            if not placed:
                files.unlink(temporary)
            elif not replace:
                files.unlink(path)
        raise


def _replace(files: Files, source: Path, target: Path) -> None:
    for wait_s in files.retry_waits_s:
        with suppress(PermissionError):
            files.replace(source, target)
            return
        time.sleep(wait_s)
    files.replace(source, target)


def write_new(files: Files, path: Path, data: bytes | bytearray) -> None:
    """Make a new file of `data`, flushed; raises OSError, and then no file of ours is left."""
    fd = files.create(path)
    try:
        try:
            write_all(files, fd, data)
            flush(files, fd)
        finally:
            files.close(fd)
    except OSError:
        # What matters is the first failure; a name left over ends neither in .toml nor in use.
        with suppress(OSError):
            files.unlink(path)
        raise


def write_all(files: Files, fd: int, data: bytes | bytearray) -> None:
    """Write all of `data`, however short the single writes are; raises OSError."""
    rest = memoryview(data)
    while rest:
        count = files.write(fd, rest)
        if count <= 0:
            raise OSError(errno.EIO, "nothing was written")
        rest = rest[count:]


def flush(files: Files, fd: int) -> None:
    """Flush a file down to the drive; FlushFailed where what was written may be lost."""
    try:
        files.sync(fd)
    except OSError as error:
        raise errors.FlushFailed(error.errno, error.strerror) from error


def refuse_odd(state: FileState, where: Path) -> None:
    """Raise Unreadable for a folder, a pipe or a device."""
    if not state.ordinary:
        raise errors.Unreadable("it isn't an ordinary file", where, "name a file")


def read_file(files: Files, path: Path, cap: int) -> bytes:
    """Read a whole file; OSError, Unreadable for anything but a file, TooLarge above `cap`."""
    fd = files.open(path, write=False)
    try:
        return read_open(files, fd, path, cap)
    finally:
        files.close(fd)


def read_open(files: Files, fd: int, where: Path, cap: int) -> bytes:
    """Read an open file as `read_file` does; nothing may have been read from it yet."""
    refuse_odd(files.state(fd), where)
    parts: list[bytes] = []
    total = 0
    while total <= cap and (part := files.read(fd, min(_CHUNK, cap + 1 - total))):
        parts.append(part)
        total += len(part)
    if total > cap:
        problem = f"it is larger than {cap // (1 << 20)} MiB"
        raise errors.TooLarge(problem, where, "no file of ours grows so large")
    return b"".join(parts)


# ---------------------------------------- drafts of setups, beside the builds

NEW_SETUP = "new-setup"
"""What the draft of a setup being filled in is called."""

DRAFT_CAP = 1 << 20
"""The most bytes of a draft: 1 MiB."""


def keep_draft(folder: Path, name: str, text: str | None, files: Files = REAL) -> None:
    """Keep a draft in place of an earlier one of that name; None removes it."""
    path = inside(folder, f"{name}.draft")
    if text is not None:
        write_whole(path, text.encode("utf-8", "surrogatepass"), files, replace=True)
        return
    with errors.storage_errors(path, "the draft was not removed"), suppress(FileNotFoundError):
        files.unlink(path)


def read_draft(folder: Path, name: str, files: Files = REAL) -> str | None:
    """Read a draft; None where there is none."""
    path = inside(folder, f"{name}.draft")
    with errors.storage_errors(path, "the draft can't be read", errors.Unreadable):
        try:
            return read_file(files, path, DRAFT_CAP).decode("utf-8", "surrogatepass")
        except FileNotFoundError:
            return None
        except UnicodeDecodeError as error:
            raise errors.Unreadable(
                "the draft is not text", path, "remove it and begin anew"
            ) from error


def has_draft(folder: Path, name: str) -> bool:
    """Whether there is a draft of a name, readable or not; nothing is raised."""
    try:
        return os.path.lexists(inside(folder, f"{name}.draft"))
    except (
        errors.StorageError
    ):  # a link that leads out of the folder, or a folder that can't be seen
        return False
