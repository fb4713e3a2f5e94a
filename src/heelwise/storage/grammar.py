"""What the bytes of an entry may look like, looked at before any TOML is parsed.

An entry is ``[[entry]]``, ``number = N``, lines of scalars and arrays of scalars, and its seal.
Text never spans lines, so every line begins outside any string and can be judged alone.
"""

import re

ENTRY = b"[[entry]]"

_STRING = rb'"(?:[^"\\\n]++|\\[^\n])*+"'
_LINE = (
    rb"(?!number |seal )[A-Za-z0-9_-]++ = "
    rb"(?:" + _STRING + rb"|[^\"'\[\]{}#\n]++|\[(?:[^\"'\[\]{}#]++|" + _STRING + rb")*+\])\n"
)
# Exactly what our own writer makes; whatever else may be in order is looked at line by line.
_OURS = re.compile(rb"\n*+\[\[entry\]\]\nnumber = ([1-9][0-9]{0,8})\n(?:" + _LINE + rb")*+")
_STRINGS = re.compile(_STRING)
_HEADER = re.compile(rb"\[.*\][ \t]*(?:#.*)?")
_PLAIN_HEADER = re.compile(rb"\[\[?[a-z_]+(?:\.[A-Za-z0-9_-]+)*\]\]?")
_NAMES_ENTRY = re.compile(rb"""[\[\s]*["']?entry["']?[\s.\]=]""")
_NUMBER = re.compile(rb"number = ([1-9][0-9]{0,8})")
_SEAL_WORD = re.compile(rb"""(?:"seal"|'seal')[ \t]*=|seal(?![A-Za-z0-9_.-])""")
_SEAL_BEGUN = re.compile(rb'seal(?: (?:=(?: (?:"(?:[0-9a-f]{0,64}"?)?)?)?)?)?')


def why_unfit(body: bytes, number: int) -> str | None:
    """Look at what stands between two seals.

    Args:
        body: The bytes after one seal line and before the next, with every CR LF read as LF; for
            entry 1 without the record's head.
        number: The number the entry must have.

    Returns:
        What is wrong, or None.
    """
    ours = _OURS.fullmatch(body)
    if ours is not None and b'"""' not in body:
        if int(ours[1]) != number:
            return _misnumbered(int(ours[1]), number)
        return None
    return _by_line(body, number)


def why_unfit_head(head: bytes) -> str | None:
    """Look at what stands before the first entry.

    Args:
        head: The bytes before the first ``[[entry]]`` line, with every CR LF read as LF.

    Returns:
        What is wrong, or None.
    """
    if head.startswith(b"\xef\xbb\xbf"):
        return "the file begins with a byte-order mark"
    for line in head.split(b"\n"):
        bare = line.strip(b" \t")
        if why := _hidden(line):
            return why
        if line.startswith(b"number = ") or _SEAL_WORD.match(bare):
            return "a line of the head looks like one of an entry"
        if _NAMES_ENTRY.match(bare):
            return "the head has an entry that is not written as one"
    return None


def why_not_torn(tail: bytes) -> str | None:
    """Look at what follows the last seal: a write cut short, or an entry whose seal was lost.

    Args:
        tail: The bytes after the last seal.

    Returns:
        Why this can't be what a write cut short leaves, or None.
    """
    lines = tail.replace(b"\r\n", b"\n").split(b"\n")
    if lines.count(ENTRY) > 1:
        return "it has no seal, and another entry follows it"
    for place, line in enumerate(lines):
        if not _SEAL_WORD.match(line):
            continue
        if place < len(lines) - 1 or not _SEAL_BEGUN.fullmatch(line):
            return "its seal is not 64 digits 0 to 9 and a to f between quotes"
    return None


def _by_line(body: bytes, number: int) -> str | None:
    numbers: list[int] = []
    begun = False
    for line in body.split(b"\n"):
        bare = line.strip(b" \t")
        if line == ENTRY and begun:
            return "it has no seal"
        if line.startswith(b"number = ") and begun and not numbers:
            found = _NUMBER.fullmatch(line)
            if found is None or int(found[1]) != number:
                return _misnumbered(line.removeprefix(b"number = "), number)
            numbers.append(number)
            continue
        if why := _odd_line(line, bare, begun):
            return why
        begun = begun or line == ENTRY
    if not begun:
        return "there is a seal, but no entry before it"
    return None if numbers else "its number is missing"


def _odd_line(line: bytes, bare: bytes, begun: bool) -> str | None:
    if why := _hidden(line):
        return why
    if line.startswith(b"number = "):
        return "its number stands twice" if begun else "a number stands outside the entry"
    if _SEAL_WORD.match(bare):
        return "it has a second seal, or one that is not its last line"
    if line == ENTRY or not _HEADER.fullmatch(bare):
        return None
    if begun:
        return "it holds a table, and an entry holds only values"
    if bare != line or not _PLAIN_HEADER.fullmatch(line) or _NAMES_ENTRY.match(line):
        return "a table before it is not written as our records write one"
    return None


def _hidden(line: bytes) -> str | None:
    """Refuse whatever could make following lines part of a string."""
    if b'"""' in line:
        return "it holds text over several lines"
    # Within an ordinary string three apostrophes are harmless; our writer makes no other strings.
    if b"'''" in line and b"'" in _STRINGS.sub(b"", line):
        return "it holds text over several lines"
    return None


def _misnumbered(found: int | bytes, number: int) -> str:
    shown = found if isinstance(found, int) else found[:20].decode("ascii", "replace")
    return f"number {shown} stands where entry {number} should: an entry was taken out or moved"
