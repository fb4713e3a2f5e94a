"""How long the fewest positions take, beside scipy's mixed-integer solver finding the same.

Run with ``python tests/bench/bench_positions.py``. The solver is asked in its best form: a set
cover over the ends of the free arcs, its table made with numpy, and for the safest of the fewest
a bisection over the margins that can be the answer, one solve each. Both must come to the same
optimum, or the run fails. Times are medians of pairs, taken in turn.
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from dataclasses import dataclass
from statistics import median

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp

from heelwise.valvetrain.cam import Cam, Timing, events_from_timing
from heelwise.valvetrain.engine import Engine, make_engine
from heelwise.valvetrain.lobes import heel_arc
from heelwise.valvetrain.positions import fewest_positions

PAIRS = 9
MARGIN_DEG = 10.0
CAM = Cam(events_from_timing(Timing(268.0, 274.0, 113.0, 109.0)), at_lift_mm=0.1524)
EIGHT = make_engine([1, 8, 4, 3, 6, 5, 7, 2])
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Figure:
    """One measured figure."""

    name: str
    value: float
    unit: str


def oddly_firing(cylinders: int) -> Engine:
    """An engine with a random order and uneven gaps, the same every run."""
    rng = random.Random(cylinders)
    shares = [rng.uniform(0.2, 1.0) for _ in range(cylinders)]
    order = rng.sample(range(1, cylinders + 1), cylinders)
    return make_engine(order, [720.0 * share / sum(shares) for share in shares])


def fewest_by_milp(starts: Floats, lengths: Floats, margin: float) -> int | None:
    """Fewest points that pierce every arc shrunk by the margin; None if an arc is used up."""
    if (lengths < 2.0 * margin - 1e-9).any():
        return None
    ends = (starts + lengths - margin) % 720.0
    past = (ends[None, :] - (starts + margin)[:, None] + 1e-9) % 720.0
    table = np.unique(past <= (lengths - 2.0 * margin)[:, None] + 2e-9, axis=1).astype(float)
    count = table.shape[1]
    answer = milp(
        c=np.ones(count),
        constraints=LinearConstraint(table, lb=1.0),
        integrality=np.ones(count, dtype=int),
        bounds=Bounds(0, 1),
    )
    assert answer.fun is not None
    return round(float(answer.fun))


def heels(engine: Engine) -> tuple[Floats, Floats]:
    """Where every valve's heel begins, and its length."""
    arcs = [heel_arc(engine, CAM, valve) for valve in engine.valves]
    return np.array([arc.start for arc in arcs]), np.array([arc.length for arc in arcs])


def safest_by_milp(engine: Engine) -> tuple[int, float]:
    """Fewest positions and their largest least margin, by the solver."""
    starts, lengths = heels(engine)
    fewest = fewest_by_milp(starts, lengths, MARGIN_DEG)
    assert fewest is not None
    # A plan is tightest where the end of one arc meets the beginning of another.
    meets = ((starts + lengths)[:, None] - starts[None, :]) % 720.0 / 2.0
    choices = np.unique(np.round(np.concatenate([meets.ravel(), meets.ravel() + 360.0]), 9))
    choices = choices[(choices >= MARGIN_DEG) & (choices <= lengths.min() / 2.0)]
    low, high = -1, len(choices) - 1
    while low < high:
        middle = (low + high + 1) // 2
        needed = fewest_by_milp(starts, lengths, float(choices[middle]))
        if needed is not None and needed <= fewest:
            low = middle
        else:
            high = middle - 1
    return fewest, float(choices[low])


def milliseconds(work: Callable[[], object]) -> float:
    begun = time.perf_counter()
    work()
    return (time.perf_counter() - begun) * 1000.0


def beside_milp(engine: Engine, name: str) -> list[Figure]:
    """Ours and the solver's time, in turn, after both were seen to agree."""
    plan = fewest_positions(engine, CAM, MARGIN_DEG)
    count, margin = safest_by_milp(engine)
    if len(plan.positions) != count or abs((plan.least_margin_deg or 0.0) - margin) > 1e-6:
        ours = f"{len(plan.positions)} at {plan.least_margin_deg}"
        raise AssertionError(f"{name}: {ours}, the solver {count} at {margin}")
    starts, lengths = heels(engine)
    pairs = [
        (
            milliseconds(lambda: fewest_positions(engine, CAM, MARGIN_DEG)),
            milliseconds(lambda: safest_by_milp(engine)),
            milliseconds(lambda: fewest_by_milp(starts, lengths, MARGIN_DEG)),
        )
        for _ in range(PAIRS)
    ]
    return [
        Figure(f"{name}, ours", median(ours for ours, _, _ in pairs), "ms"),
        Figure(f"{name}, milp, the same optimum", median(all_ for _, all_, _ in pairs), "ms"),
        Figure(f"{name}, times faster", median(all_ / ours for ours, all_, _ in pairs), "x"),
        Figure(
            f"{name}, times faster than one milp solve for the fewest alone",
            median(one / ours for ours, _, one in pairs),
            "x",
        ),
    ]


def ours_alone(engine: Engine, name: str, pistons_down_deg: float = 0.0) -> Figure:
    """Our time for one engine."""

    def work() -> object:
        return fewest_positions(engine, CAM, MARGIN_DEG, pistons_down_deg=pistons_down_deg)

    work()
    return Figure(name, median(milliseconds(work) for _ in range(PAIRS)), "ms")


def figures() -> list[Figure]:
    """Every figure of this bench.

    Returns:
        Times in milliseconds and ratios.
    """
    growth = [
        ours_alone(make_engine(range(1, cylinders + 1)), f"{cylinders} cylinders, firing evenly")
        for cylinders in (2, 4, 6, 8, 12, 16, 20, 24)
    ]
    odd = oddly_firing(24)
    return [
        *beside_milp(EIGHT, "8 cylinders"),
        *beside_milp(oddly_firing(8), "8 cylinders firing oddly"),
        *growth,
        ours_alone(odd, "24 cylinders firing oddly"),
        ours_alone(odd, "24 cylinders firing oddly, pistons 30° down", 30.0),
        ours_alone(odd, "24 cylinders firing oddly, pistons 60° down", 60.0),
    ]


if __name__ == "__main__":
    for figure in figures():
        print(f"{figure.value:10.2f} {figure.unit:2}  {figure.name}")
