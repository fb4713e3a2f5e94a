from math import isclose

import pytest

from heelwise.valvetrain.checking import (
    HOW_MEASURED,
    checking_length,
    length_from_lash,
    length_from_zero_lash,
    travel_left,
)


def test_checking_pushrod_by_its_own_pitch() -> None:
    assert isclose(checking_length(165.0, 3.5), 165.0 + 3.5 * 1.27)
    assert isclose(checking_length(165.0, 3.5, 1.0), 168.5)
    assert checking_length(165.0, 0.0) == 165.0
    assert isclose(length_from_zero_lash(168.5, 1.0), 169.5)


def test_solid_checking_lifter_by_hand() -> None:
    # 1.6 mm at the valve is 1.0 mm at the pushrod; the hydraulic cup stands 0.3 mm higher.
    assert isclose(length_from_lash(170.0, 1.6, 1.6, 1.2, 0.3), 171.9)
    assert isclose(length_from_lash(170.0, 0.0, 1.6, 0.0), 170.0)
    assert isclose(length_from_lash(170.0, 1.6, 1.6, 1.2, -0.3), 172.5)


def test_travel_left() -> None:
    assert isclose(travel_left(2.4, 1.6), 1.5)


def test_how_a_length_is_measured_must_be_stated() -> None:
    assert "gauge diameter" in HOW_MEASURED


def test_figures_that_cannot_be() -> None:
    with pytest.raises(ValueError, match="shortest"):
        checking_length(0.0, 1.0)
    with pytest.raises(ValueError, match="pitch"):
        checking_length(165.0, 1.0, 0.0)
    with pytest.raises(ValueError, match="turns"):
        checking_length(165.0, -0.5)
    with pytest.raises(ValueError, match="zero lash"):
        length_from_zero_lash(0.0, 1.0)
    with pytest.raises(ValueError, match="preload"):
        length_from_zero_lash(165.0, -1.0)
    with pytest.raises(ValueError, match="ratio"):
        length_from_lash(165.0, 1.0, 0.0, 1.0)
    with pytest.raises(ValueError, match="lash"):
        length_from_lash(165.0, -1.0, 1.6, 1.0)
    with pytest.raises(ValueError, match="gap"):
        travel_left(-1.0, 1.6)
