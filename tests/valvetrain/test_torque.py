from datetime import date
from math import isclose

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelwise.valvetrain.torque import (
    adapter_setting,
    calibration,
    check_range,
)


def test_adapter_by_hand() -> None:
    assert isclose(adapter_setting(30.0, 400.0, 100.0), 24.0)
    assert adapter_setting(30.0, 400.0, 0.0) == 30.0
    assert isclose(adapter_setting(30.0, 400.0, -100.0), 40.0)


@given(st.floats(1, 500), st.floats(100, 900), st.floats(-50, 300))
def test_the_adapter_gives_the_torque_back(torque: float, wrench: float, adapter: float) -> None:
    setting = adapter_setting(torque, wrench, adapter)
    # The same pull at the grip, once by the lever to the head, once by that to the fastener.
    assert isclose(setting / wrench * (wrench + adapter), torque)
    assert (setting < torque) == (wrench + adapter > wrench)


@pytest.mark.parametrize(
    ("setting", "usable", "words"),
    [
        (9.9, False, "outside"),
        (10.0, True, "a fifth"),
        (19.9, True, "advice"),
        (20.0, True, "holds"),
        (100.0, True, "holds"),
        (100.1, False, "another wrench"),
    ],
)
def test_range(setting: float, usable: bool, words: str) -> None:
    fits, why = check_range(setting, 10.0, 100.0)
    assert fits is usable
    assert words in why


@pytest.mark.parametrize(
    ("today", "cycles", "due"),
    [
        (date(2026, 3, 2), None, False),
        (date(2027, 3, 1), 4999, False),
        (date(2027, 3, 2), None, True),
        (date(2026, 4, 1), 5000, True),
        (date(2026, 3, 1), None, None),
    ],
)
def test_calibration(today: date, cycles: int | None, due: bool | None) -> None:
    answer, why = calibration(date(2026, 3, 2), cycles, today)
    assert answer is due
    assert ("2027-03-02" in why) == (due is not None and cycles != 5000)


def test_a_date_to_come_says_nothing_and_may_have_no_year_after_it() -> None:
    far = date(9999, 12, 31)
    assert calibration(far, None, date(2026, 3, 2))[0] is None
    assert calibration(far, 5000, date(2026, 3, 2))[0] is True


def test_calibration_not_known_or_from_a_leap_day() -> None:
    assert calibration(None, None, date(2026, 1, 1))[0] is None
    worn, why = calibration(None, 6000, date(2026, 1, 1))
    assert worn
    assert "6,000 cycles" in why
    leap, why = calibration(date(2024, 2, 29), None, date(2025, 2, 28))
    assert leap
    assert "2025-02-28" in why


def test_an_adapter_that_points_back_is_shorter_than_its_wrench() -> None:
    with pytest.raises(ValueError, match="points back"):
        adapter_setting(30.0, 400.0, -400.0)


def test_the_least_that_is_allowed() -> None:
    assert check_range(0.5, 0.0, 2.0)[0]
    assert check_range(0.5, None, 2.0)[0]
    assert not check_range(0.5, 1.0, None)[0]
    assert isclose(adapter_setting(0.5, 0.5, 0.5), 0.25)
