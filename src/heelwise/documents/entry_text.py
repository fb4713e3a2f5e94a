"""Entries from and to TOML, and whether work can go on from them: a sheet shows them anyway."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from functools import lru_cache
from typing import Any, cast, get_args

import tomli_w

from heelwise.documents.entries import AnyBody, AnyEntry
from heelwise.documents.entry_base import Body, Entry, NotKnown
from heelwise.documents.faults import Fault, Faulty, QuantityFault, quoted
from heelwise.documents.files import parse_toml
from heelwise.valvetrain.engine import Valve

KINDS: Mapping[str, type[Body]] = {
    kind.KIND: kind for kind in get_args(AnyBody) if kind is not NotKnown
}
"""The model of each kind, by its name on disk."""
COMMON = ("number", "at", "by", "kind", "rests_on", "seal")


_HEADER = re.compile(r"\[\[(entry|signoff)\]\]")
_LINE = re.compile(r"([A-Za-z0-9_-]+) = (.*)")
_PLAIN = re.compile(r'"[^"\\\x00-\x1f\x7f]*"')
_NUMBERS = re.compile(r"\[(?:(?:0|[1-9][0-9]{0,8})(?:, (?:0|[1-9][0-9]{0,8}))*)?\]")
_NUMBER = re.compile(r"-?(?:0|[1-9][0-9]{0,14})(\.[0-9]{1,17})?")
_TIME = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d:\d\d(?:\.\d{1,6})?[+-]\d\d:\d\d", re.ASCII)


def own_tables(text: str) -> dict[str, list[dict[str, Any]]] | None:
    """Read `[[entry]]` and `[[signoff]]` tables as our writer lays them out, several times as fast.

    None where a line is not of our own form, and the TOML parser has to say.
    """
    tables: dict[str, list[dict[str, Any]]] = {"entry": [], "signoff": []}
    table: dict[str, Any] | None = None
    for line in text.split("\n"):
        if not line:
            continue
        if line[0] == "[" and (header := _HEADER.fullmatch(line)):
            table = {}
            tables[header[1]].append(table)
            continue
        key, value = _pair(line)
        if not key or table is None or key in table:
            return None
        table[key] = value
    return tables


@lru_cache(maxsize=1 << 14)  # most lines of a record stand in it, or in another, many times
def _pair(line: str) -> tuple[str, object]:
    pair = _LINE.fullmatch(line)
    try:
        return (pair[1], _value(pair[2])) if pair else ("", None)
    except (ValueError, Faulty):
        return "", None


def _value(text: str) -> object:
    if _PLAIN.fullmatch(text):
        return text[1:-1]
    if number := _NUMBER.fullmatch(text):
        return float(text) if number[1] else int(text)
    if text in ("true", "false"):
        return text == "true"
    if _TIME.fullmatch(text):
        return datetime.fromisoformat(text)
    if _NUMBERS.fullmatch(text):
        return [int(each) for each in text[1:-1].split(", ")] if len(text) > 2 else []
    return parse_toml(f"x = {text}".encode(), "")["x"]


def parse_entry(raw: dict[str, Any], expected: int, file: str) -> AnyEntry:
    """Make an entry of one `[[entry]]` table, which must carry its place in the record as number.

    Raises:
        Faulty: Naming every fault as `entry N.key`; what isn't known to this version is none.
    """
    where, kind = f"entry {expected}", raw.get("kind")
    faults = list(_common_faults(raw, where, expected))
    fields = {key: value for key, value in raw.items() if key not in COMMON}
    model = KINDS.get(kind) if isinstance(kind, str) else None
    known = model.key_table() if model else {}
    unknown = {key: fields.pop(key) for key in list(fields) if key not in known}
    body: Body | None = None
    try:
        body = model(**fields) if model else NotKnown(str(kind))
    except Faulty as faulty:
        faults += [Fault.at(f"{where}.{fault.where}", fault) for fault in faulty.faults]
    if faults or body is None:
        raise Faulty(file, faults)
    return Entry(
        number=expected,
        at=raw["at"],
        by=raw["by"],
        body=cast(AnyBody, body),
        rests_on=tuple(raw.get("rests_on", ())),
        seal=raw.get("seal", ""),
        unknown=unknown,
    )


def _common_faults(raw: dict[str, Any], where: str, expected: int) -> Iterator[Fault]:
    if raw.get("number") != expected or isinstance(raw.get("number"), bool):
        yield Fault(f"{where}.number", f"is {raw.get('number')!r}", f"entries count up: {expected}")
    at = raw.get("at")
    if not isinstance(at, datetime) or at.tzinfo is None:
        instead = "write it like 2026-03-02T09:30:00+01:00"
        yield Fault(f"{where}.at", "isn't a date-time with an offset", instead)
    if not isinstance(raw.get("by"), str) or not raw["by"]:
        yield Fault(f"{where}.by", "is empty", "write the initials of the person at the engine")
    if not isinstance(raw.get("kind"), str):
        yield Fault(f"{where}.kind", "is missing or isn't text", "a kind of entry, like noted")
    rests = raw.get("rests_on", [])
    if not isinstance(rests, list) or not all(
        type(number) is int and 0 < number < expected for number in rests
    ):
        yield Fault(f"{where}.rests_on", "must name earlier entries", "write their numbers")


def entry_text(entry: AnyEntry) -> str:
    """An entry as TOML lines, all but its seal (tomli-w would write the table inline)."""
    body = entry.body
    fields: dict[str, Any] = {
        "number": entry.number,
        "at": entry.at,
        "by": entry.by,
        "kind": body.kind,
        **{
            key: value
            for key, value in vars(body).items()
            if value != body.key_table()[key].default
        },
    }
    if entry.rests_on:
        fields["rests_on"] = list(entry.rests_on)
    lines = [one_line_pair(key, value) for key, value in fields.items()]
    return "\n[[entry]]\n" + "\n".join(lines) + "\n"


def one_line_pair(key: str, value: object) -> str:
    """`key = value` on one line; arrays too, which tomli-w would spread over several."""
    if isinstance(value, list):
        inner = ", ".join(tomli_w.dumps({"x": v}).partition(" = ")[2].strip() for v in value)
        return f"{key} = [{inner}]"
    return tomli_w.dumps({key: value}).strip()


def entry_faults(entries: Iterable[AnyEntry], valves: Iterable[Valve]) -> list[Fault]:
    """What work can't go on from, on an engine with these valves, as "entry N.key"."""
    known = sorted(valves)
    among: dict[str, Sequence[object]] = {
        "this engine's valves": [str(valve) for valve in known],
        "this engine's cylinders": sorted({valve.cylinder for valve in known}),
    }
    return [
        Fault(f"entry {entry.number}.{key}", problem, instead)
        for entry in entries
        for key, problem, instead in (
            *_of_entry(entry, {**among, "earlier entries": range(1, entry.number)}),
            *entry.body.faults_between_keys(),
        )
    ]


def _of_entry(
    entry: AnyEntry, among: Mapping[str, Sequence[object]]
) -> Iterator[tuple[str, str, str]]:
    for name, (_, default, mark) in entry.body.key_table().items():
        value = getattr(entry.body, name)
        for each in value if isinstance(value, list) else [value]:
            if mark is None or value is None or value == default:
                continue
            if mark.among and each not in among[mark.among]:
                one_of = f"one of {', '.join(map(str, among[mark.among]))}"[:200]
                yield name, f"{quoted(each)} isn't among {mark.among}", one_of
            elif not mark.among:
                try:
                    mark.read(each)
                except QuantityFault as fault:
                    yield name, fault.problem, fault.instead
