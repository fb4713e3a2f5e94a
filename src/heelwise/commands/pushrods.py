"""`heelwise pushrods`: verdicts, lengths to try and to buy, from a setup's or record's readings."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from heelwise.commands.reporting import DONE, complain, say, say_json
from heelwise.documents.faults import Fault, Faulty
from heelwise.documents.files import FileKind, kind_of
from heelwise.documents.procedure import Defaults
from heelwise.documents.record import check_entries, read_record
from heelwise.documents.setup import Setup, load_setup
from heelwise.documents.setup_lifters import Counted
from heelwise.sheet.forms import sections_as
from heelwise.sheet.pushrod_words import pattern_of, pushrod_sections
from heelwise.sheet.setup_words import unit_of
from heelwise.valvetrain.pushrods import Order, length_sets_preload, try_pushrod
from heelwise.valvetrain.readings import Expectation
from heelwise.valvetrain.trials import Reading
from heelwise.valvetrain.window import (
    Word,
    ceiling_of,
    out_of_reach,
    preload_mm,
    under_ceiling,
    window_in_turns,
)
from heelwise.walk.pushrod_set import (
    PushrodSet,
    repeated,
    set_of,
)
from heelwise.walk.scene import scene_of


def run(given: argparse.Namespace) -> int:
    """Judge the readings and work out what to buy."""
    pushrods = _pushrods_of(given.file)
    order = pushrods.order(given.by_kind)
    if given.json:
        say_json(_as_json(pushrods, order))
    else:
        if not pushrods.readings:
            complain(["no readings yet: count a valve in a walk, or add [[reading]] to the setup"])
        say(sections_as(pushrod_sections(pushrods, order), "text", unit_of(pushrods.setup)))
    return DONE


def _pushrods_of(file: str) -> PushrodSet:
    """The readings of a setup or a record, and what judges them.

    Raises Faulty: a table is missing, a figure leaves no window, or on this mount the length
    doesn't set the preload.
    """
    path = Path(file)
    try:
        if kind_of(path) is FileKind.RECORD:
            record = read_record(path)
            check_entries(record)
            pushrods = set_of(scene_of(record.head.setup, record.head.procedure, record.entries))
        else:
            pushrods = _of_setup(load_setup(path), file)
    except ValueError as error:
        raise Faulty(file, [Fault("lifter", str(error), "give the sheet's window")]) from None
    assert pushrods.setup.rocker is not None
    why_not = length_sets_preload(pushrods.setup.rocker.mount)
    if why_not is not None:
        raise Faulty(file, [Fault("rocker.mount", why_not, 'mount = "bolt-down"')])
    return pushrods


def _of_setup(setup: Setup, file: str) -> PushrodSet:
    setup.require("rocker", "lifter", "pushrods", file=file)
    defaults = Defaults()
    assert setup.lifter is not None
    seat = setup.lifter.seat_turns or defaults.seat_turns
    travel = setup.travel_in_play(setup.trials())
    window = window_in_turns(setup.window_sheet(), travel.used.mm, seat)
    ceiling = ceiling_of(
        window,
        setup.plunger_travel_mm(),
        travel,
        defaults.reserve_turns,
        setup.hot_gain_mm(),
        defaults.resolution_turns,
    )
    if problem := out_of_reach(window, ceiling):
        fault = Fault("lifter.plunger_travel", problem, "the plunger's whole travel, by the sheet")
        raise Faulty(file, [fault])
    taken = setup.readings(seat)
    latest = {each.reading.valve: each for each in taken}
    return PushrodSet(
        setup=setup,
        readings=tuple(latest.values()),
        repeated=repeated([each.reading for each in taken if each.counted]),
        travel=travel,
        window=under_ceiling(window, ceiling),
        ceiling=ceiling,
        seat_turns=seat,
        rule=defaults.rule,
    )


def _as_json(pushrods: PushrodSet, order: Order) -> dict[str, Any]:
    """The figures with the keys `pushrods --json` promises."""
    travel, window, ceiling = pushrods.travel, pushrods.window, pushrods.ceiling
    return {
        "travel_per_turn_mm": travel.used.mm,
        "travel_per_turn_from": travel.used.origin.value,
        "travel_uncertainty_mm": travel.used.uncertainty_mm,
        "never_past_turns": ceiling.exact_turns,
        "count_no_further_turns": ceiling.turns,
        "window_turns": [window.least_turns, window.most_turns],
        "valves": [_row(pushrods, each) for each in pushrods.readings],
        "buy": _buy(order),
        "expect": [
            {
                **_reading(each),
                "uncertainty_turns": each.uncertainty_turns,
                "chance_inside": each.chance,
            }
            for each in pushrods.expected(order)
        ],
        "alternatives": [
            {"rules": each.rules, "worst_chance": each.worst_chance, "buy": _buy(each.order)}
            for each in pushrods.choices
        ],
        "not_served": [str(v) for v in order.not_served],
        "repeats": [
            {
                "valve": str(again.first.valve),
                "pushrod_mm": again.first.pushrod_mm,
                "count": again.found.count,
                "mean_turns": again.found.mean,
                "spread_turns": again.found.spread,
                "agree": again.found.agree,
            }
            for again in pushrods.repeated
        ],
        "odd_readings": [{**_reading(odd.reading), "why": odd.why} for odd in travel.odd_readings],
        "pattern": [each.what for each in pattern_of(pushrods)],
        "notes": [*travel.notes, *window.notes],
    }


def _reading(reading: Reading | Expectation) -> dict[str, Any]:
    return {"valve": str(reading.valve), "pushrod_mm": reading.pushrod_mm, "turns": reading.turns}


def _row(pushrods: PushrodSet, count: Counted) -> dict[str, Any]:
    reading, verdict = count.reading, pushrods.verdict(count)
    inside, travel = verdict.word is Word.INSIDE, pushrods.travel.used.mm
    proposed = None if inside else try_pushrod(reading, pushrods.window, travel, pushrods.lengths)
    hot = pushrods.hot(reading.pushrod_mm, reading.turns) if count.counted else None
    return {
        **_reading(reading),
        "preload_mm": preload_mm(reading.turns, travel, pushrods.seat_turns),
        "hot_preload_mm": None if hot is None else hot.hot_mm,
        "verdict": verdict.word.value,
        "near": verdict.near,
        "counted": count.counted,
        "lash_left": count.lash_left,
        "reading_from": count.source,
        "try_pushrod_mm": proposed and proposed[0],
        "expect_turns": proposed and proposed[1],
    }


def _buy(order: Order) -> list[dict[str, Any]]:
    groups = [(each.pushrod_mm, list(map(str, each.valves))) for each in order.buy]
    return [{"pushrod_mm": mm, "count": len(names), "valves": names} for mm, names in groups]
