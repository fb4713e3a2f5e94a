"""File names: made from letters, digits and dashes, never from free text, never out of a folder."""

import os
import re
from pathlib import Path

from heelwise.storage.errors import BadName

_SAFE = re.compile(r"[A-Za-z0-9][A-Za-z0-9-]{0,63}", re.ASCII)
_PHOTO = re.compile(r"([A-Za-z0-9][A-Za-z0-9_-]{0,63})\.[A-Za-z0-9]{1,5}", re.ASCII)
_RESERVED = re.compile(r"con|prn|aux|nul|com[0-9]|lpt[0-9]", re.ASCII | re.IGNORECASE)


def safe_name(text: str) -> str:
    """Check that a text can be the name of a file everywhere.

    Args:
        text: The name, without an ending.

    Returns:
        The same text.

    Raises:
        BadName: It is not 1 to 64 letters (a to z), digits and dashes beginning with a letter or
            digit, or Windows keeps the name for a device.
    """
    if not _SAFE.fullmatch(text):
        raise BadName(
            "a name is made of 1 to 64 letters, digits and dashes, and begins with no dash",
            text[:80],
            'try one like "block-12"',
        )
    if _RESERVED.fullmatch(text):
        raise BadName("Windows keeps this name for a device", text, f'try "{text}-1"')
    return text


def photo_name(text: str) -> str:
    """Check that a text is a photograph's file name and nothing else.

    Args:
        text: The name with its ending, as a camera gives it.

    Returns:
        The same text.

    Raises:
        BadName: It is not letters, digits, dashes and underscores, a dot and a short ending, or
            Windows keeps the name for a device.
    """
    found = _PHOTO.fullmatch(text)
    if not found or _RESERVED.fullmatch(found[1]):
        raise BadName(
            "a photograph is named by its file alone, without a folder",
            text[:80],
            'write it like "IMG_0042.jpg"',
        )
    return text


def inside(folder: Path, name: str) -> Path:
    """Give the path of a file in a folder.

    Args:
        folder: The folder.
        name: The file's name with its ending.

    Returns:
        The path, with links in the folder's own path followed.

    Raises:
        BadName: The name leads out of the folder, by its parts or by a link.
    """
    home = Path(os.path.realpath(folder))
    path = home / name
    plain = name not in {"", ".", ".."} and not set(name) & set("/\\:\0")
    if not plain or Path(os.path.realpath(path)).parent != home:
        raise BadName("it leads out of its folder", name[:80], "name a file of that folder")
    return path
