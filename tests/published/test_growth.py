"""Thermal growth: handbook coefficients, worked figures, and one chart of lash."""

from math import isclose

import pytest
from scipy.integrate import solve_ivp

from heelwise.valvetrain.growth import MATERIALS, Part, gap_growth, hot_preload, lash_cold

INCH = 25.4


@pytest.mark.parametrize(
    ("name", "per_million"),
    [
        # Callister, Fundamentals of Materials Science and Engineering, Appendix B, Table B.6,
        # pp. 815-816 (seen).
        ("aluminum 356.0", 21.5),
        ("copper C11000", 17.0),
        ("gray iron", 11.4),
        ("stainless steel 304", 17.2),
        ("steel 1020", 11.7),
        ("steel 4140", 12.3),
        # From memory.
        ("aluminum 319.0", 22.0),
    ],
)
def test_coefficients(name: str, per_million: float) -> None:
    assert isclose(MATERIALS[name].per_kelvin * 1e6, per_million)


def test_chrome_molybdenum_steel_is_given_as_a_range() -> None:
    # 4130: about 11 to 12 (from memory); steel alloy 4140 and 4340 both 12.3 in Table B.6.
    assert 11.0 <= MATERIALS["steel 4130"].per_kelvin * 1e6 <= 12.3


def test_metals_of_one_table_keep_their_order() -> None:
    # Table B.6 (seen): irons below steels below stainless 304 below aluminum.
    order = ["gray iron", "steel 1020", "steel 4140", "stainless steel 304", "aluminum 356.0"]
    values = [MATERIALS[name].per_kelvin for name in order]
    assert values == sorted(values)


def grown(stack: str) -> float:
    """8 in of a material and 8 in of 4140 pushrod, 70 K hotter, in inches."""
    part = Part(8 * INCH, MATERIALS[stack], 20.0, 90.0)
    return gap_growth([part], Part(8 * INCH, MATERIALS["steel 4140"], 20.0, 90.0)) / INCH


def test_worked_figures() -> None:
    # By hand: 8 · 70 · (21.5 - 12.3) / 10⁶ = .00515 in; 8 · 70 · (11.4 - 12.3) / 10⁶ = -.00050.
    assert isclose(grown("aluminum 356.0"), 0.0052, abs_tol=5e-5)
    assert isclose(grown("gray iron"), -0.0005, abs_tol=5e-6)


def test_growth_integrated_degree_by_degree() -> None:
    # dL = α·L·dT by scipy.integrate.solve_ivp, each metal for itself: the straight α·L·ΔT
    # leaves out a product of two small numbers, under .1 % of each part's growth.
    def after(per_kelvin: float) -> float:
        run = solve_ivp(lambda _, length: per_kelvin * length, (20, 90), [8.0], rtol=1e-11)
        return float(run.y[0, -1]) - 8.0

    for name, alpha in (("aluminum 356.0", 21.5e-6), ("steel 4140", 12.3e-6)):
        ours = Part(8 * INCH, MATERIALS[name], 20.0, 90.0).growth_mm / INCH
        assert isclose(ours, after(alpha), rel_tol=1e-3)
    assert isclose(grown("aluminum 356.0"), after(21.5e-6) - after(12.3e-6), abs_tol=1e-5)


def test_aluminum_loses_preload_hot_and_iron_gains() -> None:
    # One chart, printed in two magazines (quoted on a mailing list in 2010, seen): set lash .012 in
    # less cold for all aluminum, .002 more for all iron, since it grows hot in the one and shrinks
    # in the other. Lash gained is preload lost, at the pushrod by hand .00515 in and -.00050.
    aluminum = hot_preload(0.050 * INCH, grown("aluminum 356.0") * INCH)
    iron = hot_preload(0.050 * INCH, grown("gray iron") * INCH)
    assert isclose(aluminum.hot_mm / INCH, 0.050 - 0.00515, abs_tol=5e-5)
    assert isclose(iron.hot_mm / INCH, 0.050 + 0.00050, abs_tol=5e-6)
    gone = hot_preload(0.004 * INCH, grown("aluminum 356.0") * INCH)
    assert gone.hot_mm < 0 < iron.hot_mm
    # Hot lash .016 in for all aluminum at ratio 1.5: .016 - 1.5 · .00515 = .0083 cold, and back.
    cold = lash_cold(0.016 * INCH, grown("aluminum 356.0") * INCH, 1.5)
    assert isclose(cold / INCH, 0.0083, abs_tol=5e-5)
    assert isclose(lash_cold(cold, -grown("aluminum 356.0") * INCH, 1.5) / INCH, 0.016)


def test_finding_growth_alone_gives_the_chart_its_sign_and_half_its_size() -> None:
    # Ratio 1.5. Ours: iron +.0008, all aluminum -.0077 in; the chart has +.002 and -.012.
    # It covers hot valves, oil temperature and 8 in of height only in the mean; a cam sheet
    # quoted beside it (.022 cold for .016 hot, iron) has +.006. So: check it hot.
    iron = lash_cold(0.0, grown("gray iron") * INCH, 1.5) / INCH
    aluminum = lash_cold(0.0, grown("aluminum 356.0") * INCH, 1.5) / INCH
    assert isclose(iron, 0.00076, abs_tol=5e-5)
    assert isclose(aluminum, -0.0077, abs_tol=5e-5)
    assert 0 < iron < 0.002
    assert -0.012 < aluminum < -0.006
