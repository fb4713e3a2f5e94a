"""Units and constants against NIST and scipy."""

from math import isclose

import pytest
from scipy import constants

from heelwise.documents.quantities import length_mm, torque_nm
from heelwise.valvetrain.torque import (
    NM_PER_KGF_M,
    NM_PER_LBF_FT,
    NM_PER_LBF_IN,
)
from heelwise.wording import MM_PER_INCH


def test_nist_sp_811() -> None:
    # NIST SP 811, Appendix B.8: foot pound-force 1.355 818, inch pound-force 0.112 984 8,
    # kilogram-force metre 9.806 65, inch 25.4 mm exactly (values seen as quoted).
    assert isclose(NM_PER_LBF_FT, 1.355818, abs_tol=5e-7)
    assert isclose(NM_PER_LBF_FT, 1.355817948, abs_tol=5e-10)
    assert isclose(NM_PER_LBF_IN, 0.1129848, abs_tol=5e-8)
    assert NM_PER_KGF_M == 9.80665
    assert MM_PER_INCH == 25.4


def test_scipy_constants() -> None:
    assert isclose(NM_PER_LBF_FT, constants.foot * constants.pound_force, rel_tol=1e-12)
    assert isclose(NM_PER_LBF_IN, constants.inch * constants.pound_force, rel_tol=1e-12)
    assert isclose(NM_PER_KGF_M, constants.kilogram_force, rel_tol=1e-12)
    assert isclose(MM_PER_INCH, constants.inch * 1000, rel_tol=1e-12)
    assert isclose(1.0 / NM_PER_LBF_IN, 8.850746, abs_tol=1e-6)  # 1/0.1129848, by hand
    assert isclose(7.233014 * NM_PER_LBF_FT / NM_PER_KGF_M, 1.0, abs_tol=1e-6)  # 9.80665/1.355818


@pytest.mark.parametrize(
    ("newton_metres", "pound_feet"),
    [(30, 22), (28, 21), (27, 20), (28, 22)],  # TM 5-3805-258-24-1: the last as 28 ± 4, 22 ± 3
)
def test_printed_pairs_round_to_two_newton_metres(newton_metres: int, pound_feet: int) -> None:
    assert abs(newton_metres / NM_PER_LBF_FT - pound_feet) <= 1.5


def test_finding_a_printed_pair_may_be_off_by_a_pound_foot() -> None:
    # 28 N·m is 20.65 lbf·ft, printed as 21 in one row of that manual and as 22 in another.
    assert isclose(28.0 / NM_PER_LBF_FT, 20.65, abs_tol=0.005)


def test_tolerances_printed_in_both_units() -> None:
    # 28 ± 4 N·m as 22 ± 3 lbf·ft (TM 5-3805-258-24-1, seen): by hand 25.76 to 33.90 N·m.
    for pound_feet, newton_metres, by_hand in ((19, 24, 25.76), (25, 32, 33.90)):
        assert isclose(by_hand / NM_PER_LBF_FT, pound_feet, abs_tol=0.005)
        assert abs(torque_nm(f"{pound_feet} lbf ft") - newton_metres) <= 2.0


@pytest.mark.parametrize(
    ("typed", "nm"),
    [
        ("22 lbf ft", 22 * constants.foot * constants.pound_force),
        ("25 ft-lb", 25 * constants.foot * constants.pound_force),
        ("250 in-lb", 250 * constants.inch * constants.pound_force),
        ("3.4 kgf m", 3.4 * constants.kilogram_force),
    ],
)
def test_torque_as_typed(typed: str, nm: float) -> None:
    assert isclose(torque_nm(typed), nm, rel_tol=1e-12)


def test_lengths_as_typed() -> None:
    assert isclose(length_mm("7.400 in"), 7.4 * constants.inch * 1000, rel_tol=1e-12)
    assert isclose(length_mm("3/8 in"), 0.375 * constants.inch * 1000, rel_tol=1e-12)
    assert isclose(length_mm("50 thou"), 0.050 * constants.inch * 1000, rel_tol=1e-12)
