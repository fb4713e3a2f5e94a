"""How often an engine's first order has to be mended, by how much its valves scatter."""

from __future__ import annotations

import pytest

from heelwise.documents.entries import Fitted
from heelwise.rehearsal.engine import make_truth
from tests.rehearsal.driving import rehearsed
from tests.walk.driving import Drive

INCH = 25.4
ENGINES = 40


def answers_to_the_order(drive: Drive) -> int:
    drive.until(lambda prompt: prompt.id == "walk/receive")
    return len(drive.prompts)


def second_orders(scatter_in: float) -> tuple[int, float]:
    """Engines in which Fit asked for another pushrod, and the mean answers to the order."""
    mended, answers = 0, 0
    for seed in range(1, ENGINES + 1):
        drive = rehearsed("v8-18726543", seed, ())
        method = drive.build.method.name
        drive.truth = make_truth(drive.setup, seed, (), method, scatter_mm=scatter_in * INCH)
        answers += answers_to_the_order(drive)
        drive.until(lambda prompt: prompt.phase in ("prove", "sign off"))
        fitted = [f for entry in drive.kept if (f := entry.when(Fitted))]
        mended += any(entry.body.phase != "trial" for entry in fitted)
    return mended, answers / ENGINES


@pytest.mark.long
def test_few_engines_need_a_second_order() -> None:
    plain = second_orders(0.0005)[1]
    for scatter_in, most, more in ((0.003, 4, 8), (0.005, 4, 20), (0.010, 8, 35), (0.015, 14, 45)):
        mended, answers = second_orders(scatter_in)
        assert mended <= most, scatter_in
        assert answers - plain <= more, scatter_in
