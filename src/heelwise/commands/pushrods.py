"""`heelwise pushrods`: verdicts, lengths to try and to buy, from a setup's or record's readings."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from heelwise.commands.pushrod_figures import figures_of
from heelwise.commands.pushrods_said import print_all
from heelwise.commands.reading import read_document
from heelwise.commands.reporting import DONE, say_json
from heelwise.valvetrain.pushrods import Expectation, Order, Purchase, try_pushrod
from heelwise.valvetrain.verdict import preload_mm
from heelwise.walk.pushrod_set import Again, Counted, PushrodSet


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Give the command its arguments."""
    parser.add_argument("file", help="a record, or a setup with [[reading]] tables")
    parser.add_argument(
        "--by-kind", action="store_true", help="one length for all intakes, one for all exhausts"
    )
    parser.add_argument("--json", action="store_true")


def run(given: argparse.Namespace) -> int:
    """Judge the readings and work out what to buy."""
    found = figures_of(read_document(Path(given.file)), given.file)
    bought = found.order(given.by_kind)
    if given.json:
        say_json(figures_json(found, bought))
    else:
        print_all(found, bought)
    return DONE


def figures_json(found: PushrodSet, bought: Order) -> dict[str, Any]:
    """The figures with the keys `pushrods --json` promises."""
    return {
        "travel_per_turn_mm": found.travel.used.mm,
        "travel_per_turn_from": found.travel.used.origin.value,
        "travel_uncertainty_mm": found.travel.used.uncertainty_mm,
        "never_past_turns": found.ceiling.exact_turns,
        "count_no_further_turns": found.ceiling.turns,
        "window_turns": [found.window.least_turns, found.window.most_turns],
        "valves": [_row(found, each) for each in found.readings],
        "buy": [_purchase(each) for each in bought.buy],
        "expect": [_expected(each) for each in found.expected(bought)],
        "not_served": [str(v) for v in bought.not_served],
        "repeats": [_again(each) for each in found.repeated],
        "notes": [*found.travel.notes, *found.window.notes],
    }


def _row(found: PushrodSet, one: Counted) -> dict[str, Any]:
    reading, verdict = one.reading, found.verdict(one)
    inside = verdict.word.value == "inside"
    proposed = try_pushrod(reading, found.window, found.travel.used.mm, found.lengths)
    hot = found.hot(reading.pushrod_mm, reading.turns) if one.counted else None
    return {
        "valve": str(reading.valve),
        "pushrod_mm": reading.pushrod_mm,
        "turns": reading.turns,
        "preload_mm": preload_mm(reading.turns, found.travel.used.mm, found.seat_turns),
        "hot_preload_mm": None if hot is None else hot.hot_mm,
        "verdict": verdict.word.value,
        "near": verdict.near,
        "counted": one.counted,
        "lash_left": one.lash_left,
        "reading_from": one.said,
        "try_pushrod_mm": None if inside else proposed.pushrod_mm,
        "expect_turns": None if inside else proposed.expect_turns,
    }


def _purchase(purchase: Purchase) -> dict[str, Any]:
    return {
        "pushrod_mm": purchase.pushrod_mm,
        "count": len(purchase.valves),
        "valves": [str(v) for v in purchase.valves],
    }


def _expected(expected: Expectation) -> dict[str, Any]:
    return {
        "valve": str(expected.valve),
        "pushrod_mm": expected.pushrod_mm,
        "turns": expected.turns,
        "uncertainty_turns": expected.uncertainty_turns,
        "chance_inside": expected.chance,
    }


def _again(again: Again) -> dict[str, Any]:
    return {
        "valve": str(again.first.valve),
        "pushrod_mm": again.first.pushrod_mm,
        "count": again.found.count,
        "mean_turns": again.found.mean,
        "spread_turns": again.found.spread,
        "agree": again.found.agree,
    }
