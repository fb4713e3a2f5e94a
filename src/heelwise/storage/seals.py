"""The seals of a record: one after each entry, over every byte of the file before it.

A seal is the SHA-256 (FIPS 180-4) of those bytes, CR LF read as LF, written as
``seal = "`` + 64 lower-case hexadecimal digits + ``"``. Seals show accident and careless editing;
anyone can make them anew, so they are no signature.

All is looked at on bytes, before any TOML is parsed. An entry is ``[[entry]]``, ``number = N``,
lines of scalars and arrays of scalars, and its seal. Text never spans lines, so every line begins
outside any string and can be judged alone.
"""

import re
from dataclasses import dataclass
from enum import StrEnum
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from heelwise.storage.errors import Unfit

if TYPE_CHECKING:
    from hashlib import _Hash

_ENTRY = b"[[entry]]"
_SEAL = re.compile(rb'\nseal = "([0-9a-f]{64})"(?=(\r?\n)|\r?\Z)')
_LEAVE = "leave the file as it is, and compare it with a copy or with the printed sheet"
_ASKED_AGAIN = "open it for work: what is left of the entry is set aside and asked for again"

_STRING = rb'"(?:[^"\\\n]++|\\[^\n])*+"'
_LINE = (
    rb'(?!"?(?:number|seal)\b"? )(?:[A-Za-z0-9_-]++|%(text)b) = '
    rb"(?:%(text)b|[^\"'\[\]{}#\n]++|\[(?:[^\"'\[\]{}#\n]++|%(text)b)*+\])\n"
) % {b"text": _STRING}
_TABLE = rb"\[\[?(?!entry[\].])[a-z_]+(?:\.[A-Za-z0-9_-]+)*\]\]?\n(?:\n|" + _LINE + rb")*+"
_OURS = re.compile(
    rb"\n*+(?:" + _TABLE + rb")*+\[\[entry\]\]\nnumber = ([^\n]*+)\n(?:\n|" + _LINE + rb")*+"
)
"""Exactly what our writer makes between two seals."""
_STRINGS = re.compile(_STRING)
_NOT_OF_A_HEAD = re.compile(
    rb"[\"']|^[ \t]*(?:number = |seal\b(?![.-])|entry[ \t.=]|\[+[ \t]*(?:\]|entry[ \t.\]]))",
    re.MULTILINE,
)
"""In a head without its strings: text over several lines, or what only an entry has."""
_ENTRY_LINE = re.compile(rb"^\[\[entry\]\]$", re.MULTILINE)
_SPOILT_SEAL = re.compile(
    rb'^seal(?![\w.-])(?!(?: (?:=(?: (?:"[0-9a-f]{0,64}"?)?)?)?)?\Z)', re.MULTILINE
)


class State(StrEnum):
    """How a record's bytes are."""

    WHOLE = "whole"
    TORN = "torn"
    DAMAGED = "damaged"


class Block(NamedTuple):
    """One sealed entry's place in the file, with whatever stands before it since the last seal.

    `start` is the offset of its first byte (the head's for entry 1), `end` that after its seal.
    """

    number: int
    start: int
    end: int
    seal: str


class SealFault(NamedTuple):
    """The first entry that is not in order, what is wrong with it and what to do about it."""

    entry: int
    problem: str
    instead: str


@dataclass(frozen=True, slots=True)
class Scan:
    """What the bytes of a record say of themselves.

    Torn: no complete seal line ends the file. Damaged: a complete but wrong seal, or a missing
    one, anywhere. `blocks`: the entries whose seals agree, up to the first that fails. `head_end`:
    the offset of the first ``[[entry]]`` line; 0 where no seal agrees. `sealed_end`: the offset
    after the last seal that agrees. `fault` is None only where the record is whole.
    """

    state: State
    blocks: tuple[Block, ...]
    head_end: int
    sealed_end: int
    fault: SealFault | None

    @property
    def last_seal(self) -> str:
        """The seal of the last sealed entry; empty where there is none."""
        return self.blocks[-1].seal if self.blocks else ""


def seal_line(seal: str) -> bytes:
    """The last line of an entry, with its LF."""
    return f'seal = "{seal}"\n'.encode("ascii")


def scan(data: bytes, sum_into: "_Hash | None" = None) -> Scan:
    """Check a record's seals and the order of its entries; nothing is raised for bad bytes.

    `sum_into`: a fresh sum, which takes in all up to the last good seal.
    """
    running = sha256() if sum_into is None else sum_into
    blocks: list[Block] = []
    head_end = end = 0
    with_cr = b"\r" in data
    for number, match in enumerate(_SEAL.finditer(data), 1):
        start, line = end, match.start() + 1
        body = data[start:line]
        if with_cr:
            body = body.replace(b"\r\n", b"\n")
        running.update(body)
        seal = match[1].decode("ascii")
        agrees = running.hexdigest() == seal
        if why := _why_wrong(body, number, agrees):
            return _ended(data, blocks, head_end, start, why)
        if number == 1:
            head_end = 0 if data.startswith(_ENTRY) else data.find(b"\n" + _ENTRY) + 1
        end = max(match.end(), match.end(2))  # with its line's end, where there is one
        running.update(data[line : match.end()] + (b"\n" if match[2] else b""))
        blocks.append(Block(number, start, end, seal))
    return _ended(data, blocks, head_end, end, None)


def _why_wrong(body: bytes, number: int, agrees: bool) -> str | None:
    """What is wrong up to a seal, every CR LF read as LF; entry 1 has the head before it."""
    if b"\r" in body:
        return "it holds a carriage return that ends no line"
    if number == 1 and not body.startswith(_ENTRY + b"\n"):
        head, _, rest = body.partition(b"\n" + _ENTRY + b"\n")
        body = _ENTRY + b"\n" + rest
        if agrees and _NOT_OF_A_HEAD.search(_STRINGS.sub(b"", head)):
            return "the head is not written as our records write one"
    return _why_unfit(body, number, agrees)


def _ended(data: bytes, blocks: list[Block], head_end: int, end: int, why: str | None) -> Scan:
    state, instead = State.DAMAGED, _LEAVE
    if why is None and not blocks:
        why = "no sealed entry is in the file"
    elif why is None and end == len(data):
        return Scan(State.WHOLE, tuple(blocks), head_end, end, None)
    elif why is None and not (why := _why_not_torn(data[end:])):
        state, instead = State.TORN, _ASKED_AGAIN
        why = f"it was cut short: {len(data) - end} bytes follow the last seal"
    return Scan(state, tuple(blocks), head_end, end, SealFault(len(blocks) + 1, why, instead))


def _why_unfit(body: bytes, number: int, agrees: bool = True) -> str | None:
    """What is wrong with what stands between two seals, for entry 1 without the head."""
    ours = _OURS.fullmatch(body)
    if ours and ours[1] != str(number).encode():
        shown = ours[1][:20].decode("ascii", "replace")
        return f"number {shown} stands where entry {number} should: an entry was taken out or moved"
    if not agrees:
        return "its seal does not agree with the file before it: something there was changed"
    return None if ours else "it is not written as our records write one"


def _why_not_torn(tail: bytes) -> str | None:
    tail = tail.replace(b"\r\n", b"\n")
    if len(_ENTRY_LINE.findall(tail)) > 1:
        return "it has no seal, and another entry follows it"
    if _SPOILT_SEAL.search(tail):
        return "its seal is not 64 digits 0 to 9 and a to f between quotes"
    return None


def head_bytes(text: str, where: Path) -> bytes:
    """A record's head as bytes that end with LF; Unfit where reading it back would fail."""
    data = _bytes(text, where)
    if _NOT_OF_A_HEAD.search(_STRINGS.sub(b"", data)):
        problem = "the head is not written as our records write one"
        raise Unfit(problem, where, "a head is the setup and the build, one value a line")
    return data


def entry_bytes(text: str, where: Path, number: int, after_bare_end: bool = False) -> bytes:
    """An entry as bytes that end with LF, without its seal; Unfit where reading it back would fail.

    `after_bare_end`: the file's last line lacks its LF, which then comes first.
    """
    data = (b"\n" if after_bare_end else b"") + _bytes(text, where)
    if why := _why_unfit(data, number):
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
