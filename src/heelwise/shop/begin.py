"""What a build begins from: a record it is like, one it looks at again, and what others know."""

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
from heelwise.shop import builds
from heelwise.valvetrain.engine import ValveKind
from heelwise.valvetrain.figures import pooled
from heelwise.walk.prove import outcomes
from heelwise.walk.scene import Scene, scene_of

_OF_ANOTHER = ("customer", "job", "engine_serial")
"""Keys of [job] that another engine has its own of; it shares the parts."""
_SAME_MM = 0.3
"""A pushrod measured is of a length sold within this: between two steps as they are sold."""

Document = dict[str, Any]


def setup_like(record: Record) -> Document:
    """A setup for another engine like a record's, its trial pushrods the lengths fitted.

    Faulty where the record's readings can't be worked with.
    """
    scene, setup = _scene(record), record.head.setup
    document, card = setup.to_toml_dict(), Document()
    document.pop("reading", None)
    with suppress(Faulty):  # the card is gone: the record has all of it
        card = load_card(setup.engine.card) if setup.engine.card else {}
    engine = document["engine"]
    document["engine"] = {key: engine[key] for key in engine if card.get(key) != engine[key]}
    job = document.pop("job", {})
    if kept := {key: job[key] for key in job if key not in _OF_ANOTHER}:
        document["job"] = kept
    if setup.pushrods:
        fitted = [(o.valve, length_mm(o.pushrod)) for o in outcomes(scene.state) if o.pushrod]
        for kind in ValveKind:
            if lengths := [mm for valve, mm in fitted if valve.endswith(kind.value)]:
                document["pushrods"][kind.name.lower()] = _usual(setup, lengths)
    document["before"] = _named(record)
    return document


def _scene(record: Record) -> Scene:
    check_entries(record)
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


def _usual(setup: Setup, lengths_mm: Iterable[float]) -> str:
    """The most usual of some lengths measured, as it is sold where it is; of two, the shorter."""
    sold = setup.lengths()

    def as_sold(mm: float) -> float:
        near = min(sold, key=lambda each: abs(each - mm), default=mm)
        return near if abs(near - mm) <= _SAME_MM else mm

    return show_length(mode(sorted(map(as_sold, lengths_mm))), unit_of(setup))


def setup_again(record: Record) -> Setup:
    """The setup to re-check a finished build by: its own, with what every valve came to.

    Faulty where the record isn't signed off, or its readings can't be worked with.
    """
    scene, setup = _scene(record), record.head.setup
    if scene.state.closed is None:
        problem = Fault("record", "isn't signed off", "finish it first; then it can be re-checked")
        raise Faulty(str(record.file), [problem])
    then: Document = {}
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

_NAMES = re.compile(rb'^(?:rockers|casting) = "([^\n]*)"', re.MULTILINE)
_SETUP_BYTES = 1 << 14
"""The setup stands in so many bytes of a record; its procedure comes after it."""
MOST = 200
"""Records asked at the most, those touched last; more don't make the figure better."""
_LONGEST = 500


def recall(setup: Setup, folder: Path) -> Setup:
    """The setup with what earlier builds in a folder know, copied into its [before].

    Rehearsals know of rehearsals, real engines of real ones. OSError: the folder can't be read.
    """
    rocker, parts = builds.rocker_of(setup), builds.parts_of(setup)
    if not (rocker or parts):
        return setup
    known = builds.folder_of(map(builds.read_build, islice(_about(setup, folder), MOST)))
    before = setup.before.model_dump(exclude_none=True) if setup.before else {}
    measured, ended = list[builds.PastBuild](), list[builds.PastBuild]()
    passed = [f"{Path(file).name}: {why}" for file, why in known.not_read]
    for build in known.builds:
        same_rocker = rocker != () and build.rocker == rocker
        same_parts = parts != () and build.parts == parts
        why = _why_not(build, before.get("engine") == "virtual")
        if not why:
            ended += [build] if same_parts and len(build.lengths) == len(ValveKind) else []
            measured += [build] if same_rocker and build.travel else []
            unmeasured = same_rocker and not build.travel
            why = "its trials didn't measure the travel" if unmeasured else ""
        if why and (same_rocker or same_parts):
            passed.append(f"{build.name}: {why}")
    before |= _travel(measured) | _lengths(setup, ended)
    if passed:
        before["not_used"] = [one_line(each, _LONGEST) for each in passed]
    return setup.model_copy(update={"before": BeforeTable(**before)}) if before else setup


def _about(setup: Setup, folder: Path) -> Iterator[Path]:
    """The records that name this rocker or casting; the others aren't read."""
    job = setup.job
    wanted = {
        builds.plain_name(name) for name in (job and job.rockers, job and job.casting) if name
    }
    for path in sorted(builds.records_in(folder), key=_touched, reverse=True):
        with suppress(OSError), path.open("rb") as opened:  # heelwise past says why
            names = _NAMES.findall(opened.read(_SETUP_BYTES))
            if wanted & {builds.plain_name(name.decode("utf-8", "replace")) for name in names}:
                yield path


def _touched(path: Path) -> float:
    with suppress(OSError):
        return path.stat().st_mtime
    return 0.0


def _why_not(build: builds.PastBuild, virtual: bool) -> str:
    """Why what a build measured isn't used; empty where it is."""
    if build.rehearsal is not virtual:
        return "a rehearsal" if build.rehearsal else "a real engine, and this is a rehearsal"
    return "" if build.signed else "not signed off"


def _travel(used: list[builds.PastBuild]) -> Document:
    if len(used) < 2:
        return {}
    together = pooled([(b.travel.mm, b.travel.uncertainty_mm or 0.0) for b in used if b.travel])
    return _travel_known(together.mean, together.to_come, _sources(used))


def _lengths(setup: Setup, used: list[builds.PastBuild]) -> Document:
    if not used:
        return {}
    ended = {k.name.lower(): [_usual(setup, b.lengths[k]) for b in used] for k in ValveKind}
    return {**ended, "lengths_from": _sources(used)}


def _sources(used: list[builds.PastBuild]) -> list[str]:
    return [f"{each.name} {each.last_seal}" for each in used]
