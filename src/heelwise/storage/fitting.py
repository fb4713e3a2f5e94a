"""Text on its way into a record: only what reading it back would accept goes in."""

from pathlib import Path

from heelwise.storage.errors import Unfit
from heelwise.storage.grammar import why_unfit, why_unfit_head


def head_bytes(text: str, where: Path) -> bytes:
    """Turn a record's head into its bytes.

    Args:
        text: TOML lines.
        where: The record, for messages.

    Returns:
        The bytes, ending with LF.

    Raises:
        Unfit: The text may not stand at the head of a record.
    """
    data = _bytes(text, where)
    why = why_unfit_head(data)
    if why is not None:
        raise Unfit(why, where, "a head is the setup and the build, one value a line")
    return data


def entry_bytes(text: str, where: Path, number: int, after_bare_end: bool = False) -> bytes:
    """Turn an entry into its bytes, without its seal.

    Args:
        text: TOML lines from ``[[entry]]`` to the last field.
        where: The record, for messages.
        number: The number the entry must have.
        after_bare_end: True where the file's last line lacks its LF, which then comes first.

    Returns:
        The bytes, ending with LF.

    Raises:
        Unfit: The text may not stand in a record.
    """
    data = (b"\n" if after_bare_end else b"") + _bytes(text, where)
    why = why_unfit(data, number)
    if why is not None:
        raise Unfit(why, where, f"entry {number} is [[entry]], its number, then values alone")
    return data


def _bytes(text: str, where: Path) -> bytes:
    if "\r" in text:
        raise Unfit("it holds a carriage return", where, "end lines with LF alone")
    try:
        data = text.encode("utf-8")
    except UnicodeEncodeError as error:
        raise Unfit("it holds half a character", where, "write whole characters") from error
    return data if not data or data.endswith(b"\n") else data + b"\n"
