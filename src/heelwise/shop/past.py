"""A folder's builds as a table, found by words; the wrenches, and when each was used."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from heelwise.sheet.sections import Cells, Section, safe, sentences, table
from heelwise.shop.builds import Folder, PastBuild
from heelwise.valvetrain.engine import ValveKind
from heelwise.valvetrain.torque import calibration
from heelwise.wording import Length, Text, listed, span

HEADS = ("name", "state", "engine", "who", "last", "intake", "exhaust", "a turn is", "job")
WRENCH_HEADS = ("wrench", "last used", "calibrated", "remark")


def found(folder: Folder, words: Sequence[str]) -> list[PastBuild]:
    """The builds that hold every word, in whatever case."""
    wanted = [word.casefold() for word in words]
    return [each for each in folder.builds if all(word in each.words for word in wanted)]


def past_sections(builds: Iterable[PastBuild], folder: Folder) -> tuple[Section, ...]:
    """The builds, their wrenches, what doesn't agree and what couldn't be read."""
    known = list(builds)
    sections = (
        table("builds", "Builds", HEADS, map(_row, known)),
        table("wrenches", "Wrenches", WRENCH_HEADS, map(_wrench_row, wrenches(known))),
        sentences("notes", "Look again", map(safe, folder.notes)),
        sentences("not read", "Not read", (safe(": ".join(n)) for n in folder.not_read)),
    )
    return tuple(section for section in sections if section.rows)


def _row(build: PastBuild) -> Cells:
    return (
        safe(build.name, 64),
        safe(build.state + " (rehearsal)" * build.virtual, 80),
        safe(build.engine, 60),
        safe(build.by, 20),
        f"{build.last:%Y-%m-%d}",
        *(span(build.lengths.get(kind, ())) for kind in ValveKind),
        Text(Length(build.travel.mm)) if build.travel else "",
        safe(build.job, 200),
    )


def wrenches(builds: Iterable[PastBuild]) -> list[dict[str, Any]]:
    """Every wrench: its last use and calibration, and the builds it was used in past its due date.

    It was past due where no calibration known of, in whichever record, held on the day.
    """
    by_name: dict[str, list[PastBuild]] = defaultdict(list)
    for build in sorted(builds, key=lambda each: each.last):
        if build.wrench:
            by_name[build.wrench.casefold()].append(build)
    return [_use(uses) for _, uses in sorted(by_name.items())]


def _use(uses: list[PastBuild]) -> dict[str, Any]:
    days = {each.calibrated for each in uses if each.calibrated}
    late = []
    for build in uses:
        used = build.last.date()
        held = max((day for day in days if day <= used), default=build.calibrated)
        if held and calibration(held, None, used)[0]:
            late.append(build.name)
    last, calibrated = uses[-1].last.date(), max(days, default=None)
    return {
        "wrench": uses[0].wrench,
        "last_used": last.isoformat(),
        "calibrated": calibrated and calibrated.isoformat(),
        "past_due": late,
    }


def _wrench_row(use: Mapping[str, Any]) -> Cells:
    late = safe(listed(use["past_due"]))
    told = "USED PAST ITS DUE DATE: " if len(use["past_due"]) > 1 else "past its due date in "
    name, calibrated = safe(use["wrench"], 120), use["calibrated"] or "not stated"
    return name, use["last_used"], calibrated, told + late if late else ""


def past_json(builds: Iterable[PastBuild], folder: Folder) -> dict[str, Any]:
    """The same for other programs; lengths in mm, times in ISO 8601."""
    known = list(builds)
    return {
        "builds": [_build_json(build) for build in known],
        "wrenches": wrenches(known),
        "notes": list(folder.notes),
        "not_read": [{"file": file, "why": why} for file, why in folder.not_read],
    }


def _build_json(build: PastBuild) -> dict[str, Any]:
    return {
        **{key: getattr(build, key) for key in _AS_IT_IS},
        "began": build.began.isoformat(),
        "last": build.last.isoformat(),
        "intake_mm": sorted(set(build.lengths.get(ValveKind.INTAKE, ()))),
        "exhaust_mm": sorted(set(build.lengths.get(ValveKind.EXHAUST, ()))),
        "travel_per_turn_mm": build.travel and build.travel.mm,
        "travel_uncertainty_mm": build.travel and build.travel.uncertainty_mm,
        "rehearsal": build.virtual,
    }


_AS_IT_IS = (
    *("file", "name", "job", "engine", "method", "state", "signed", "by", "last_seal", "wrench"),
)
