"""Entries from and to TOML, and whether work can go on from them: a sheet shows them anyway."""

import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from typing import Annotated, Any, cast, get_args

import msgspec

from heelwise.documents.entries import AnyBody, AnyEntry
from heelwise.documents.entry_base import Body, Entry, NotKnown, reads_of
from heelwise.documents.faults import Fault, Faulty, QuantityFault
from heelwise.valvetrain.engine import Valve

KINDS: Mapping[str, type[Body]] = {
    kind.name(): kind for kind in get_args(AnyBody) if kind is not NotKnown
}
"""The model of each kind, by its name on disk."""
_BARE = re.compile(r"[A-Za-z0-9_-]+")


class _Common(msgspec.Struct, frozen=True):
    """What every entry has."""

    number: int
    at: Annotated[datetime, msgspec.Meta(tz=True)]
    by: Annotated[str, msgspec.Meta(min_length=1)]
    kind: str
    rests_on: tuple[int, ...] = ()
    seal: str = ""


def parse_entry(raw: dict[str, Any], expected: int, file: str) -> AnyEntry:
    """Make an entry of one `[[entry]]` table, which must carry its place in the record as number.

    Raises:
        Faulty: Naming what is wrong as `entry N.key`; what isn't known to this version is none.
    """
    try:
        common = msgspec.convert(raw, _Common, builtin_types=(datetime,))
        fields = {key: value for key, value in raw.items() if key not in _Common.__struct_fields__}
        model = KINDS.get(common.kind)
        known = model.__struct_fields__ if model else ()
        unknown = {key: fields.pop(key) for key in list(fields) if key not in known}
        body = msgspec.convert(fields, model) if model else NotKnown(named=common.kind)
    except msgspec.ValidationError as error:
        *_, key = re.findall(r"`(?:\$\.)?(\w+)", str(error))
        problem = str(error).partition(" - at ")[0].replace("`", "")
        fault = Fault(f"entry {expected}.{key}", f"can't be: {problem}", "as the walk writes it")
        raise Faulty(file, [fault]) from None
    if common.number != expected:
        problem, instead = f"is {common.number}", f"entries count up: {expected}"
        raise Faulty(file, [Fault(f"entry {expected}.number", problem, instead)])
    if not all(0 < number < expected for number in common.rests_on):
        problem = "must name earlier entries"
        raise Faulty(file, [Fault(f"entry {expected}.rests_on", problem, "write their numbers")])
    at, by, rests_on = common.at, common.by, common.rests_on
    return Entry(expected, at, by, cast(AnyBody, body), rests_on, common.seal, unknown)


def raw_entry(entry: AnyEntry) -> dict[str, Any]:
    """An entry as `parse_entry` takes it, all but its seal; keys at their defaults are left out."""
    fields = {"number": entry.number, "at": entry.at, "by": entry.by}
    fields |= msgspec.to_builtins(entry.body, enc_hook=str)  # a text that keeps its lengths
    return {**fields, "rests_on": list(entry.rests_on)} if entry.rests_on else fields


def entry_text(entry: AnyEntry) -> str:
    """An entry as TOML lines, all but its seal."""
    lines = [one_line_pair(key, value) for key, value in raw_entry(entry).items()]
    return "\n[[entry]]\n" + "\n".join(lines) + "\n"


def one_line_pair(key: str, value: object) -> str:
    """`key = value` on one line, arrays too; but for times and DEL, JSON's form is TOML's."""
    name = key if _BARE.fullmatch(key) else json.dumps(key, ensure_ascii=False)
    time = isinstance(value, datetime)
    written = str(value) if time else json.dumps(value, ensure_ascii=False, allow_nan=False)
    return f"{name} = {written}".replace("\x7f", "\\u007f")


def entry_faults(entries: Iterable[AnyEntry], valves: Iterable[Valve]) -> list[Fault]:
    """What work can't go on from, on an engine with these valves, as "entry N.key"."""
    names = [str(valve) for valve in sorted(valves)]
    return [
        Fault(f"entry {entry.number}.{key}", problem, instead)
        for entry in entries
        for key, problem, instead in (
            *_misread(entry.body, names, entry.number),
            *entry.body.faults_between_keys(),
        )
    ]


def _misread(body: Body, valves: Sequence[str], number: int) -> Iterator[tuple[str, str, str]]:
    for key, (by, default) in reads_of(type(body)).items():
        value = getattr(body, key)
        each_of = value if isinstance(value, list) else [value] if value != default else []
        for each in each_of:
            try:
                by.read(each, valves, number)
            except QuantityFault as fault:
                yield key, fault.problem, fault.instead
