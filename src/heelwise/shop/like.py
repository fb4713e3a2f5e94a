"""A build begun from a record: another engine like it, or the same one looked at again."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress
from statistics import mode
from typing import Any

from heelwise.documents.entries import Read
from heelwise.documents.faults import Fault, Faulty
from heelwise.documents.library import load_card
from heelwise.documents.quantities import length_mm, show_length
from heelwise.documents.record import Record, check_entries
from heelwise.documents.setup import Setup, parse_setup
from heelwise.sheet.setup_words import unit_of
from heelwise.valvetrain.engine import ValveKind
from heelwise.walk.scene import scene_of
from heelwise.walk.sign_off import Outcome, outcomes

_OF_ANOTHER = ("customer", "job", "engine_serial")
"""Keys of [job] that another engine has its own of; it shares the parts."""
_SAME_MM = 0.3
"""A pushrod measured is of a length sold within this: between two steps as they are sold."""

Document = dict[str, Any]


def setup_like(record: Record) -> Document:
    """A setup for another engine like a record's, its trial pushrods the lengths fitted.

    Faulty where the record's readings can't be worked with.
    """
    check_entries(record)
    setup = record.head.setup
    document = setup.to_toml_dict()
    document.pop("reading", None)
    document["engine"] = _without_card(document["engine"])
    document["job"] = {k: v for k, v in document.get("job", {}).items() if k not in _OF_ANOTHER}
    if not document["job"]:
        del document["job"]
    if setup.pushrods:
        document["pushrods"] |= _fitted(record)
    document["before"] = _named(record)
    return document


def _named(record: Record) -> Document:
    virtual = {"engine": "virtual"} if record.head.build.seed is not None else {}
    return {"record": record.file.stem, "last_seal": record.last_seal, **virtual}


def travel_known(mm: float, spread: float, builds: list[str], seals: list[str]) -> Document:
    """What [before] has of a travel measured before: whose, and its standard uncertainty."""
    return {
        "travel_per_turn": f"{mm:.3f} mm",
        "travel_uncertainty": f"{max(spread, 0.001):.3f} mm",
        "travel_builds": builds,
        "travel_seals": seals,
    }


def _without_card(engine: Document) -> Document:
    """What an engine's own card doesn't say of it."""
    card: Document = {}
    with suppress(Faulty):  # the card is gone: the record has all of it
        card = load_card(engine["card"]) if "card" in engine else {}
    return {key: value for key, value in engine.items() if card.get(key) != value}


def _outcomes(record: Record) -> tuple[Outcome, ...]:
    return outcomes(scene_of(record.head.setup, record.head.procedure, record.entries).state)


def _fitted(record: Record) -> dict[str, str]:
    """The length fitted most by kind, as it is sold where it is."""
    fitted = {}
    for name, kind in (("intake", ValveKind.INTAKE), ("exhaust", ValveKind.EXHAUST)):
        ends = [o.pushrod for o in _outcomes(record) if o.pushrod and o.valve.endswith(kind)]
        if ends:
            fitted[name] = usual_length(record.head.setup, map(length_mm, ends))
    return fitted


def usual_length(setup: Setup, lengths_mm: Iterable[float]) -> str:
    """The most usual of some lengths measured, as it is sold where it is; of two, the shorter."""
    sold, unit = setup.lengths(), unit_of(setup)

    def as_sold(mm: float) -> float:
        near = min(sold, key=lambda each: abs(each - mm), default=mm)
        return near if abs(near - mm) <= _SAME_MM else mm

    return show_length(mode(sorted(map(as_sold, lengths_mm))), unit)


def setup_again(record: Record) -> Setup:
    """The setup to re-check a finished build by: its own, with what every valve came to.

    Faulty where the record isn't signed off, or its readings can't be worked with.
    """
    check_entries(record)
    scene = scene_of(record.head.setup, record.head.procedure, record.entries)
    if scene.state.closed is None:
        problem = Fault("record", "isn't signed off", "finish it first; then it can be re-checked")
        raise Faulty(str(record.file), [problem])
    then, before = {}, record.head.setup.before
    for valve, valve_state in scene.state.valves.items():
        count = valve_state.standing_count
        read = count.when(Read) if count else None
        row = before.then(valve) if before else None
        if read is not None:
            row = (read.body.pushrod, read.body.turns, read.body.resolution_turns)
        if row is not None:
            then[str(valve)] = row
    columns = zip(*then.values(), strict=True) if then else ((), (), ())
    lists = dict(zip(("pushrods", "turns", "resolutions"), map(list, columns), strict=True))
    known = {**_named(record), "valves": list(then), **lists}
    used = scene.travel.used if scene.build.method.reads == "turns" else None
    if used is not None and used.measured and used.uncertainty_mm:
        known |= travel_known(used.mm, used.uncertainty_mm, [record.file.stem], [record.last_seal])
    document = {**record.head.setup.to_toml_dict(), "before": known}
    return parse_setup(document, str(record.file), resolve=False)
