"""Whole files read and written at one stroke, drafts among them: the old or the new, never half."""

import errno
import os
import secrets
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path

from heelwise.storage.errors import (
    AlreadyThere,
    FlushFailed,
    StorageError,
    TooLarge,
    Unreadable,
    storage_errors,
)
from heelwise.storage.files import REAL, Files
from heelwise.storage.names import inside, resolved, safe_name

_CHUNK = 1 << 20


def write_whole(path: Path, data: bytes, files: Files = REAL) -> None:
    """Write a file, replacing what has its name; its folder must be there.

    Unreadable for a folder or a device; NotKept: the file from before is there, or the new one.
    """
    path = resolved(path)
    with storage_errors(path, "it was not written"):
        refuse_odd(files, path)
        put(files, path, data, _spare_name(path), lambda new: replace_patiently(files, new, path))


def write_new_whole(path: Path, data: bytes, files: Files = REAL) -> None:
    """Write a new file at one stroke, replacing nothing; its folder must be there.

    AlreadyThere; NotKept: nothing is there, or the file whole.
    """
    with storage_errors(path, "it was not written"):
        try:
            put(files, path, data, _spare_name(path), lambda new: files.place_new(new, path))
        except FileExistsError as error:
            problem = "a file of that name is there"
            raise AlreadyThere(problem, path, "give this one another name") from error


def write_somewhere(beside: Path | None, name: str, data: bytes) -> Path:
    """Write a new file in a folder, else in the home folder, else in the temporary one."""
    failed: StorageError = Unreadable("there is no folder to write to", name, "free some room")
    for folder in _spare_folders(beside):
        taken = os.path.lexists(folder / name)
        path = folder / (f"{secrets.token_hex(4)}-{name}" if taken else name)
        try:
            write_new_whole(path, data)
        except StorageError as error:
            failed = error
        else:
            return path
    raise failed


def _spare_folders(first: Path | None) -> Iterator[Path]:
    yield from [first] if first else []
    yield Path(os.path.expanduser("~"))
    with suppress(OSError):  # nothing can be written to any temporary folder
        yield Path(tempfile.gettempdir())


def put(
    files: Files, path: Path, data: bytes, temporary: Path, place: Callable[[Path], None]
) -> None:
    """Write `data` under a temporary name, flushed, have `place` move it to `path`, flush that.

    Raises OSError; no temporary file is left then.
    """
    write_new(files, temporary, data)
    try:
        place(temporary)
    except OSError:
        with suppress(OSError):  # the failure that led here is what counts
            files.unlink(temporary)
        raise
    files.sync_folder(path.parent)


def write_new(files: Files, path: Path, data: bytes) -> None:
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


def write_all(files: Files, fd: int, data: bytes) -> None:
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
        raise FlushFailed(error.errno, error.strerror) from error


def replace_patiently(files: Files, source: Path, target: Path) -> None:
    """Replace `target` by `source`, which is never removed first; OSError where no try helped."""
    for wait_s in files.retry_waits_s:
        try:
            files.replace(source, target)
            return
        except PermissionError:
            time.sleep(wait_s)
    files.replace(source, target)


def refuse_odd(files: Files, path: Path) -> None:
    """Raise Unreadable for a folder, a pipe or a device; a name that isn't taken is fine."""
    try:
        state = files.state_at(path)
    except FileNotFoundError:
        return
    if not state.ordinary:
        raise _odd(path)


def read_file(files: Files, path: Path, cap: int) -> bytes:
    """Read a whole file; OSError, Unreadable for anything but a file, TooLarge above `cap`."""
    fd = files.open(path, write=False)
    try:
        return read_open(files, fd, path, cap)
    finally:
        files.close(fd)


def read_open(files: Files, fd: int, where: Path, cap: int) -> bytes:
    """Read an open file as `read_file` does; nothing may have been read from it yet."""
    if not files.state(fd).ordinary:
        raise _odd(where)
    parts: list[bytes] = []
    total = 0
    while total <= cap and (part := files.read(fd, min(_CHUNK, cap + 1 - total))):
        parts.append(part)
        total += len(part)
    if total > cap:
        problem = f"it is larger than {cap // (1 << 20)} MiB"
        raise TooLarge(problem, where, "no file of ours grows so large")
    return b"".join(parts)


def _odd(where: Path) -> Unreadable:
    return Unreadable("it is not an ordinary file", where, "name a file")


def _spare_name(path: Path) -> Path:
    return path.with_name(f".{path.name[:200]}.{os.getpid()}-{secrets.token_hex(4)}.new")


# ---------------------------------------- drafts of setups, beside the builds

NEW_SETUP = "new-setup"
"""What the draft of a setup being filled in is called."""

DRAFT_CAP = 1 << 20
"""The most bytes of a draft: 1 MiB."""


def keep_draft(folder: Path, name: str, text: str, files: Files = REAL) -> Path:
    """Keep a draft, in place of an earlier one of that name."""
    path = _path(folder, name)
    write_whole(path, text.encode("utf-8", "surrogatepass"), files)
    return path


def read_draft(folder: Path, name: str, files: Files = REAL) -> str | None:
    """Read a draft; None where there is none."""
    path = _path(folder, name)
    with storage_errors(path, "the draft can't be read", Unreadable):
        try:
            data = read_file(files, path, DRAFT_CAP)
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
    """Remove a draft; nothing happens where there is none."""
    path = _path(folder, name)
    with storage_errors(path, "the draft was not removed"), suppress(FileNotFoundError):
        files.unlink(path)


def _path(folder: Path, name: str) -> Path:
    return inside(folder, f"{safe_name(name)}.draft")
