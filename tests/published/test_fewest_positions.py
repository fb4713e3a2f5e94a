"""Fewest positions against scipy's mixed-integer solver (HiGHS), an outside judge.

Source: scipy.optimize.milp. It is asked a set cover over candidate crank angles that this test
works out for itself: the fewest positions at the margin asked for, and, for the safest plan,
that the same number of positions serves at our least margin but not at 0.001 degree more.
"""

from __future__ import annotations

import random
from itertools import pairwise

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp

from heelwise.valvetrain.positions import NoPlan, Plan, fewest_positions
from tests.crank_model import Model, random_model

SLACK = 1e-7


class Asked:
    """One question: an engine with restrictions."""

    def __init__(self, model: Model, marks: float | None, pistons: float) -> None:
        self.model, self.marks, self.pistons = model, marks, pistons

    def allows(self, name: str, crank: float, margin: float) -> bool:
        if self.model.from_tdc(name, crank) < self.pistons - SLACK:
            return False
        return self.model.margin(name, crank) >= margin - SLACK

    def candidates(self, margin: float) -> list[float]:
        if self.marks:
            return [mark * self.marks for mark in range(round(720 / self.marks))]
        ends = []
        for name in self.model.names:
            begin, end = self.model.lobe(name)
            tdc = self.model.tdc(int(name[:-1]))
            ends += [begin - margin, end + margin]
            if self.pistons:
                ends += [tdc + turn + side * self.pistons for turn in (0, 360) for side in (1, -1)]
        return sorted({end % 720 for end in ends})

    def fewest(self, margin: float) -> int | None:
        """The solver's answer; None if some valve has no place."""
        candidates = self.candidates(margin)
        table = np.array(
            [
                [self.allows(name, crank, margin) for crank in candidates]
                for name in self.model.names
            ],
            dtype=float,
        )
        if not table.any(axis=1).all():
            return None
        # Equal columns are one and the same choice.
        table = np.unique(table, axis=1)
        count = table.shape[1]
        answer = milp(
            c=np.ones(count),
            constraints=LinearConstraint(table, lb=1),
            integrality=np.ones(count, dtype=int),
            bounds=Bounds(0, 1),
        )
        assert answer.success
        return round(float(answer.fun))


def check_places(asked: Asked, plan: Plan, margin: float) -> None:
    """Every valve once, where it may be, where its margin is largest; angles in order."""
    placed = [str(each.valve) for position in plan.positions for each in position.valves]
    assert sorted(placed) == sorted(asked.model.names)
    angles = [position.crank_deg for position in plan.positions]
    assert all(0 <= angle < 720 for angle in angles)
    assert all(one < other for one, other in pairwise(angles))
    least = min(
        asked.model.margin(str(each.valve), position.crank_deg)
        for position in plan.positions
        for each in position.valves
    )
    assert plan.least_margin_deg == pytest.approx(least, abs=1e-6)
    assert least >= margin - 1e-6
    for position in plan.positions:
        assert position.valves
        if asked.marks:
            assert position.crank_deg / asked.marks == pytest.approx(
                round(position.crank_deg / asked.marks), abs=1e-8
            )
        for each in position.valves:
            here = asked.model.margin(str(each.valve), position.crank_deg)
            assert asked.allows(str(each.valve), position.crank_deg, margin - 1e-6)
            assert all(
                asked.model.margin(str(each.valve), angle) <= here + 1e-6
                for angle in angles
                if asked.allows(str(each.valve), angle, margin)
            )


def compare(asked: Asked, margin: float) -> None:
    fewest = asked.fewest(margin)
    answer = ours(asked, margin)
    if isinstance(answer, NoPlan):
        assert fewest is None
        check_most_margin(asked, margin, answer.most_margin_deg)
        return
    assert len(answer.positions) == fewest
    check_places(asked, answer, margin)
    assert answer.least_margin_deg is not None
    more = asked.fewest(answer.least_margin_deg + 1e-3)
    assert more is None or more > len(answer.positions)


def ours(asked: Asked, margin: float) -> Plan | NoPlan:
    model = asked.model
    try:
        return fewest_positions(model.engine, model.cam, margin, asked.marks, asked.pistons)
    except NoPlan as none:
        return none


def check_most_margin(asked: Asked, margin: float, most: float | None) -> None:
    if most is None or most < 0.001:
        # On a lobe somewhere, or nowhere allowed: then no margin at all can be had.
        assert asked.fewest(0.002) is None
        return
    assert most < margin
    assert asked.fewest(most - 1e-6) is not None
    assert asked.fewest(most + 1e-3) is None


def ask(rng: random.Random) -> tuple[Asked, float]:
    cylinders = rng.choice([1, 2, 3, 4, 4, 5, 6, 6, 8, 8, 8, 10, 12])
    model = random_model(rng, cylinders, rng.random() < 0.5, whole=rng.random() < 0.5)
    marks = rng.choice([None, None, None, 90.0, 60.0, 45.0, 30.0, 10.0])
    pistons = rng.choice([0.0, 0.0, 0.0, 20.0, 45.0, 60.0, 75.0, 90.0])
    margin = rng.choice([0.0, 5.0, 10.0, 10.0, 20.0, 40.0, 80.0, 120.0, rng.uniform(0, 100)])
    return Asked(model, marks, pistons), margin


@pytest.mark.parametrize("seed", range(10))
def test_as_few_and_as_safe_as_the_solver_says(seed: int) -> None:
    rng = random.Random(seed)
    for _ in range(30):
        compare(*ask(rng))


@pytest.mark.long
@pytest.mark.parametrize("seed", range(100, 200))
def test_as_few_and_as_safe_as_the_solver_says_thousands_of_times(seed: int) -> None:
    rng = random.Random(seed)
    for _ in range(50):
        compare(*ask(rng))


@pytest.mark.parametrize("pistons", [0.0, 30.0, 60.0])
def test_twenty_four_cylinders_firing_oddly(pistons: float) -> None:
    rng = random.Random(24)
    for _ in range(3):
        compare(Asked(random_model(rng, 24, odd=True), None, pistons), 10.0)
