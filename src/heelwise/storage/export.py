"""Writing a whole file at one stroke, as sheets and drafts are: the old or the new, never half."""

import os
import secrets
from contextlib import suppress
from pathlib import Path

from heelwise.storage.errors import AlreadyThere, telling
from heelwise.storage.files import REAL, Files
from heelwise.storage.handling import refuse_odd, replace_patiently, write_new


def write_whole(path: Path, data: bytes, files: Files = REAL) -> None:
    """Write a file, replacing what has its name.

    Args:
        path: The file; its folder must be there.
        data: All its bytes.
        files: The file layer.

    Raises:
        Unreadable: The name is a folder's or a device's.
        NotKept: A call failed; what was there before is there still, or the new file whole.
    """
    path = Path(os.path.realpath(path))
    temporary = path.with_name(f".{path.name[:200]}.{os.getpid()}-{secrets.token_hex(4)}.new")
    with telling(path, "it was not written"):
        refuse_odd(files, path)
        write_new(files, temporary, data)
        try:
            replace_patiently(files, temporary, path)
        except OSError:
            # The failed replacement is what is told.
            with suppress(OSError):
                files.unlink(temporary)
            raise
        files.sync_folder(path.parent)


def write_new_whole(path: Path, data: bytes, files: Files = REAL) -> None:
    """Write a new file at one stroke, replacing nothing.

    Args:
        path: The file; its folder must be there.
        data: All its bytes.
        files: The file layer.

    Raises:
        AlreadyThere: The name is taken.
        NotKept: A call failed; nothing is there, or the file whole.
    """
    temporary = path.with_name(f".{path.name[:200]}.{os.getpid()}-{secrets.token_hex(4)}.new")
    with telling(path, "it was not written"):
        write_new(files, temporary, data)
        try:
            files.place_new(temporary, path)
        except OSError as error:
            with suppress(OSError):  # the failed placing is what is told
                files.unlink(temporary)
            if isinstance(error, FileExistsError):
                problem = "a file of that name is there"
                raise AlreadyThere(problem, path, "give this one another name") from error
            raise
        files.sync_folder(path.parent)
