"""`heelwise pushrods`: verdicts, lengths to try and to buy, from a setup's or record's readings."""

import argparse
from dataclasses import replace
from pathlib import Path
from typing import Any

from heelwise.commands.reporting import DONE, complain, say, say_json
from heelwise.documents.faults import Fault, Faulty
from heelwise.documents.files import FileKind, kind_of
from heelwise.documents.procedure import Procedure
from heelwise.documents.record import check_entries, read_record
from heelwise.documents.setup import Setup, load_setup
from heelwise.sheet.forms import sections_as
from heelwise.sheet.pushrod_words import judged, pattern_of, pushrod_sections
from heelwise.sheet.setup_words import unit_of
from heelwise.valvetrain import window as w
from heelwise.valvetrain.figures import Repeats
from heelwise.valvetrain.pushrods import Order, length_sets_preload
from heelwise.valvetrain.readings import Expectation
from heelwise.valvetrain.trials import Reading
from heelwise.walk.buying import PushrodSet, repeated, set_of
from heelwise.walk.scene import scene_of


def pushrods(given: argparse.Namespace) -> int:
    """Judge the readings and work out what to buy."""
    found = _set_of(given.file)
    order = found.order(given.by_kind)
    if given.json:
        say_json(_as_json(found, order))
        return DONE
    if not found.readings:
        complain(["no readings yet: count a valve in a walk, or add [[reading]] to the setup"])
    say(sections_as(pushrod_sections(found, order), "text", unit_of(found.scene.build.setup)))
    return DONE


def _set_of(file: str) -> PushrodSet:
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
    why_not = length_sets_preload(pushrods.scene.build.rocker.mount)
    if why_not is not None:
        raise Faulty(file, [Fault("rocker.mount", why_not, 'mount = "bolt-down"')])
    return pushrods


def _of_setup(setup: Setup, file: str) -> PushrodSet:
    setup.require("rocker", "lifter", "pushrods", file=file)
    no_steps = Procedure.model_construct(steps=())
    scene = replace(scene_of(setup, no_steps), more_trials=setup.trials())
    if problem := w.out_of_reach(scene.window, scene.ceiling):
        fault = Fault("lifter.plunger_travel", problem, "the plunger's whole travel, by the sheet")
        raise Faulty(file, [fault])
    taken = setup.readings(scene.seat_turns)
    latest = {each.reading.valve: each for each in taken}
    counts = repeated(each.reading for each in taken if each.counted)
    return PushrodSet(scene, tuple(latest.values()), counts)


def _as_json(pushrods: PushrodSet, order: Order) -> dict[str, Any]:
    """The figures with the keys `pushrods --json` promises."""
    travel, window = pushrods.scene.travel, pushrods.scene.window
    ceiling = pushrods.scene.ceiling
    return {
        "travel_per_turn_mm": travel.used.mm,
        "travel_per_turn_from": travel.used.origin.value,
        "travel_uncertainty_mm": travel.used.uncertainty_mm,
        "never_past_turns": ceiling.exact_turns,
        "count_no_further_turns": ceiling.turns,
        "window_turns": [window.least_turns, window.most_turns],
        "valves": [judged(pushrods, each) for each in pushrods.readings],
        "buy": _buy(order),
        "expect": [
            {**_reading(e), "uncertainty_turns": e.uncertainty_turns, "chance_inside": e.chance}
            for e in pushrods.expected(order)
        ],
        "alternatives": [
            {"rules": each.rules, "worst_chance": each.worst_chance, "buy": _buy(each.order)}
            for each in pushrods.choices
        ],
        "not_served": [str(v) for v in order.not_served],
        "repeats": [_repeats(*each) for each in pushrods.repeated],
        "odd_readings": [{**_reading(odd.reading), "why": odd.why} for odd in travel.odd_readings],
        "pattern": [each.what for each in pattern_of(pushrods)],
        "notes": [*travel.notes, *window.notes],
    }


def _reading(reading: Reading | Expectation) -> dict[str, Any]:
    return {"valve": str(reading.valve), "pushrod_mm": reading.pushrod_mm, "turns": reading.turns}


def _repeats(first: Reading, found: Repeats) -> dict[str, Any]:
    told = {"count": found.count, "mean_turns": found.mean, "spread_turns": found.spread}
    return {"valve": str(first.valve), "pushrod_mm": first.pushrod_mm, **told, "agree": found.agree}


def _buy(order: Order) -> list[dict[str, Any]]:
    groups = [(each.pushrod_mm, list(map(str, each.valves))) for each in order.buy]
    return [{"pushrod_mm": mm, "count": len(names), "valves": names} for mm, names in groups]
