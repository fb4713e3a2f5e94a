"""Chances that are stated come true on the virtual engine, tenth by tenth."""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace

import pytest

from heelwise.rehearsal.engine import Rocker, Truth, make_truth
from heelwise.rehearsal.scenario import procedure_called, setup_by
from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.readings import Basis, expect
from heelwise.valvetrain.trials import LENGTH_MM, ZERO_LASH_MM, Reading
from heelwise.valvetrain.window import window_in_turns

PROCEDURE = procedure_called("bolt-down-rockers")
SETUP = setup_by("i6-153624", PROCEDURE)
RECEIVED_MM = 0.25
SEAT_TURNS = 0.12
ENOUGH = 300
SHEET = SETUP.window_sheet()
WINDOW_AT = None if SHEET.turns else lambda mm: window_in_turns(SHEET, mm, SEAT_TURNS)
POINTS = 0.05


@dataclass(frozen=True)
class Yielding(Rocker):
    """A rocker whose valve end yields: follows = 0 moves the cup by the pitch, 1 by the lever."""

    follows: float = 1.0

    def swing(self, rise: float) -> float:
        return super().swing(self.follows * rise)


def statements(
    engines: int, follows: float | None, resolution: float, measured: bool, seed: int = 1
) -> Iterator[tuple[float, bool]]:
    """Chances stated of pushrods not yet bought, and whether each then landed inside.

    `follows`: how the rockers go; drawn evenly for each engine where it is None. `measured`: two
    valves are tried with a second length.
    """
    for number in range(engines):
        chance = random.Random(f"{seed} {number} {follows} {resolution} {measured}")
        truth = replace(make_truth(SETUP, number + 1, ()), seat_turns=SEAT_TURNS)
        share = chance.random() if follows is None else follows
        rockers = {v: _yielding(rocker, share) for v, rocker in truth.rockers.items()}
        truth = replace(truth, rockers=rockers)

        def count(
            valve: Valve, mm: float, truth: Truth = truth, chance: random.Random = chance
        ) -> Reading:
            length, feel = mm + chance.gauss(0, LENGTH_MM), chance.gauss(0, ZERO_LASH_MM)
            exact = truth.turns(valve, length, down_mm=feel)
            return Reading(valve, mm, round(exact / resolution) * resolution, resolution)

        valves = chance.sample(sorted(rockers), 4)
        trials = [count(v, rockers[v].touching + chance.uniform(0.5, 1.6)) for v in valves]
        if measured:
            trials += [count(t.valve, t.pushrod_mm + 1.5) for t in trials[:2]]
        travel = SETUP.travel_in_play(trials)
        if travel.measured != measured:
            continue
        window = window_in_turns(SETUP.window_sheet(), travel.used.mm, SEAT_TURNS)
        basis = Basis(window, travel.used, WINDOW_AT, RECEIVED_MM)
        for trial in trials[:4]:
            if trial.turns <= 0:
                continue
            for _ in range(3):
                to_come = trial.pushrod_mm + chance.uniform(-1.2, 1.6)
                stated = expect(trial, to_come, basis).chance
                got = to_come + chance.uniform(-RECEIVED_MM, RECEIVED_MM)
                yield stated, truth.inside(trial.valve, got + chance.gauss(0, LENGTH_MM))


def _yielding(rocker: Rocker, follows: float) -> Yielding:
    fields = {name: getattr(rocker, name) for name in Rocker.__dataclass_fields__}
    return Yielding(**fields, follows=follows)


def by_tenth(stated: Iterator[tuple[float, bool]]) -> dict[int, tuple[int, float, float]]:
    """By tenth of the chance: how many, the mean stated, how often it came true."""
    tenths: defaultdict[int, list[tuple[float, bool]]] = defaultdict(list)
    for chance, inside in stated:
        tenths[min(int(chance * 10), 9)].append((chance, inside))
    return {
        tenth: (
            len(each),
            sum(chance for chance, _ in each) / len(each),
            sum(inside for _, inside in each) / len(each),
        )
        for tenth, each in sorted(tenths.items())
    }


CASES = [
    (None, 0.125, False),
    (None, 0.0625, False),
    *(
        (follows, resolution, True)
        for follows in (0.0, 0.5, 1.0)
        for resolution in (0.125, 0.03125)
    ),
]


@pytest.mark.long
@pytest.mark.parametrize(("follows", "resolution", "measured"), CASES)
def test_chances_come_true(follows: float | None, resolution: float, measured: bool) -> None:
    found = by_tenth(statements(3000, follows, resolution, measured))
    told = {tenth: each for tenth, each in found.items() if each[0] > ENOUGH}
    assert told
    for tenth, (count, stated, true) in told.items():
        assert abs(stated - true) <= POINTS, (tenth, count, stated, true)
