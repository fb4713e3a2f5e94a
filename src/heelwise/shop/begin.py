"""What a build begins from: a record it is like, one it looks at again, and what others know."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from contextlib import suppress
from itertools import islice
from pathlib import Path
from statistics import mode
from typing import Any

from heelwise.documents.entries import Read
from heelwise.documents.faults import Fault, Faulty
from heelwise.documents.library import load_card
from heelwise.documents.quantities import length_mm, show_length
from heelwise.documents.record import Record, check_entries
from heelwise.documents.setup import BeforeTable, Setup, parse_setup
from heelwise.plain_text import one_line
from heelwise.sheet.setup_words import unit_of
from heelwise.shop.builds import (
    Folder,
    PastBuild,
    parts_of,
    plain_name,
    read_folder,
    records_in,
    rocker_of,
)
from heelwise.valvetrain.engine import ValveKind
from heelwise.valvetrain.pooled import pooled
from heelwise.walk.scene import Scene, scene_of
from heelwise.walk.sign_off import outcomes

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
        document["pushrods"] |= _fitted(_scene(record))
    document["before"] = _named(record)
    return document


def _scene(record: Record) -> Scene:
    return scene_of(record.head.setup, record.head.procedure, record.entries)


def _named(record: Record) -> Document:
    virtual = {"engine": "virtual"} if record.head.build.seed is not None else {}
    return {"record": record.file.stem, "last_seal": record.last_seal, **virtual}


def _travel_known(mm: float, spread: float, records: list[str]) -> Document:
    """What [before] has of a travel measured before, with its standard uncertainty."""
    return {
        "travel_per_turn": f"{mm:.3f} mm",
        "travel_uncertainty": f"{max(spread, 0.001):.3f} mm",
        "travel_from": records,
    }


def _without_card(engine: Document) -> Document:
    """What an engine's own card doesn't say of it."""
    card: Document = {}
    with suppress(Faulty):  # the card is gone: the record has all of it
        card = load_card(engine["card"]) if "card" in engine else {}
    return {key: value for key, value in engine.items() if card.get(key) != value}


def _fitted(scene: Scene) -> dict[str, str]:
    """The length fitted most by kind, as it is sold where it is."""
    ended = [o for o in outcomes(scene.state) if o.pushrod]
    fitted = {
        name: [length_mm(o.pushrod) for o in ended if o.valve.endswith(kind)]
        for name, kind in _KINDS.items()
    }
    return {name: _usual(scene.build.setup, mm) for name, mm in fitted.items() if mm}


_KINDS = {"intake": ValveKind.INTAKE, "exhaust": ValveKind.EXHAUST}


def _usual(setup: Setup, lengths_mm: Iterable[float]) -> str:
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
    scene = _scene(record)
    if scene.state.closed is None:
        problem = Fault("record", "isn't signed off", "finish it first; then it can be re-checked")
        raise Faulty(str(record.file), [problem])
    setup, then = record.head.setup, {}
    if not scene.build.method.fits:  # what this one didn't count again it had from before
        then = {each.valve: each.model_dump(exclude_none=True) for each in setup.reading}
    for valve, valve_state in scene.state.valves.items():
        count = valve_state.standing_count
        if count and (read := count.when(Read)):
            named, body = str(valve), read.body
            then[named] = {"valve": named, "pushrod": body.pushrod, "turns": body.turns}
    known = _named(record)
    used = scene.travel.used if scene.build.method.reads == "turns" else None
    if used is not None and used.measured and used.uncertainty_mm:
        records = [f"{record.file.stem} {record.last_seal}"]
        known |= _travel_known(used.mm, used.uncertainty_mm, records)
    document = {**setup.to_toml_dict(), "before": known, "reading": list(then.values())}
    return parse_setup(document, str(record.file), resolve=False)


# ---------------------------------------- what the folder's records know

_NAMES = re.compile(rb'^(rockers|casting) = "([^\n]*)"', re.MULTILINE)
_SETUP_BYTES = 1 << 14
"""The setup stands in so many bytes of a record; its procedure comes after it."""
MOST = 200
"""Records asked at the most, those touched last; more don't make the figure better."""
_LONGEST = 500


def recall(setup: Setup, folder: Path) -> Setup:
    """The setup with what earlier builds in a folder know, copied into its [before].

    Rehearsals know of rehearsals, real engines of real ones. OSError: the folder can't be read.
    """
    rocker, parts = rocker_of(setup), parts_of(setup)
    if rocker is None and parts is None:
        return setup
    known = read_folder(list(islice(_about(setup, folder), MOST)))
    virtual = setup.before is not None and setup.before.engine == "virtual"
    told: dict[str, Any] = {}
    if setup.before is not None:
        told = setup.before.model_dump(exclude_none=True)
    told |= _travel([b for b in known.builds if b.rocker == rocker], virtual) if rocker else {}
    ended = [b for b in known.builds if b.parts == parts and not _why_not(b, virtual)]
    told |= _lengths(setup, ended) if parts else {}
    passed = list(_passed_over(known, rocker, parts, virtual))
    if passed:
        told["not_used"] = [one_line(each, _LONGEST) for each in passed]
    return setup.model_copy(update={"before": BeforeTable(**told)}) if told else setup


def _about(setup: Setup, folder: Path) -> Iterator[Path]:
    """The records that name this rocker or casting; the others aren't read."""
    job = setup.job
    wanted = {plain_name(name) for name in (job and job.rockers, job and job.casting) if name}
    for path in sorted(records_in(folder), key=_touched, reverse=True):
        with suppress(OSError), path.open("rb") as opened:  # heelwise past says why
            found = _NAMES.findall(opened.read(_SETUP_BYTES))
            if wanted & {plain_name(name.decode("utf-8", "replace")) for _, name in found}:
                yield path


def _touched(path: Path) -> float:
    with suppress(OSError):
        return path.stat().st_mtime
    return 0.0


def _why_not(build: PastBuild, virtual: bool) -> str:
    """Why what a build measured isn't used; empty where it is."""
    if build.virtual is not virtual:
        return "a rehearsal" if build.virtual else "a real engine, and this is a rehearsal"
    return "" if build.signed else "not signed off"


def _travel(builds: Iterable[PastBuild], virtual: bool) -> dict[str, Any]:
    used = [b for b in builds if b.travel and not _why_not(b, virtual)]
    if len(used) < 2:
        return {}
    figures = [(b.travel.mm, b.travel.uncertainty_mm or 0.0) for b in used if b.travel]
    together = pooled(figures)
    records = [f"{build.name} {build.last_seal}" for build in used]
    return _travel_known(together.mean, together.to_come, records)


def _lengths(setup: Setup, ended: list[PastBuild]) -> dict[str, Any]:
    with_both = [build for build in ended if len(build.lengths) == len(ValveKind)]
    if not with_both:
        return {}
    lengths = {
        name: [_usual(setup, build.lengths[kind]) for build in with_both]
        for name, kind in _KINDS.items()
    }
    return {**lengths, "lengths_from": [f"{each.name} {each.last_seal}" for each in with_both]}


def _passed_over(known: Folder, rocker: object, parts: object, virtual: bool) -> Iterator[str]:
    yield from (f"{Path(file).name}: {why}" for file, why in known.not_read)
    for build in known.builds:
        same_rocker = rocker is not None and build.rocker == rocker
        if same_rocker or (parts is not None and build.parts == parts):
            unmeasured = same_rocker and build.travel is None
            why = "its trials didn't measure the travel" if unmeasured else ""
            if why := _why_not(build, virtual) or why:
                yield f"{build.name}: {why}"
