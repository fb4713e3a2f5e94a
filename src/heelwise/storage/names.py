"""Names: of files, made of letters, digits and dashes; of folders as typed; of people."""

import os
import re
from pathlib import Path

from heelwise.plain_text import plain
from heelwise.storage.errors import BadName, storage_errors

LONGEST_INITIALS = 40

_SAFE = re.compile(r"[A-Za-z0-9][A-Za-z0-9-]{0,63}", re.ASCII)
PHOTO = re.compile(r"([A-Za-z0-9][A-Za-z0-9_-]{0,63})\.[A-Za-z0-9]{1,5}", re.ASCII)
_RESERVED = re.compile(r"con|prn|aux|nul|com[0-9]|lpt[0-9]", re.ASCII | re.IGNORECASE)


def safe_name(text: str) -> str:
    """Check that a text can be the name of a file everywhere, without its ending; BadName."""
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
    """Check that a text is a photograph's file name with its ending and nothing else; BadName."""
    parts = PHOTO.fullmatch(text)
    if not parts or _RESERVED.fullmatch(parts[1]):
        raise BadName(
            "a photograph is named by its file alone, without a folder",
            text[:80],
            'write it like "IMG_0042.jpg"',
        )
    return text


def initials(text: str) -> str:
    """Check the initials or name a person signs with; white space around them goes. BadName."""
    text = text.strip()
    instead = 'sign like "MK"'
    if not text:
        raise BadName("are empty", "initials", instead)
    if plain(text) != text:
        raise BadName("hold a character that can't be read here", "initials", instead)
    if len(text) > LONGEST_INITIALS:
        raise BadName(f"are longer than {LONGEST_INITIALS} letters", "initials", instead)
    return text


def resolved(path: Path) -> Path:
    """The path made absolute, links followed; StorageError: a null byte, no working folder."""
    with storage_errors(plain(str(path)[:80]), "it can't be found"):
        return Path(os.path.realpath(path))


def typed_path(text: str) -> Path:
    """The path a person typed, ~ and links followed; StorageError where it can't be one here."""
    text = text.strip()
    if not text:
        raise BadName("no folder was typed", "the folder", "type one, or go back")
    if plain(text) != text:
        raise BadName("it holds control characters", plain(text)[:80], "type it anew")
    try:
        path = Path(text).expanduser()
    except RuntimeError as error:  # nobody of that name has a home here
        name = text.partition("/")[0]
        raise BadName(f"{name} has no home folder here", text, "type the folder itself") from error
    return resolved(path)


def inside(folder: Path, name: str) -> Path:
    """The path of a file in a folder, links in the folder's own path followed.

    BadName where the name leads out of the folder, by its parts or by a link.
    """
    home = resolved(folder)
    path = home / name
    whole = name not in {"", ".", ".."} and not set(name) & set("/\\:\0")
    if not whole or resolved(path).parent != home:
        raise BadName("it leads out of its folder", name[:80], "name a file of that folder")
    return path
