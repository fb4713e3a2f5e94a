"""The seals of a record: one after each entry, over every byte of the file before it.

A seal is the SHA-256 (FIPS 180-4) of those bytes, CR LF read as LF, written as
``seal = "`` + 64 lower-case hexadecimal digits + ``"``. Seals show accident and careless editing;
anyone can make them anew, so they are no signature.
"""

import re
from dataclasses import dataclass
from enum import StrEnum
from hashlib import sha256
from typing import TYPE_CHECKING, NamedTuple

from heelwise.storage.grammar import ENTRY, why_not_torn, why_unfit, why_unfit_head

if TYPE_CHECKING:
    from hashlib import _Hash

_SEAL = re.compile(rb'\nseal = "([0-9a-f]{64})"(?=\r?\n|\r?\Z)')
_LINE_LENGTH = len('seal = ""') + 64
_LEAVE = "leave the file as it is, and compare it with a copy or with the printed sheet"


class State(StrEnum):
    """How a record's bytes are."""

    WHOLE = "whole"
    TORN = "torn"
    DAMAGED = "damaged"


class Block(NamedTuple):
    """One sealed entry's place in the file, with whatever stands before it since the last seal.

    Attributes:
        number: The entry's number: 1, 2, 3 and so on.
        start: The offset of its first byte (the head's first byte for entry 1).
        end: The offset after its seal line.
        seal: 64 lower-case hexadecimal digits.
    """

    number: int
    start: int
    end: int
    seal: str


class SealFault(NamedTuple):
    """Where the seals end, and why.

    Attributes:
        entry: The first entry that is not in order.
        problem: What is wrong, in plain words.
        instead: What to do about it.
    """

    entry: int
    problem: str
    instead: str


@dataclass(frozen=True, slots=True)
class Scan:
    """What the bytes of a record say of themselves.

    Attributes:
        state: Whole; torn (no complete seal line ends the file); or damaged (a complete but wrong
            seal, or a missing one, anywhere).
        blocks: The entries whose seals agree, up to the first that fails.
        head_end: The offset of the first ``[[entry]]`` line; 0 where no seal agrees.
        sealed_end: The offset after the last seal that agrees.
        fault: None only where the record is whole.
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


class Sealer:
    """The running sum over a record's bytes, so that sealing an entry costs its own length."""

    def __init__(self) -> None:
        self._sum: _Hash = sha256()

    def add(self, data: bytes) -> None:
        """Take in bytes that follow, with every CR LF already read as LF."""
        self._sum.update(data)

    def seal(self) -> str:
        """Give the seal of all bytes taken in: 64 lower-case hexadecimal digits."""
        return self._sum.hexdigest()

    def copy(self) -> "Sealer":
        """Give a second sum that goes on from here by itself."""
        twin = Sealer()
        twin._sum = self._sum.copy()
        return twin


def seal_line(seal: str) -> bytes:
    """Write the last line of an entry.

    Args:
        seal: 64 lower-case hexadecimal digits.

    Returns:
        The line with its LF.
    """
    return f'seal = "{seal}"\n'.encode("ascii")


def scan(data: bytes) -> Scan:
    """Check a record's seals and the order of its entries, in one pass.

    Args:
        data: The whole file.

    Returns:
        What was found; nothing is raised for bad bytes.
    """
    return scan_on(data, Sealer())


def scan_on(data: bytes, sealer: Sealer) -> Scan:
    """Check a record as `scan` does, keeping the running sum.

    Args:
        data: The whole file.
        sealer: A fresh sum; where no seal fails, it has taken in all up to the last of them.

    Returns:
        What was found.
    """
    blocks: list[Block] = []
    head_end = end = 0
    with_cr = b"\r" in data
    for number, found in enumerate(_SEAL.finditer(data), 1):
        start, line = end, found.start() + 1
        body = data[start:line]
        if with_cr:
            body = body.replace(b"\r\n", b"\n")
        sealer.add(body)
        seal = found[1].decode("ascii")
        agrees = sealer.seal() == seal
        head, body = _part(body) if number == 1 else (b"", body)
        why = _why(head, body, number, agrees)
        if why is not None:
            fault = SealFault(number, why, _LEAVE)
            return Scan(State.DAMAGED, tuple(blocks), head_end, start, fault)
        if number == 1:
            head_end = _entry_offset(data)
        end = _line_end(data, line + _LINE_LENGTH)
        sealer.add(data[line : line + _LINE_LENGTH])
        if end > line + _LINE_LENGTH:
            sealer.add(b"\n")
        blocks.append(Block(number, start, end, seal))
    return _with_tail(data, tuple(blocks), head_end, end)


def _why(head: bytes, body: bytes, number: int, agrees: bool) -> str | None:
    if b"\r" in head or b"\r" in body:
        return "it holds a carriage return that ends no line"
    why = (why_unfit_head(head) if head else None) or why_unfit(body, number)
    if why is None and not agrees:
        why = "its seal does not agree with the file before it: something there was changed"
    return why


def _with_tail(data: bytes, blocks: tuple[Block, ...], head_end: int, end: int) -> Scan:
    if not blocks:
        fault = SealFault(1, "no sealed entry is in the file", _LEAVE)
        return Scan(State.DAMAGED, blocks, 0, 0, fault)
    if end == len(data):
        return Scan(State.WHOLE, blocks, head_end, end, None)
    number = len(blocks) + 1
    why = why_not_torn(data[end:])
    if why is not None:
        fault = SealFault(number, why, _LEAVE)
        return Scan(State.DAMAGED, blocks, head_end, end, fault)
    fault = SealFault(
        number,
        f"it was cut short: {len(data) - end} bytes follow the last seal",
        "open the record for work: what is left of the entry is set aside and asked for again",
    )
    return Scan(State.TORN, blocks, head_end, end, fault)


def _part(body: bytes) -> tuple[bytes, bytes]:
    """Part the head from entry 1; without an ``[[entry]]`` line all is the entry's."""
    if body.startswith(ENTRY + b"\n"):
        return b"", body
    place = body.find(b"\n" + ENTRY + b"\n")
    return (body[: place + 1], body[place + 1 :]) if place >= 0 else (b"", body)


def _entry_offset(data: bytes) -> int:
    return 0 if data.startswith(ENTRY) else data.find(b"\n" + ENTRY) + 1


def _line_end(data: bytes, after_quote: int) -> int:
    """Find where a seal line ends; a last one that lacks its LF ends with its quote."""
    if data[after_quote : after_quote + 1] == b"\n":
        return after_quote + 1
    return after_quote + 2 if data[after_quote : after_quote + 2] == b"\r\n" else after_quote
