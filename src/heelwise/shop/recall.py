"""What a folder's records know of a setup's rocker and engine, as its build begins."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from heelwise.documents.setup import BeforeTable, Setup
from heelwise.plain_text import one_line
from heelwise.shop.builds import (
    Folder,
    PastBuild,
    parts_of,
    plain_name,
    read_folder,
    records_in,
    rocker_of,
)
from heelwise.shop.like import travel_known, usual_length
from heelwise.valvetrain.engine import ValveKind
from heelwise.valvetrain.pooled import pooled

_NAMES = re.compile(rb'^(rockers|casting) = "([^\n]*)"', re.MULTILINE)
MOST = 200
"""Records put together at the most, the latest; more don't make the figure better."""
_LONGEST = 120


def recall(setup: Setup, folder: Path) -> Setup:
    """The setup with what earlier builds in a folder know, copied into its [before].

    Rehearsals know of rehearsals, real engines of real ones. OSError: the folder can't be read.
    """
    rocker, parts = rocker_of(setup), parts_of(setup)
    if rocker is None and parts is None:
        return setup
    known = read_folder(list(_about(setup, folder)))
    virtual = setup.before is not None and setup.before.engine == "virtual"
    told: dict[str, Any] = {}
    if setup.before is not None:
        told = setup.before.model_dump(exclude_none=True)
    told |= _travel([b for b in known.builds if b.rocker == rocker], virtual) if rocker else {}
    ended = [b for b in known.builds if b.parts == parts and not _why_not(b, virtual)]
    told |= _lengths(setup, ended[:MOST]) if parts else {}
    passed = list(_passed_over(known, rocker, parts, virtual))
    if passed:
        told["not_used"] = [one_line(each, _LONGEST) for each in passed[:MOST]]
    return setup.model_copy(update={"before": BeforeTable(**told)}) if told else setup


def _about(setup: Setup, folder: Path) -> Iterator[Path]:
    """The records that name this rocker or casting; the others aren't read."""
    job = setup.job
    wanted = {plain_name(name) for name in (job and job.rockers, job and job.casting) if name}
    for path in records_in(folder):
        try:
            head = path.read_bytes().split(b"[[entry]]", 1)[0]
        except OSError:
            continue  # heelwise past says why
        names = {plain_name(name.decode("utf-8", "replace")) for _, name in _NAMES.findall(head)}
        if names & wanted:
            yield path


def _why_not(build: PastBuild, virtual: bool) -> str:
    """Why what a build measured isn't used; empty where it is."""
    if build.virtual is not virtual:
        return "a rehearsal" if build.virtual else "a real engine, and this is a rehearsal"
    return "" if build.signed else "not signed off"


def _travel(builds: Iterable[PastBuild], virtual: bool) -> dict[str, Any]:
    used = [b for b in builds if b.travel and not _why_not(b, virtual)][:MOST]
    if len(used) < 2:
        return {}
    figures = [(b.travel.mm, b.travel.uncertainty_mm or 0.0) for b in used if b.travel]
    together = pooled(figures)
    names, seals = [b.name for b in used], [b.last_seal for b in used]
    return travel_known(together.mean, together.to_come, names, seals)


def _lengths(setup: Setup, ended: list[PastBuild]) -> dict[str, Any]:
    with_both = [build for build in ended if len(build.lengths) == len(ValveKind)]
    if not with_both:
        return {}
    lengths = {
        name: [usual_length(setup, build.lengths[kind]) for build in with_both]
        for name, kind in (("intake", ValveKind.INTAKE), ("exhaust", ValveKind.EXHAUST))
    }
    builds, seals = [b.name for b in with_both], [b.last_seal for b in with_both]
    return {**lengths, "length_builds": builds, "length_seals": seals}


def _passed_over(known: Folder, rocker: object, parts: object, virtual: bool) -> Iterator[str]:
    for each in known.not_read:
        yield f"{Path(each.file).name}: {each.why}"
    for build in known.builds:
        mine = (rocker is not None and build.rocker == rocker) or (
            parts is not None and build.parts == parts
        )
        why = _why_not(build, virtual) if mine else ""
        if why:
            yield f"{build.name}: {why}"
        elif mine and build.rocker == rocker and build.travel is None:
            yield f"{build.name}: its trials didn't measure the travel"
