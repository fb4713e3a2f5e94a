"""Ways of working with files, made of the file layer's single calls."""

import errno
import time
from contextlib import suppress
from pathlib import Path

from heelwise.storage.errors import FlushFailed, TooLarge, Unreadable
from heelwise.storage.files import Files

_CHUNK = 1 << 20


def write_all(files: Files, fd: int, data: bytes) -> None:
    """Write all of `data`, however short the single writes are.

    Args:
        files: The file layer.
        fd: An open descriptor.
        data: The bytes.

    Raises:
        OSError: A write failed, or wrote nothing.
    """
    rest = memoryview(data)
    while rest:
        gone = files.write(fd, rest)
        if gone <= 0:
            raise OSError(errno.EIO, "nothing was written")
        rest = rest[gone:]


def flush(files: Files, fd: int) -> None:
    """Flush a file down to the drive.

    Args:
        files: The file layer.
        fd: An open descriptor.

    Raises:
        FlushFailed: The flush failed; what was written may be lost without another sign.
    """
    try:
        files.sync(fd)
    except OSError as error:
        raise FlushFailed(error.errno, error.strerror) from error


def write_new(files: Files, path: Path, data: bytes) -> None:
    """Make a new file of `data`, flushed; on failure no file of ours is left.

    Args:
        files: The file layer.
        path: A name that is not taken.
        data: The bytes.

    Raises:
        OSError: A call failed; FileExistsError if the name is taken.
    """
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


def replace_patiently(files: Files, source: Path, target: Path) -> None:
    """Replace `target` by `source`, trying again a bounded number of times where that helps.

    Args:
        files: The file layer.
        source: The new file.
        target: The name to take; what has it is never removed first.

    Raises:
        OSError: The last try failed.
    """
    for wait_s in files.retry_waits_s:
        try:
            files.replace(source, target)
            return
        except PermissionError:
            time.sleep(wait_s)
    files.replace(source, target)


def refuse_odd(files: Files, path: Path) -> None:
    """Refuse a folder, a pipe or a device where a file is meant.

    Args:
        files: The file layer.
        path: The name; nothing need be there.

    Raises:
        OSError: That can't be found out.
        Unreadable: It is no ordinary file.
    """
    try:
        state = files.state_at(path)
    except FileNotFoundError:
        return
    if not state.ordinary:
        raise _odd(path)


def _odd(where: Path) -> Unreadable:
    return Unreadable("it is not an ordinary file", where, "name a file")


def read_open(files: Files, fd: int, where: Path, cap: int) -> bytes:
    """Read an open file from its beginning to its end.

    Args:
        files: The file layer.
        fd: A descriptor that nothing has been read from.
        where: Its name, for messages.
        cap: The most bytes to accept.

    Returns:
        The bytes.

    Raises:
        OSError: It can't be read.
        Unreadable: It is no ordinary file.
        TooLarge: It has more than `cap` bytes.
    """
    if not files.state(fd).ordinary:
        raise _odd(where)
    parts: list[bytes] = []
    total = 0
    while total <= cap and (part := files.read(fd, min(_CHUNK, cap + 1 - total))):
        parts.append(part)
        total += len(part)
    if total > cap:
        raise TooLarge(
            f"it is larger than {cap // (1 << 20)} MiB", where, "no file of ours grows so large"
        )
    return b"".join(parts)
