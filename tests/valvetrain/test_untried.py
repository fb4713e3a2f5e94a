"""Valves not tried, against engines drawn by the test itself."""

from __future__ import annotations

import random
from math import isclose, sqrt

import numpy as np
import pytest

from heelwise.valvetrain.engine import Valve, ValveKind, make_engine
from heelwise.valvetrain.pushrods import choose_pushrods
from heelwise.valvetrain.readings import Basis, Outlook, outlook, with_untried
from heelwise.valvetrain.travel import Origin, Travel
from heelwise.valvetrain.trials import Reading
from heelwise.valvetrain.window import Window

INCH = 25.4
TRAVEL = 1.9853
EIGHT = make_engine([1, 8, 7, 2, 6, 5, 4, 3], banks={"left": [1, 3, 5, 7], "right": [2, 4, 6, 8]})
WINDOW = Window(0.75, 1.25, "a test")
FOUR = [Valve.parse(name) for name in ("1I", "1E", "2I", "2E")]


def tried(turns: dict[str, float], resolution: float = 0.125) -> list[Reading]:
    return [Reading(Valve.parse(name), 185.0, count, resolution) for name, count in turns.items()]


def spread(prospect: Reading) -> float:
    return sqrt(sum(weight * sd * sd for sd, weight in prospect.scatter))


def test_a_valve_not_tried_goes_by_the_mean_of_its_kind() -> None:
    every = with_untried(EIGHT, tried({"1I": 1.0, "2I": 1.25, "1E": 0.5, "2E": 0.5}), TRAVEL)
    assert set(every) == set(EIGHT.valves)
    assert isclose(every[Valve.parse("8I")].turns, 1.125)
    assert isclose(every[Valve.parse("8E")].turns, 0.5)
    assert every[FOUR[0]].scatter == ()
    assert isclose(sum(weight for _, weight in every[Valve.parse("8I")].scatter), 1.0)
    assert with_untried(EIGHT, [], TRAVEL) == {}


def test_scatter_seen_widens_what_is_expected() -> None:
    level = with_untried(EIGHT, tried({f"{n}I": 1.0 for n in range(1, 7)}), TRAVEL)
    rough = with_untried(EIGHT, tried({f"{n}I": 1.0 + n % 2 * 0.5 for n in range(1, 7)}), TRAVEL)
    few = with_untried(EIGHT, tried({"1I": 1.0, "2I": 1.0}), TRAVEL)
    valve = Valve.parse("8I")
    assert spread(level[valve]) < spread(few[valve]) < spread(rough[valve])
    # By hand: ± .25 turn is ± .4963 mm; with the mean of six, √(1 + 1/6) as much or a little more.
    assert 0.45 < spread(rough[valve]) < 0.75
    # An exhaust, none of which was tried, may differ by as much as kinds do.
    assert spread(level[Valve.parse("8E")]) > spread(level[valve])


def test_the_scatter_is_found_again() -> None:
    """Over many engines the mean square of what is expected is that of what is there."""
    rng = random.Random(4)
    for true in (0.005, 0.010, 0.015):
        stated, off = [], []
        for _ in range(300):
            heights = {v: 183.0 + rng.gauss(0, true * INCH) for v in EIGHT.valves}
            counts = {
                str(v): round((185.0 - heights[v] + rng.gauss(0, 0.025)) / TRAVEL * 8) / 8
                for v in FOUR + [Valve.parse(name) for name in ("5I", "5E", "6I", "6E")]
            }
            every = with_untried(EIGHT, tried(counts), TRAVEL)
            valve = Valve.parse("8I")
            stated.append(spread(every[valve]) ** 2)
            off.append(185.0 - every[valve].turns * TRAVEL - heights[valve])
        ratio = float(np.mean(stated)) / float(np.mean(np.square(off)))
        assert 0.6 < ratio < 2.2, (true, ratio)


def test_the_most_telling_to_try_next() -> None:
    good = dict.fromkeys(EIGHT.valves, 0.99)
    worse = {**good, **{v: 0.7 for v in EIGHT.valves if v.kind is ValveKind.EXHAUST}}
    found = outlook(EIGHT, FOUR, worse)
    assert isclose(found.expected_outside, 6 * 0.3 + 6 * 0.01)
    # An exhaust, at the far end of either bank from those tried.
    assert [str(valve) for valve in found.try_next] == ["7E", "8E", "3E", "4E"]
    after = outlook(EIGHT, [*FOUR, Valve.parse("7E")], worse)
    assert str(after.try_next[0]) == "8E"
    assert outlook(EIGHT, FOUR, good).try_next == ()
    assert outlook(EIGHT, EIGHT.valves, worse) == Outlook(0.0, ())
    # Only what is on its heel at one place with an exhaust, the first place first.
    places = [[Valve.parse(name) for name in names] for names in (["3I"], ["5E", "6I"], ["7E"])]
    assert [str(v) for v in outlook(EIGHT, FOUR, worse, places).try_next] == ["5E", "6I"]


SOLD = [(7.0 + 0.025 * place) * INCH for place in range(40)]
BASIS = Basis(WINDOW, Travel(TRAVEL, Origin.MEASURED, 0.12, "a test"), received_mm=0.127)


def count(rng: random.Random, valve: Valve, zero: float) -> Reading:
    length = min(SOLD, key=lambda mm: abs((mm - zero) / TRAVEL - 1.0))
    turns = (length - zero + rng.gauss(0, 0.025)) / TRAVEL
    return Reading(valve, length, round(turns * 8) / 8)


def second_orders(scatter: float, engines: int, more: bool) -> tuple[float, float]:
    """The share of engines that need a second order, and trials made beyond the first four."""
    rng = random.Random(7)
    again, trials = 0, 0
    for _ in range(engines):
        kinds = {kind: rng.gauss(0, 0.5) for kind in ValveKind}
        zero = {v: 188.0 + kinds[v.kind] + rng.gauss(0, scatter * INCH) for v in EIGHT.valves}
        read = {valve: count(rng, valve, zero[valve]) for valve in FOUR}
        while True:
            every = with_untried(EIGHT, read.values(), TRAVEL)
            choice = choose_pushrods(every.values(), BASIS, SOLD)[0]
            found = outlook(EIGHT, read, {each.valve: each.chance for each in choice.expected})
            if not more or not found.try_next:
                break
            read |= {v: count(rng, v, zero[v]) for v in found.try_next}
        trials += len(read) - len(FOUR)
        bought = {v: p.pushrod_mm for p in choice.order.buy for v in p.valves}
        again += any(
            v not in bought
            or not 0.75 <= (bought[v] + rng.uniform(-0.127, 0.127) - zero[v]) / TRAVEL <= 1.25
            for v in EIGHT.valves
        )
    return again / engines, trials / engines


@pytest.mark.long
@pytest.mark.parametrize(
    ("scatter", "share", "trials"), [(0.003, 0.06, 4.8), (0.005, 0.16, 6.8), (0.010, 0.20, 11.5)]
)
def test_more_trials_save_second_orders(scatter: float, share: float, trials: float) -> None:
    without, _ = second_orders(scatter, 150, more=False)
    again, tried_more = second_orders(scatter, 150, more=True)
    assert again <= share
    assert again < without
    assert tried_more <= trials


def test_more_trials_save_second_orders_in_a_few_engines() -> None:
    without, none = second_orders(0.010, 12, more=False)
    again, tried_more = second_orders(0.010, 12, more=True)
    assert none == 0
    assert again < without
    assert tried_more > 2
