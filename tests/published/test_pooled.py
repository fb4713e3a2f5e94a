"""Random effects against a published worked example and an independent computation.

The example: 13 trials of the BCG vaccine against tuberculosis (Colditz and others, JAMA 271, 1994,
698), log risk ratios, with the figures of the DerSimonian-Laird estimate that the documentation of
R's metafor prints for its data set `dat.bcg`: mean -0.7141, standard error 0.1787, tau² 0.3088.
"""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from scipy.optimize import brentq

from heelwise.valvetrain.figures import pooled

BCG = (
    (4, 119, 11, 128),
    (6, 300, 29, 274),
    (3, 228, 11, 209),
    (62, 13536, 248, 12619),
    (33, 5036, 47, 5761),
    (180, 1361, 372, 1079),
    (8, 2537, 10, 619),
    (505, 87886, 499, 87892),
    (29, 7470, 45, 7232),
    (17, 1699, 65, 1600),
    (186, 50448, 141, 27197),
    (5, 2493, 3, 2338),
    (27, 16886, 29, 17825),
)
"""Ill and well among the vaccinated, ill and well among the others."""


def _log_risk_ratio(ill: int, well: int, others_ill: int, others_well: int) -> tuple[float, float]:
    one, other = ill + well, others_ill + others_well
    variance = 1 / ill - 1 / one + 1 / others_ill - 1 / other
    return math.log((ill / one) / (others_ill / other)), math.sqrt(variance)


def test_the_published_example() -> None:
    found = pooled([_log_risk_ratio(*row) for row in BCG])
    assert found.mean == pytest.approx(-0.7141, abs=5e-5)
    assert found.uncertainty == pytest.approx(0.1787, abs=5e-5)
    assert found.between**2 == pytest.approx(0.3088, abs=5e-5)
    assert found.to_come == pytest.approx(math.sqrt(0.3088 + 0.1787**2), abs=1e-4)


def _by_matrices(figures: list[tuple[float, float]]) -> tuple[float, float, float]:
    """The same by what defines it: tau² at which Q is what is expected; then least squares.

    Q = y'My with M the residual weights of the fixed fit, so E[Q] = tr(M (V + tau² I)).
    """
    y = np.array([figure for figure, _ in figures])
    v = np.diag([u**2 for _, u in figures])
    one, w = np.ones(len(y)), np.linalg.inv(v)
    m = w - np.outer(w @ one, w @ one) / (one @ w @ one)
    q = float(y @ m @ y)

    def lacking(tau2: float) -> float:
        return float(np.trace(m @ (v + tau2 * np.eye(len(y))))) - q

    tau2 = brentq(lacking, 0.0, 1e3, xtol=1e-15) if lacking(0.0) < 0 else 0.0
    weight = np.linalg.inv(v + tau2 * np.eye(len(y)))
    variance = 1 / float(one @ weight @ one)
    return variance * float(one @ weight @ y), math.sqrt(tau2), math.sqrt(variance)


@pytest.mark.parametrize("seed", range(40))
def test_an_independent_computation(seed: int) -> None:
    chance = random.Random(seed)
    scatter = chance.choice([0.0, 0.02, 0.2])
    uncertain = [chance.uniform(0.02, 0.2) for _ in range(chance.randint(2, 12))]
    figures = [(2.4 + chance.gauss(0, math.hypot(scatter, u)), u) for u in uncertain]
    found = pooled(figures)
    mean, between, uncertainty = _by_matrices(figures)
    assert found.mean == pytest.approx(mean, abs=1e-9)
    assert found.between == pytest.approx(between, abs=1e-6)
    assert found.uncertainty == pytest.approx(uncertainty, rel=1e-6)


def test_what_cannot_be_pooled_is_refused() -> None:
    for figures in ([], [(2.4, 0.1)], [(2.4, 0.1), (2.5, 0.0)], [(2.4, 0.1), (math.nan, 0.1)]):
        with pytest.raises(ValueError):
            pooled(figures)
