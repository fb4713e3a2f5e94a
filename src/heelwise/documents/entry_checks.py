"""What an entry's texts must be for a build to go on from them: valves, lengths, turns, numbers.

A record is read without this, so that a sheet can show whatever was kept. Seals show that it is as
it was written; they don't show that this program wrote it.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator

from heelwise.documents import quantities
from heelwise.documents.entries import Accepted, AnyEntry, CrossedOut, Measured, Ordered
from heelwise.documents.faults import Fault, quoted
from heelwise.documents.quantities import QuantityFault
from heelwise.valvetrain.valves import Valve

_LENGTHS = ("pushrod", "pushrods", "ordered", "length")
_VALVES = ("valve", "valves", "on_lobe")
_MAY_BE_EMPTY = {("ceiling", "turns"), ("gauged", "pushrod")}
_READERS: dict[str, Callable[[object], float]] = {
    "turns": quantities.turns,
    "length": quantities.length_mm,
    "lash": quantities.length_mm,
    "torque": quantities.torque_nm,
    "degrees": quantities.degrees,
}


def entry_faults(entries: Iterable[AnyEntry], valves: Collection[Valve]) -> list[Fault]:
    """Find what can't be gone on from.

    Args:
        entries: A record's entries.
        valves: The engine's.

    Returns:
        Faults, each of "entry N.key".
    """
    names = {str(valve) for valve in valves}
    return [fault for entry in entries for fault in _of_entry(entry, names)]


def _of_entry(entry: AnyEntry, names: Collection[str]) -> Iterator[Fault]:
    where = f"entry {entry.number}"
    for key in _VALVES:
        for name in _texts(entry, key):
            if name not in names:
                problem = f"{quoted(name)} is no valve of this engine"
                yield Fault(f"{where}.{key}", problem, f"one of {', '.join(sorted(names))}"[:200])
    for key, read in _readings(entry):
        for typed in _texts(entry, key):
            try:
                read(typed)
            except QuantityFault as fault:
                yield Fault(f"{where}.{key}", fault.problem, fault.instead)
    yield from _of_numbers(entry, where)


def _readings(entry: AnyEntry) -> Iterator[tuple[str, Callable[[object], float]]]:
    for key in _LENGTHS:
        yield key, quantities.length_mm
    yield "turns", quantities.turns
    if isinstance(entry.body, Measured):
        yield "reading", _READERS[entry.body.what]
    else:
        yield "reading", quantities.length_mm


def _texts(entry: AnyEntry, key: str) -> list[str]:
    value = getattr(entry.body, key, None)
    if value is None or (value == "" and (entry.body.kind, key) in _MAY_BE_EMPTY):
        return []
    return list(value) if isinstance(value, list) else [str(value)]


def _of_numbers(entry: AnyEntry, where: str) -> Iterator[Fault]:
    body = entry.body
    if isinstance(body, Ordered) and len(body.valves) != len(body.pushrods):
        problem = f"has {len(body.pushrods)} lengths for {len(body.valves)} valves"
        yield Fault(f"{where}.pushrods", problem, "one for each valve")
    if isinstance(body, Accepted | CrossedOut) and not 0 < body.of < entry.number:
        earlier = f"an entry from 1 to {entry.number - 1}"
        yield Fault(f"{where}.of", f"is {quoted(body.of)}", earlier)
