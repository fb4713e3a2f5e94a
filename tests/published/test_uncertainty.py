"""Uncertainty against the Guide (GUM), NIST TN 1297, scipy and the uncertainties package."""

from math import inf, isclose, sqrt

import pytest
from scipy import stats

from heelwise.valvetrain.engine import Valve, ValveKind
from heelwise.valvetrain.figures import chance_inside, uniform
from heelwise.valvetrain.travel import worked_out
from heelwise.valvetrain.trials import Reading, fit
from heelwise.wording import MM_PER_INCH


def test_resolution() -> None:
    # GUM 4.3.7 and F.2.2.1: u = δ/√12 = 0.29 δ; δ 0.01 → 0.002887.
    assert isclose(uniform(0.01), 0.002887, abs_tol=5e-7)
    assert isclose(uniform(1.0), 0.29, abs_tol=0.002)
    assert isclose(uniform(0.125), stats.uniform(scale=0.125).std(), rel_tol=1e-12)


@pytest.mark.parametrize("z", [-5.0, -1.96, -0.3, 0.0, 0.5, 1.0, 1.645, 2.0, 4.0])
def test_normal_distribution(z: float) -> None:
    assert isclose(
        chance_inside(0.0, 1.0, -inf, z), float(stats.norm.cdf(z)), rel_tol=1e-9, abs_tol=1e-15
    )


def test_printed_normal_table() -> None:
    # Any printed table: Φ(1) 0.8413, Φ(1.96) 0.9750, Φ(2) 0.9772; GUM G.6.6: k = 2 covers 95 %.
    assert isclose(chance_inside(0.0, 1.0, -inf, 1.0), 0.8413, abs_tol=5e-5)
    assert isclose(chance_inside(0.0, 1.0, -inf, 1.96), 0.9750, abs_tol=5e-5)
    assert isclose(chance_inside(0.0, 1.0, -2.0, 2.0), 0.9545, abs_tol=5e-5)


def test_worked_finding_one_small_step_measures_badly() -> None:
    # One pair .025 in apart, M8x1.25 with ratio 1.7 (.0782 in a turn): .320 turn between two
    # counts in eighths. By hand √2 · (.125/√12) / .320 = 16 %: hence .050 in or more (8 %).
    travel = worked_out(1.25, 1.7)

    def share(step_inch: float) -> float:
        step = step_inch * MM_PER_INCH
        valve = Valve(1, ValveKind.INTAKE)
        pair = [Reading(valve, 174.0, 1.0), Reading(valve, 174.0 + step, 1.0 + step / travel)]
        line = fit(pair, 0.0, 0.0)
        assert line is not None
        return line.uncertainty / line.slope

    assert isclose(share(0.025), 0.16, abs_tol=0.005)
    assert isclose(share(0.025), sqrt(2) * (0.125 / sqrt(12)) / (0.025 / 0.0781612), rel_tol=1e-4)
    assert isclose(share(0.050), 0.08, abs_tol=0.0025)
