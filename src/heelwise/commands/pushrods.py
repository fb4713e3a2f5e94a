"""`heelwise pushrods`: verdicts, lengths to try and to buy, from a setup's or record's readings."""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from heelwise.commands.reading import read_document
from heelwise.commands.reporting import DONE, say, say_json
from heelwise.documents import quantities
from heelwise.documents.entries import Read
from heelwise.documents.faults import Fault, Faulty
from heelwise.documents.procedure import Defaults
from heelwise.documents.record_reading import Record
from heelwise.documents.setup import Setup
from heelwise.valvetrain.pattern import find_pattern
from heelwise.valvetrain.pushrods import (
    Expectation,
    Order,
    Reading,
    expectation,
    length_sets_preload,
    nothing_serves,
    order,
    try_pushrod,
)
from heelwise.valvetrain.travel import TravelInPlay
from heelwise.valvetrain.verdict import (
    Ceiling,
    Verdict,
    Window,
    judge,
    never_past,
    out_of_reach,
    out_of_reach_said,
    preload_mm,
    under_ceiling,
    window_in_turns,
)
from heelwise.walk.build import Build
from heelwise.walk.scene import Scene
from heelwise.walk.standing import fold


@dataclass(frozen=True)
class Figures:
    """What the readings of a file are judged by, and the readings themselves."""

    setup: Setup
    readings: tuple[tuple[Reading, float], ...]
    travel: TravelInPlay
    window: Window
    ceiling: Ceiling
    seat_turns: float
    rule: str

    def verdict(self, reading: Reading, resolution: float) -> Verdict:
        """A reading's verdict by the rule in force."""
        return judge(reading.turns, self.window, resolution, self.rule)

    @property
    def latest(self) -> list[Reading]:
        """The readings without their resolutions."""
        return [reading for reading, _ in self.readings]


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Give the command its arguments."""
    parser.add_argument("file", help="a record, or a setup with [[reading]] tables")
    parser.add_argument(
        "--by-kind", action="store_true", help="one length for all intakes, one for all exhausts"
    )
    parser.add_argument("--json", action="store_true")


def run(given: argparse.Namespace) -> int:
    """Judge the readings and work out what to buy."""
    path = Path(given.file)
    document = read_document(path)
    if isinstance(document, Record):
        found = _of_record(document)
    else:
        found = _of_setup(document, given.file)
    _must_be_fixed_height(found.setup, given.file)
    lengths = found.setup.lengths()
    bought = order(found.latest, found.window, found.travel.used.mm, lengths, given.by_kind)
    if given.json:
        say_json(figures_json(found, bought))
    else:
        _print(found, bought)
    return DONE


def _must_be_fixed_height(setup: Setup, file: str) -> None:
    assert setup.rocker is not None
    why_not = length_sets_preload(setup.rocker.mount)
    if why_not is not None:
        raise Faulty(file, [Fault("rocker.mount", why_not, 'mount = "bolt-down"')])


def _of_setup(setup: Setup, file: str) -> Figures:
    setup.require("rocker", "lifter", "pushrods", file=file)
    defaults = Defaults()
    resolution = defaults.resolution_turns
    latest = {r.valve: r for r in setup.readings()}
    assert setup.lifter is not None
    seat = setup.lifter.seat_turns or defaults.seat_turns
    try:
        travel = setup.travel_in_play(setup.trials(resolution))
        window = window_in_turns(setup.window_sheet(), travel.used.mm, seat)
    except ValueError as error:
        raise Faulty(file, [Fault("lifter", str(error), "give the sheet's window")]) from None
    ceiling = never_past(setup.plunger_travel_mm(), travel.largest_mm, defaults.reserve_turns)
    if out_of_reach(window, ceiling):
        said = out_of_reach_said(window, ceiling)
        fault = Fault("lifter.plunger_travel", said, "the plunger's whole travel, by the sheet")
        raise Faulty(file, [fault])
    return Figures(
        setup=setup,
        readings=tuple((r, resolution) for r in latest.values()),
        travel=travel,
        window=under_ceiling(window, ceiling),
        ceiling=ceiling,
        seat_turns=seat,
        rule=defaults.rule,
    )


def _of_record(record: Record) -> Figures:
    build = Build(record.head.setup, record.head.procedure)
    scene = Scene(build, fold(build.engine.valves, record.entries))
    return Figures(
        setup=record.head.setup,
        readings=tuple(_latest(scene)),
        travel=scene.travel,
        window=scene.window,
        ceiling=scene.ceiling,
        seat_turns=scene.seat_turns,
        rule=build.procedure.defaults.rule,
    )


def _latest(scene: Scene) -> Iterable[tuple[Reading, float]]:
    """Each valve's latest reading not crossed out: in the engine, or else in a trial."""
    for valve, one in sorted(scene.standing.valves.items()):
        entry = one.reads[-1] if one.reads else one.trials[-1] if one.trials else None
        if entry is None or not isinstance(entry.body, Read):
            continue
        length = quantities.length_mm(entry.body.pushrod)
        reading = Reading(valve, length, quantities.turns(entry.body.turns))
        yield reading, entry.body.resolution_turns


def figures_json(found: Figures, bought: Order) -> dict[str, Any]:
    """The figures with the keys `pushrods --json` promises."""
    return {
        "travel_per_turn_mm": found.travel.used.mm,
        "travel_per_turn_from": found.travel.used.origin.value,
        "travel_uncertainty_mm": found.travel.used.uncertainty_mm,
        "never_past_turns": found.ceiling.turns,
        "window_turns": [found.window.least_turns, found.window.most_turns],
        "valves": [_row(found, reading, step) for reading, step in found.readings],
        "buy": [
            {
                "pushrod_mm": purchase.pushrod_mm,
                "count": len(purchase.valves),
                "valves": [str(v) for v in purchase.valves],
            }
            for purchase in bought.buy
        ],
        "expect": [_expected_json(e) for e in _expected(found, bought)],
        "not_served": [str(v) for v in bought.not_served],
        "notes": [*found.travel.notes, *found.window.notes],
    }


def _row(found: Figures, reading: Reading, resolution: float) -> dict[str, Any]:
    verdict = found.verdict(reading, resolution)
    inside = verdict.word.value == "inside"
    proposed = try_pushrod(reading, found.window, found.travel.used.mm, found.setup.lengths())
    return {
        "valve": str(reading.valve),
        "pushrod_mm": reading.pushrod_mm,
        "turns": reading.turns,
        "preload_mm": preload_mm(reading.turns, found.travel.used.mm, found.seat_turns),
        "verdict": verdict.word.value,
        "near": verdict.near,
        "try_pushrod_mm": None if inside else proposed.pushrod_mm,
        "expect_turns": None if inside else proposed.expect_turns,
    }


def _expected(found: Figures, bought: Order) -> list[Expectation]:
    """What each valve should read with the pushrod bought for it, and how surely."""
    to_come = {v: purchase.pushrod_mm for purchase in bought.buy for v in purchase.valves}
    return [
        expectation(r, to_come[r.valve], found.window, found.travel.used, resolution)
        for r, resolution in found.readings
        if r.valve in to_come
    ]


def _expected_json(expected: Expectation) -> dict[str, Any]:
    return {
        "valve": str(expected.valve),
        "pushrod_mm": expected.pushrod_mm,
        "turns": expected.turns,
        "uncertainty_turns": expected.uncertainty_turns,
        "chance_inside": expected.chance,
    }


def _print_expected(found: Figures, bought: Order) -> None:
    expected = _expected(found, bought)
    if expected:
        say("then expect, worked out from each reading (± standard uncertainty, chance inside):")
    for each in expected:
        turns, doubt = each.turns, each.uncertainty_turns
        say(f"  {each.valve!s:<4} {turns:.2f} ± {doubt:.2f} turns, {each.chance:.0%} inside")


def _print_unserved(found: Figures, bought: Order) -> None:
    for reading in found.latest:
        if reading.valve in bought.not_served:
            lengths, travel = found.setup.lengths(), found.travel.used.mm
            alone = try_pushrod(reading, found.window, travel, lengths).pushrod_mm
            if alone is None:
                say(nothing_serves(reading, found.window, travel, lengths))
            else:
                say(f"no one length for its kind suits {reading.valve} too; {_both(alone)} would")


def _print(found: Figures, bought: Order) -> None:
    used = found.travel.used
    say(f"travel per turn {_both(used.mm)}: {used.said}")
    least, most = map(quantities.show_turns, (found.window.least_turns, found.window.most_turns))
    say(f"window {least} to {most} turns: {found.window.said}")
    if found.ceiling.turns is not None:
        say(f"never past {quantities.show_turns(found.ceiling.turns)} turns: {found.ceiling.said}")
    for note in (*found.travel.notes, *found.window.notes):
        say(f"note: {note}")
    for reading, resolution in found.readings:
        _print_row(_row(found, reading, resolution))
    _print_pattern(found)
    for purchase in bought.buy:
        names = " ".join(str(v) for v in purchase.valves)
        say(f"buy {len(purchase.valves)} of {_both(purchase.pushrod_mm)} for {names}")
    _print_expected(found, bought)
    _print_unserved(found, bought)


def _print_row(row: dict[str, Any]) -> None:
    said = f"{row['valve']:<4} {_both(row['pushrod_mm'])}  {quantities.show_turns(row['turns'])}"
    said += f" turns  preload {_both(row['preload_mm'])}  {row['verdict'].upper()}"
    said += " (near a limit)" if row["near"] else ""
    if row["try_pushrod_mm"] is not None:
        said += f"  try {_both(row['try_pushrod_mm'])}"
        said += f", expect {quantities.show_turns(row['expect_turns'])} turns"
    say(said)


def _print_pattern(found: Figures) -> None:
    for finding in find_pattern(found.setup.make_engine(), found.latest, found.travel.used.mm):
        say(f"pattern, to be looked into before buying: {finding.what}")
        say(f"  look first: {finding.first_look}")


def _both(mm: float) -> str:
    return f"{quantities.show_length(mm, 'in')} ({quantities.show_length(mm, 'mm')})"
