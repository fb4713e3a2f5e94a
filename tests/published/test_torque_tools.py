"""Torque wrenches: what standards and manuals say, and printed adapter examples."""

from datetime import date
from math import isclose

import pytest

from heelwise.valvetrain.torque import (
    adapter_setting,
    calibration,
    check_range,
)


@pytest.mark.parametrize(
    ("wanted", "length", "adapter", "setting"),
    [
        (30.0, 12.0, 6.0, 20.0),  # a torque wrench seller's worked example (seen)
        (50.0, 16.0, 2.0, 44.44),  # a wrench's printed instructions (seen)
        (20.0, 12.0, 3.0, 16.0),  # a motorcycle adapter's printed instructions (seen)
    ],
)
def test_adapter_in_line_as_printed(
    wanted: float, length: float, adapter: float, setting: float
) -> None:
    assert isclose(adapter_setting(wanted, length, adapter), setting, abs_tol=0.005)


def test_adapter_in_a_government_manual() -> None:
    # TM 9-254, "Adapter Length Compensation", figure 45: 12 in wrench, 2 in extension, set to
    # 60 lbf·in: 70 lbf·in at the extension (seen).
    assert isclose(adapter_setting(70.0, 12.0, 2.0), 60.0)


def test_recalibration_after_twelve_months_or_five_thousand_cycles() -> None:
    # ISO 6789-1:2017 as cited by makers (seen): whichever comes first.
    new = date(2025, 6, 15)
    assert calibration(new, 4999, date(2026, 6, 14))[0] is False
    assert calibration(new, 4999, date(2026, 6, 15))[0] is True
    assert calibration(new, 5000, date(2025, 6, 16))[0] is True


def test_twenty_per_cent_is_advice() -> None:
    # Tested at 20, 60 and 100 % of range; since 2017 the range begins at the lowest marked
    # value, so a setting below 20 % may be used and is remarked on (as cited, seen).
    assert check_range(19.0, 10.0, 100.0)[0]
    assert "a fifth" in check_range(19.0, 10.0, 100.0)[1]
    assert "a fifth" not in check_range(20.0, 10.0, 100.0)[1]
    assert not check_range(9.0, 10.0, 100.0)[0]
