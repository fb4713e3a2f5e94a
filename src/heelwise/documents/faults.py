"""What is wrong with a document, where, and what would be right."""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from heelwise.plain_text import one_line

MOST_TOLD = 200
"""Faults told of one document; after those, how many more there are."""

_PLACE = re.compile(r"(?P<table>[^ .]+)(?: (?P<number>[0-9]+))?")

FILE = "file"
"""The ``where`` of a fault of the whole file."""


@dataclass(frozen=True)
class Fault:
    """One thing wrong with a document.

    Attributes:
        where: ``table.key`` ("lifter.least_turns", "reading 3.turns"), "line 7", or "file".
        problem: What is wrong, in plain words.
        instead: What would be right.
    """

    where: str
    problem: str
    instead: str

    def __str__(self) -> str:
        return one_line(f"{self.where}: {self.problem}; {self.instead}", limit=500)


class Faulty(Exception):
    """A document that can't be used, with every fault found in it.

    Attributes:
        file: The file's name as the user gave it.
        faults: At least one fault.
    """

    def __init__(self, file: str, faults: Iterable[Fault]) -> None:
        self.file = file
        self.faults = tuple(faults)
        super().__init__(file, self.faults)

    def lines(self) -> tuple[str, ...]:
        """Write one line per fault: ``file: table.key: what is wrong; what would be right``."""
        return tuple(f"{one_line(self.file)}: {fault}" for fault in self.faults)

    def __str__(self) -> str:
        return "\n".join(self.lines())


def quoted(value: object, limit: int = 40) -> str:
    """Show a value of a document inside a sentence.

    Args:
        value: Anything TOML can hold.
        limit: The most characters to show.

    Returns:
        Text in double quotes, cut and made plain; a number, a date or true and false as TOML
        writes them; a table or an array by that word.
    """
    if isinstance(value, str):
        return f'"{one_line(value, limit)}"'
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int) and abs(value) >= 10**20:
        return "a huge number"  # Python itself refuses to write one of 4,301 digits
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list | tuple):
        return "an array"
    return one_line(str(value), limit)


def where_text(path: Iterable[object]) -> str:
    """Write a path of keys and indexes as ``table.key``.

    Args:
        path: Keys (text) and indexes (int, from 0) from the document's root.

    Returns:
        ``("reading", 2, "turns")`` as "reading 3.turns"; the empty path as "file".
    """
    text = ""
    for part in path:
        if isinstance(part, int):
            text += f" {part + 1}"
        else:
            text += ("." if text else "") + one_line(str(part), 60)
    return text.strip() or FILE


def in_order(faults: Iterable[Fault], tables: Iterable[str]) -> list[Fault]:
    """Put faults in the order of their document, each only once.

    Args:
        faults: In any order.
        tables: The names of the document's tables and bare keys, as they follow each other.

    Returns:
        The faults of each table together, arrays of tables by number; what the document doesn't
        have comes last. At most 200, and then how many more there are.
    """
    order = {name: place for place, name in enumerate(tables)}

    def place(fault: Fault) -> tuple[int, int]:
        found = _PLACE.match(fault.where)
        if found is None:
            return (len(order), 0)
        return (order.get(found["table"], len(order)), int(found["number"] or 0))

    ordered = sorted(dict.fromkeys(faults), key=place)
    more = len(ordered) - MOST_TOLD
    if more <= 0:
        return ordered
    return [*ordered[:MOST_TOLD], Fault(FILE, f"has {more:,} more faults", "mend these first")]


def not_said_twice(said: Iterable[Fault], more: Iterable[Fault]) -> list[Fault]:
    """Leave out what the arithmetic says of a key of [engine] that is at fault already.

    Args:
        said: Faults found so far.
        more: Faults found by another check.

    Returns:
        Those of `more` to be told besides.
    """
    places = [fault.where for fault in said]
    return [
        fault
        for fault in more
        if not fault.where.startswith("engine.")
        or not any(at == fault.where or at.startswith(f"{fault.where} ") for at in places)
    ]
