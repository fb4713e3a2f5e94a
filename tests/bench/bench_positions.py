"""How long the fewest positions take, beside scipy's mixed-integer solver finding the same.

The solver is asked in its best form: a set
cover over the ends of the free arcs, its table made with numpy, and for the safest of the fewest
a bisection over the margins that can be the answer, one solve each. Both must come to the same
optimum, or the run fails. Times are medians of pairs, taken in turn.
"""

from __future__ import annotations

import random
import time
from collections.abc import Iterator
from dataclasses import replace
from statistics import median

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp

from heelwise.valvetrain.cam import Cam, Timing, events_from_timing, heel_arc
from heelwise.valvetrain.engine import Engine, make_engine
from heelwise.valvetrain.positions import fewest_positions
from tests.bench.timing import PAIRS, Figure, against

CALLS = 10
TIMES_FASTER = 100.0
MOST_MS = 20.0
MARGIN_DEG = 10.0
CAM = Cam(events_from_timing(Timing(268.0, 274.0, 113.0, 109.0)), at_lift_mm=0.1524)
EIGHT = make_engine([1, 8, 4, 3, 6, 5, 7, 2])
Floats = NDArray[np.float64]


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


def ours(engine: Engine, pistons_down_deg: float = 0.0) -> float:
    """Seconds our own takes for one engine; so few that several calls are timed together."""
    begun = time.perf_counter()
    for _ in range(CALLS):
        fewest_positions(engine, CAM, MARGIN_DEG, pistons_down_deg=pistons_down_deg)
    return (time.perf_counter() - begun) / CALLS


def beside_milp(engine: Engine, name: str) -> Iterator[Figure]:
    """The solver's time as a ratio to ours, in turn, after both were seen to agree."""
    plan = fewest_positions(engine, CAM, MARGIN_DEG)
    count, margin = safest_by_milp(engine)
    if len(plan.positions) != count or abs((plan.least_margin_deg or 0.0) - margin) > 1e-6:
        mine = f"{len(plan.positions)} at {plan.least_margin_deg}"
        raise AssertionError(f"{name}: {mine}, the solver {count} at {margin}")
    starts, lengths = heels(engine)
    faster = against(
        f"{name}: times faster than milp for the same optimum",
        lambda: safest_by_milp(engine),
        lambda: ours(engine),
        TIMES_FASTER,
    )
    yield replace(faster, at_least=True)
    yield against(
        f"{name}: times faster than one milp solve for the fewest alone",
        lambda: fewest_by_milp(starts, lengths, MARGIN_DEG),
        lambda: ours(engine),
        None,
    )


def grown(engine: Engine, name: str, pistons_down_deg: float = 0.0) -> Figure:
    """Our time for one engine as a ratio to that for two cylinders."""
    two = make_engine([1, 2])
    return against(
        f"{name}, against 2 cylinders",
        lambda: ours(engine, pistons_down_deg),
        lambda: ours(two, pistons_down_deg),
        None,
    )


def within(engine: Engine, name: str, pistons_down_deg: float = 0.0) -> Figure:
    """Our time for one engine in milliseconds, which must be below a fixed number of them."""
    took = median(ours(engine, pistons_down_deg) for _ in range(PAIRS)) * 1000.0
    return Figure(f"{name}: milliseconds", took, MOST_MS, f"{took:.2f} ms")


def figures() -> Iterator[Figure]:
    """Every figure of this bench."""
    yield from beside_milp(EIGHT, "8 cylinders")
    yield from beside_milp(oddly_firing(8), "8 cylinders firing oddly")
    odd = oddly_firing(24)
    for down in (0.0, 30.0, 60.0):
        yield within(odd, f"24 cylinders firing oddly, pistons {down:g}° down", down)
    for down in (0.0, 30.0):
        for cylinders in (4, 6, 8, 12, 16, 20, 24):
            engine = make_engine(range(1, cylinders + 1))
            yield grown(engine, f"{cylinders} cylinders, pistons {down:g}° down", down)
