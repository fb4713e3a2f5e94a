"""Chances that a changed pushrod lands inside, against engines drawn by the test itself."""

from __future__ import annotations

import random
from collections import defaultdict
from functools import partial
from math import isclose, sqrt

import numpy as np
import pytest

from heelwise.valvetrain.engine import Valve, ValveKind
from heelwise.valvetrain.readings import Basis, expect
from heelwise.valvetrain.travel import Origin, Travel, travel_in_play
from heelwise.valvetrain.trials import LENGTH_MM, ZERO_LASH_MM, Reading
from heelwise.valvetrain.window import Window, WindowSheet, window_in_turns

I1 = Valve(1, ValveKind.INTAKE)
INCH = 25.4
PITCH, RATIO = 1.25, 1.7
LEVER = PITCH * (1 + 1 / RATIO)
VALVES = [Valve(n, kind) for n in range(1, 9) for kind in ValveKind]
WINDOW = Window(0.5, 1.0, "a test")


def test_a_reading_in_eighths_and_nothing_else_is_even() -> None:
    # Known to 1/16 either way, all equally likely: at 1/32 inside the limit three quarters are in.
    exact = Travel(2e6, Origin.MEASURED, 0.0, "a test")  # so large that lash and lengths vanish
    for turns, chance in ((1.0 - 1 / 32, 0.75), (1.0, 0.5), (1.0 + 1 / 32, 0.25), (0.75, 1.0)):
        found = expect(Reading(I1, 170.0, turns), 170.0, Basis(WINDOW, exact))
        assert isclose(found.chance, chance, abs_tol=1e-4)


def test_uncertainty_by_hand() -> None:
    travel = Travel(2.0, Origin.MEASURED, 0.1, "a test")
    basis = Basis(WINDOW, travel, received_mm=0.127)
    found = expect(Reading(I1, 170.0, 0.0), 172.0, basis)
    lengths = 2 * LENGTH_MM**2 + 0.127**2 / 3
    parts = 0.125**2 / 12 + (ZERO_LASH_MM**2 + lengths) / 2**2 + 0.05**2
    assert isclose(found.uncertainty_turns, sqrt(parts))


def test_unmeasured_the_turns_may_be_anything_between_pitch_and_lever() -> None:
    used = travel_in_play([], 1.32, PITCH, RATIO).used
    basis = Basis(Window(0.25, 1.0, "a test"), used)
    found = expect(Reading(I1, 170.0, 0.0, 0.0), 171.0, basis)
    drawn = 1.0 / np.random.default_rng(1).uniform(PITCH, LEVER, 200_000)
    assert isclose(found.turns, 1 / 1.32)
    off = sqrt(float(np.mean((drawn - found.turns) ** 2)))
    small = (ZERO_LASH_MM**2 + 2 * LENGTH_MM**2) / 1.32**2
    assert isclose(found.uncertainty_turns, sqrt(off**2 + small), rel_tol=0.01)
    assert isclose(found.chance, 1.0, abs_tol=1e-6)  # between .504 and .8 turn whatever it is


def test_a_window_in_preload_moves_with_the_travel() -> None:
    # No change of pushrod: turns are 1.0, preload 1.25 to 1.9853 mm. A window of 1.0 to 1.6 mm
    # holds (1.6 - 1.25) / .7353 of them.
    sheet = WindowSheet(None, (1.0, 1.6))
    used = travel_in_play([], 1.32, PITCH, RATIO).used
    basis = Basis(window_in_turns(sheet, 1.32), used, lambda mm: window_in_turns(sheet, mm))
    found = expect(Reading(I1, 170.0, 1.0, 0.01), 170.0, basis)
    assert isclose(found.chance, 0.35 / 0.7353, abs_tol=0.02)


def test_scatter_is_weighed() -> None:
    exact = Travel(2.0, Origin.MEASURED, 0.0, "a test")
    scatter = ((0.1, 0.25), (1.0, 0.75))
    found = expect(Reading(I1, 170.0, 0.75, 0.0, scatter), 170.0, Basis(WINDOW, exact))
    drawn = np.random.default_rng(2)
    sd = np.where(drawn.random(400_000) < 0.25, 0.1, 1.0)
    turns = 0.75 + drawn.normal(0, np.hypot(sd, ZERO_LASH_MM)) / 2.0
    assert isclose(found.chance, float(np.mean((turns >= 0.5) & (turns <= 1.0))), abs_tol=0.003)


PITCHES = [1.0, 1.25, 1.5, INCH / 24, INCH / 20, INCH / 18]


class LinearEngine:
    """An engine of the test's own: turns = (pushrod - zero-lash length) / travel, and a hand.

    `follows`: 0 where a turn gives the pitch alone, 1 where it follows the lever.
    """

    def __init__(self, rng: random.Random, follows: float, step: float) -> None:
        self.rng, self.step = rng, step
        self.pitch, self.ratio = rng.choice(PITCHES), rng.uniform(1.4, 1.8)
        self.travel = self.pitch * (1 + follows / self.ratio)
        self.zero = {valve: 185.0 + rng.gauss(0, 0.25) for valve in VALVES}
        self.rods: dict[float, float] = {}

    def true(self, valve: Valve, pushrod: float) -> float:
        """The true turns with a pushrod truly so long."""
        return (pushrod - self.zero[valve]) / self.travel

    def count(self, valve: Valve, nominal: float) -> Reading:
        """Turns as read with a pushrod measured as so long, the same one every time."""
        rod = self.rods.setdefault(nominal, nominal + self.rng.gauss(0, LENGTH_MM))
        turns = self.true(valve, rod + self.rng.gauss(0, ZERO_LASH_MM))
        return Reading(valve, nominal, max(round(turns / self.step) * self.step, 0.0), self.step)


def stated_and_true(
    rng: random.Random, engines: int, follows: float | None, pairs: int, preload: bool, step: float
) -> list[tuple[float, bool]]:
    """Chances stated and whether the true turns lay inside, over many engines.

    What they follow is drawn evenly where it is None. The first counts don't tell the travel: they
    are a quarter to two and a half turns whatever it is.
    """
    rows = []
    for _ in range(engines):
        engine = LinearEngine(rng, rng.random() if follows is None else follows, step)
        least = rng.uniform(0.4, 0.9)
        most = least + rng.uniform(0.4, 0.6)
        sheet = WindowSheet((least, most))
        if preload:
            sheet = WindowSheet(None, (least * engine.pitch, 1.3 * most * engine.pitch))
        window_at = partial(window_in_turns, sheet)
        first = 185.0 + rng.uniform(0.25, 2.5) * engine.travel
        latest = {valve: engine.count(valve, first) for valve in VALVES}
        trials = list(latest.values())
        enough = travel_in_play([], None, engine.pitch, engine.ratio).telling_step_mm(step)
        for valve in VALVES[:pairs]:
            second = first + rng.choice([-1, 1]) * enough * rng.uniform(1.05, 1.8)
            latest[valve] = engine.count(valve, second)
            trials.append(latest[valve])
        play = travel_in_play(trials, None, engine.pitch, engine.ratio)
        if play.measured != bool(pairs):
            continue
        used = play.used.mm
        window, right = window_at(used), window_at(engine.travel)
        basis = Basis(window, play.used, window_at if preload else None, received_mm=0.127)
        for valve, reading in list(latest.items())[:6]:
            if reading.turns > 0:
                middle = reading.pushrod_mm + (window.middle - reading.turns) * used
                new = middle + rng.uniform(-1.0, 1.0)
                chance = expect(reading, new, basis).chance
                true = new + rng.uniform(-0.127, 0.127) + rng.gauss(0, LENGTH_MM)
                rows.append(
                    (chance, right.least_turns <= engine.true(valve, true) <= right.most_turns)
                )
    return rows


def furthest_off(rows: list[tuple[float, bool]], enough: int) -> float:
    """The most that stated and true differ in any tenth of the chances."""
    tenths: defaultdict[int, list[tuple[float, bool]]] = defaultdict(list)
    for chance, inside in rows:
        tenths[min(int(chance * 10), 9)].append((chance, inside))
    off = [
        abs(sum(chance - inside for chance, inside in each)) / len(each)
        for each in tenths.values()
        if len(each) >= enough
    ]
    assert len(off) >= 2
    return max(off)


@pytest.mark.long
@pytest.mark.parametrize("preload", [False, True])
@pytest.mark.parametrize("step", [0.125, 1 / 36])
def test_chances_stated_come_true_unmeasured(preload: bool, step: float) -> None:
    rows = stated_and_true(random.Random(1), 5000, None, 0, preload, step)
    assert furthest_off(rows, 300) <= 0.05


@pytest.mark.long
@pytest.mark.parametrize("follows", [0.0, 0.5, 1.0])
@pytest.mark.parametrize("preload", [False, True])
@pytest.mark.parametrize("step", [0.125, 1 / 36])
@pytest.mark.parametrize("pairs", [1, 4])
def test_chances_stated_come_true_measured(
    follows: float, preload: bool, step: float, pairs: int
) -> None:
    rows = stated_and_true(random.Random(2), 5000, follows, pairs, preload, step)
    assert furthest_off(rows, 300) <= 0.05


@pytest.mark.parametrize("pairs", [0, 1, 4])
@pytest.mark.parametrize("preload", [False, True])
def test_chances_stated_come_true_over_a_few_engines(pairs: int, preload: bool) -> None:
    rows = stated_and_true(random.Random(3), 250, None, pairs, preload, 0.125)
    assert furthest_off(rows, 100) <= 0.12
