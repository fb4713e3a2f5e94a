"""`heelwise past`: a folder's builds, a row each, found by words; its wrenches and their use."""

import argparse
import os
import sys
import time
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from statistics import mode
from typing import Any, TypeVar

from heelwise.commands.reporting import DONE, FAULTS, FOLDER, Usage, complain, say, say_json
from heelwise.sheet.forms import sections_as
from heelwise.sheet.sections import Cells, Section, safe, sentences, table
from heelwise.shop.builds import Folder, PastBuild, folder_of, grouped, read_all, records_in
from heelwise.valvetrain.engine import ValveKind
from heelwise.valvetrain.torque import calibration
from heelwise.wording import Length, Text, listed, span

T = TypeVar("T")

SHOWN_AFTER_S = 0.5
WORTH_CORES = 100
"""Records from which starting other processes takes less time than it spares."""

HEADS = "name|state|engine|who|last|intake|exhaust|a turn is|job"
WRENCH_HEADS = "wrench|last used|calibrated|remark"


def past(given: argparse.Namespace) -> int:
    """Read the folder and print what it holds."""
    words = list(given.words)
    folder = Path(os.environ.get(FOLDER) or ".")
    if words and os.path.isdir(words[0]):
        folder = Path(words.pop(0))
    elif words and os.sep in words[0]:
        raise Usage(f"{words[0]}: there is no such folder")
    paths = records_in(folder)
    cores = (os.cpu_count() or 1) if len(paths) > WORTH_CORES else 1
    known = folder_of(_with_a_bar(read_all(paths, cores), len(paths)))
    wanted = [word.casefold() for word in words]
    builds = [each for each in known.builds if all(word in _words(each) for word in wanted)]
    if given.json:
        say_json({"folder": str(folder), **_as_json(builds, known)})
        return DONE if builds else FAULTS
    if not builds:
        among = f" of {len(known.builds)} holds: {' '.join(words)}" if words else " there yet"
        complain([f"{folder}: no build{among}"])
    if sections := _sections(builds, known):
        say(sections_as(sections, given.form, mode([each.unit for each in builds] or [""])))
    return DONE if builds else FAULTS


def _with_a_bar(items: Iterable[T], total: int) -> Iterator[T]:
    """The items; on a terminal with a bar of progress, once they have taken half a second."""
    begun, left = time.monotonic(), iter(items)
    for done, item in enumerate(left, start=1):
        yield item
        if time.monotonic() - begun > SHOWN_AFTER_S and sys.stderr.isatty():
            from rich.console import Console  # seldom needed, and slow to import
            from rich.progress import track

            bar: dict[str, Any] = {"console": Console(stderr=True), "transient": True}
            yield from track(left, "Reading records", total, completed=done, **bar)


def _words(build: PastBuild) -> str:
    """Everything a build can be found by."""
    kind = "rehearsal" if build.rehearsal else ""
    about = (build.name, build.job, build.engine, build.method, build.state, build.by, kind)
    return " ".join(about).casefold()


def _sections(builds: list[PastBuild], folder: Folder) -> list[Section]:
    sections = (
        table("builds", "Builds", HEADS, map(_row, builds)),
        table("wrenches", "Wrenches", WRENCH_HEADS, map(_wrench_row, wrenches(builds))),
        sentences("notes", "Look again", map(safe, folder.notes)),
        sentences("not read", "Not read", (safe(": ".join(n)) for n in folder.not_read)),
    )
    return [section for section in sections if section.rows]


def _row(build: PastBuild) -> Cells:
    return (
        safe(build.name, 64),
        safe(build.state + " (rehearsal)" * build.rehearsal, 80),
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
    in_order = sorted(builds, key=lambda each: each.last)
    by_name = grouped(in_order, lambda build: build.wrench.casefold())
    return [_use(uses) for _, uses in sorted(by_name.items())]


def _use(uses: list[PastBuild]) -> dict[str, Any]:
    days = {each.calibrated for each in uses if each.calibrated}
    late = []
    for build in uses:
        used = build.last.date()
        held = max((day for day in days if day <= used), default=build.calibrated)
        if held and calibration(held, None, used)[0]:
            late.append(build.name)
    calibrated = max(days, default=None)
    return {
        "wrench": uses[0].wrench,
        "last_used": uses[-1].last.date().isoformat(),
        "calibrated": calibrated and calibrated.isoformat(),
        "past_due": late,
    }


def _wrench_row(use: Mapping[str, Any]) -> Cells:
    late = safe(listed(use["past_due"]))
    about = "USED PAST ITS DUE DATE: " if len(use["past_due"]) > 1 else "past its due date in "
    name, calibrated = safe(use["wrench"], 120), use["calibrated"] or "not stated"
    return name, use["last_used"], calibrated, about + late if late else ""


def _as_json(builds: list[PastBuild], folder: Folder) -> dict[str, Any]:
    return {
        "builds": list(map(_build_json, builds)),
        "wrenches": wrenches(builds),
        "notes": folder.notes,
        "not_read": [{"file": file, "why": why} for file, why in folder.not_read],
    }


_AS_IT_IS = ("file", "name", "job", "engine", "method", "state", "signed", "rehearsal", "by")


def _build_json(build: PastBuild) -> dict[str, Any]:
    lengths = {f"{k.name.lower()}_mm": sorted({*build.lengths.get(k, ())}) for k in ValveKind}
    return {
        **{key: getattr(build, key) for key in _AS_IT_IS},
        "began": build.began.isoformat(),
        "last": build.last.isoformat(),
        "last_seal": build.last_seal,
        "wrench": build.wrench,
        **lengths,
        "travel_per_turn_mm": build.travel and build.travel.mm,
        "travel_uncertainty_mm": build.travel and build.travel.uncertainty_mm,
    }
