"""TOML read with caps, so that no file can hang or crash the reader; files' kinds and folders."""

import json
import os
import re
import tomllib
from collections.abc import Iterator, Mapping
from contextlib import suppress
from datetime import date, datetime
from enum import StrEnum
from functools import lru_cache
from importlib.resources import files
from math import isfinite
from pathlib import Path
from typing import Any

from heelwise.documents.faults import FILE, Fault, Faulty, quoted, where_text
from heelwise.plain_text import one_line
from heelwise.storage.errors import StorageError, Unreadable, storage_errors
from heelwise.storage.files import REAL
from heelwise.storage.whole_files import RECORD_CAP, read_file

FORMAT = 1
"""The newest format of our files."""

CAP = 1 << 20
"""Bytes of a setup or a procedure."""
_LARGEST_INT = 2**63 - 1  # TOML 1.0: 64 bits
_LONG_KEY = re.compile(r"""(?<![\w"'-])[\w"'-]++(?:[ \t]*+\.[ \t]*+[\w"'-]++){20}""")
"""Twenty parts and more: the parser's time grows with their square."""
_AT_LINE = re.compile(r"(?P<message>.*) \(at (?:line (?P<line>\d+), column.*|end of document)\)$")
_INSTEAD = {
    "Cannot overwrite a value": "give each key once",
    "Cannot declare": "give each table once",
    "Cannot mutate immutable": "give each table in one place",
    "Duplicate inline table key": "give each key once",
    "Expected '='": 'write key = value, or key = "text"',
    "Expected ']'": "write [name] or [[name]]",
    "Invalid value": 'write text and quantities in quotes: "8.150 in"',
    "Unterminated string": 'close the text with "',
    "Unescaped '\\'": "write two backslashes, or put the text in single quotes",
    "Expected newline": "give each key its own line, and text in quotes",
    "Invalid date": "there is no such date: write it like 2026-03-02",
}
"""What would be right where the parser stops."""


class FileKind(StrEnum):
    """What a file holds."""

    SETUP = "setup"
    PROCEDURE = "procedure"
    RECORD = "record"
    CARD = "engine card"
    STEPS = "shared steps"


RECORD_MARK = "# The record of a build, sealed entry by entry: change nothing here by hand."
"""A line near a record's beginning, by which it is known even where it was cut off after that."""

_KINDS = {b"procedure": FileKind.PROCEDURE, b"step": FileKind.STEPS, b"card": FileKind.CARD}
_TABLE = re.compile(rb"^[ \t]*\[{1,2}[ \t]*(procedure|build|entry|card|step)[ \t]*\]", re.MULTILINE)


def kind_of(path: Path) -> FileKind:
    """Tell a file's kind by its tables, on bytes, so that a damaged one is still known."""
    data = read_bytes(path, RECORD_CAP)
    if like_a_record(data):
        return FileKind.RECORD
    tables = _TABLE.findall(data)
    for table, kind in _KINDS.items():
        if table in tables:
            return kind
    return FileKind.SETUP


def like_a_record(data: bytes) -> bool:
    """Whether a file, however damaged, was a record: by its tables, or by its mark."""
    marked = RECORD_MARK.encode() in data[:1000].splitlines()
    return marked or any(table in (b"build", b"entry") for table in _TABLE.findall(data))


def known_format(raw: Mapping[str, object], file: str) -> list[Fault]:
    """Check a document's format number: one fault, or none; Faulty alone where it is newer."""
    value = raw.get("format")
    if value is None:
        return [Fault("format", "is missing", f"write format = {FORMAT} as the first line")]
    if type(value) is not int or value < 1:
        return [Fault("format", f"is {quoted(value)}", f"write format = {FORMAT}")]
    if value > FORMAT:
        problem = f"made for a newer Heelwise: format {quoted(value)}"
        raise Faulty(file, [Fault("format", problem, f"this one reads format {FORMAT}")])
    return []


def read_bytes(path: Path, cap: int = CAP) -> bytes:
    """Read an ordinary file of at most so many bytes, or Faulty."""
    try:
        with storage_errors(path, "it can't be read", Unreadable):
            return read_file(REAL, path, cap)
    except StorageError as error:
        raise Faulty(str(path), [Fault.at(FILE, error)]) from error


def read_toml(path: Path) -> dict[str, object]:
    """Read a TOML file; see `parse_toml`."""
    return parse_toml(read_bytes(path), str(path))


def parse_toml(data: bytes, file: str) -> dict[str, object]:
    """Parse TOML, or Faulty: also what would hang or crash the parser, nan, inf, over 64 bits.

    UTF-8 without a byte-order mark; line ends LF or CR LF.
    """
    text = _decoded(data, file)
    if match := _LONG_KEY.search(text):
        problem = "a key has more than 20 parts"
        fault = Fault(_line(text, match.start()), problem, "nothing here needs more than three")
        raise Faulty(file, [fault])
    try:
        document: dict[str, object] = tomllib.loads(text)
        odd = list(_odd_numbers(document))
    except tomllib.TOMLDecodeError as error:
        raise Faulty(file, [_in_words(str(error))]) from error
    except RecursionError as error:
        problem = "tables or arrays are nested too deep"
        raise Faulty(file, [Fault(FILE, problem, "nothing here needs more than three")]) from error
    except (ValueError, OverflowError) as error:
        digits = re.search(r"[0-9_]{4000}", text)  # int() takes 4,300
        where = FILE if digits is None else _line(text, digits.start())
        problem = "a number or a table is out of all proportion"
        raise Faulty(file, [Fault(where, problem, "write a plain number")]) from error
    if odd:
        raise Faulty(file, odd)
    return document


_HEADER = re.compile(r"\[([A-Za-z0-9_.-]+)\]|\[\[([A-Za-z0-9_.-]+)\]\]")
_PAIR = re.compile(r"([A-Za-z0-9_-]+) = (.+)")


def own_tables(data: bytes) -> dict[str, Any] | None:
    """Read a record, or a part of one, as our writer lays it out, several times as fast.

    None where a line is not of our own form, and `parse_toml` has to say.
    """
    document: dict[str, Any] = {}
    table = document
    lines = iter(data.decode("utf-8", "replace").replace("\r\n", "\n").split("\n"))
    for line in lines:
        if not line or line[0] == "#":
            continue
        if line[0] == "[" and (header := _HEADER.fullmatch(line)):
            opened = _opened(document, header[1] or header[2], many=header[1] is None)
            if opened is None:
                return None
            table = opened
            continue
        key, value = _pair(_joined(line, lines) if line.endswith(" = [") else line)
        if not key or key in table or "\ufffd" in line:
            return None
        table[key] = value
    return document


def _opened(document: dict[str, Any], path: str, many: bool) -> dict[str, Any] | None:
    *above, name = path.split(".")
    for part in above:
        document = document.setdefault(part, {})
        if not isinstance(document, dict):
            return None
    if many:
        rows, table = document.setdefault(name, []), dict[str, Any]()
        if not isinstance(rows, list):
            return None
        rows.append(table)
        return table
    return None if name in document else document.setdefault(name, {})


def _joined(first: str, lines: Iterator[str]) -> str:
    """An array on one line, without the comma after its last member."""
    parts = [first]
    for line in lines:
        part = line.strip()
        if part.startswith("]"):
            parts[-1] = parts[-1].removesuffix(",")
        parts.append(part)
        if line == "]":
            break
    return " ".join(parts)


def _finite(text: str) -> float:
    if not isfinite(value := float(text)):
        raise ValueError(text)
    return value


_JSON = json.JSONDecoder(parse_float=_finite, parse_constant=_finite)


@lru_cache(maxsize=1 << 14)  # most lines of a record stand in it, or in another, many times
def _pair(line: str) -> tuple[str, object]:
    """Our scalars and arrays are written as in JSON, but for dates and times."""
    if pair := _PAIR.fullmatch(line):
        for read in (_JSON.decode, date.fromisoformat, datetime.fromisoformat):
            with suppress(ValueError):
                return pair[1], read(pair[2])
    return "", None


def _decoded(data: bytes, file: str) -> str:
    if data.startswith(b"\xef\xbb\xbf"):
        problem = "begins with a byte-order mark"
        raise Faulty(file, [Fault("line 1", problem, 'save it as "UTF-8" without one')])
    if data.startswith((b"\xff\xfe", b"\xfe\xff")) or b"\0" in data[:2]:
        raise Faulty(file, [Fault("line 1", "is written in UTF-16", "save it as UTF-8")])
    try:
        return data.decode("utf-8").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        problem = f"has a byte that isn't UTF-8 (0x{data[error.start]:02x})"
        raise Faulty(file, [Fault(f"line {line}", problem, "save it as UTF-8")]) from error


def _line(text: str, at: int) -> str:
    return f"line {text.count(chr(10), 0, at) + 1}"


def _in_words(message: str) -> Fault:
    where = FILE
    if match := _AT_LINE.match(message):
        message = match["message"]
        where = f"line {match['line']}" if match["line"] else "end of file"
    near = (instead for begins, instead in _INSTEAD.items() if message.startswith(begins))
    problem = f"isn't TOML: {message[:1].lower()}{message[1:]}"
    return Fault(where, problem, next(near, "write key = value lines"))


def _odd_numbers(value: object, path: tuple[object, ...] = ()) -> Iterator[Fault]:
    if isinstance(value, dict | list):
        for key, inner in value.items() if isinstance(value, dict) else enumerate(value):
            yield from _odd_numbers(inner, (*path, key))
    elif isinstance(value, float) and not abs(value) <= 1e300:
        yield Fault(where_text(path), f"is {quoted(value)}, not a number", "write a plain number")
    elif isinstance(value, int) and abs(value) > _LARGEST_INT:
        yield Fault(where_text(path), "is a number of too many digits", "write a plain number")


# ---------------------------------------- where procedures and engine cards lie

OWN_FOLDER = "HEELWISE_PROCEDURES"
"""Environment variable naming a folder of the shop's own procedures, cards in its engines/."""


def folders() -> tuple[Path, ...]:
    """The folders of procedures that exist, the shop's own first; cards are in their engines/."""
    packaged = Path(str(files("heelwise"))) / "procedures"
    if not os.path.isdir(packaged):  # an editable install or a checkout: they stay in the project
        packaged = Path(__file__).resolve().parents[3] / "procedures"
    own = os.environ.get(OWN_FOLDER)
    named = [Path(own)] if own else []
    return tuple(folder for folder in (*named, packaged) if _unreadable(folder) is None)


def own_folder_fault() -> Fault | None:
    """Why nothing of the shop's own folder of procedures is used, though one is named."""
    own = os.environ.get(OWN_FOLDER)
    error = _unreadable(Path(own)) if own else None
    if error is None:
        return None
    problem = f"no procedure of {one_line(error.where)} is used: {error.problem}"
    return Fault(OWN_FOLDER, problem, "name a folder that can be read")


def _unreadable(folder: Path) -> StorageError | None:
    try:
        with storage_errors(folder, "it can't be read"):
            os.listdir(folder)
            os.stat(folder / ".")
    except StorageError as error:
        return error
    return None
