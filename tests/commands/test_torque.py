"""`torque`: conversions against NIST SP 811 (B.8: lbf·ft = 1.355 818 N·m) and the adapter rule."""

from math import isclose

import pytest

from tests.commands.running import Runner


@pytest.mark.parametrize("typed", ["25 lb-ft", "25 ft-lb", "25 lbf ft", "25 lbf·ft", "25 ft·lb"])
def test_pounds_as_the_trade_writes_them(heelwise: Runner, typed: str) -> None:
    found = heelwise("torque", typed, "--json").json
    assert found["setting_lbf_ft"] == pytest.approx(25.0)
    assert found["setting_nm"] == pytest.approx(25 * 1.355818, rel=1e-6)


def test_inch_pounds_and_kilograms(heelwise: Runner) -> None:
    """240 lbf·in is 20 lbf·ft; 1 kgf·m is 9.80665 N·m (NIST SP 811)."""
    found = heelwise("torque", "240 in-lb", "--json").json
    assert found["setting_lbf_ft"] == pytest.approx(20.0)
    assert found["setting_lbf_in"] == pytest.approx(240.0)
    found = heelwise("torque", "3 kgf m", "--json").json
    assert found["setting_nm"] == pytest.approx(29.41995)
    assert found["setting_kgf_m"] == pytest.approx(3.0)


def test_unquoted_words_are_joined(heelwise: Runner) -> None:
    quoted, words = heelwise("torque", "30 lbf ft", "--json"), ("torque", "30", "lbf", "ft")
    assert heelwise(*words, "--json").json == quoted.json


def test_an_adapter_pointing_back_raises_the_setting(heelwise: Runner) -> None:
    """T·L/(L+E) with L = 18 in, E = -2 in: 18/16 of the torque."""
    words = ("--wrench-length", "18 in", "--adapter", "-2 in", "--json")
    assert isclose(heelwise("torque", "40", "N·m", *words).json["setting_nm"], 45.0)


def test_an_adapter_in_line_lowers_the_setting(heelwise: Runner) -> None:
    """T·L/(L+E): 25 × 18/20 = 22.5, the same whatever unit the lengths are in."""
    words = ("--wrench-length", "18 in", "--adapter", "50.8 mm", "--json")
    assert heelwise("torque", "25 lb-ft", *words).json["setting_lbf_ft"] == pytest.approx(22.5)


@pytest.mark.parametrize(
    "words",
    [
        ("25",),
        ("25 lb",),
        ("25,5 N·m",),
        ("lots",),
        ("nan N·m",),
        ("25 N·m", "--adapter", "2 in"),
        ("25 N·m", "--wrench-length", "18", "--adapter", "2 in"),
        ("25 N·m", "--wrench-length", "0 in", "--adapter", "2 in"),
    ],
)
def test_what_can_not_be_read_is_usage(heelwise: Runner, words: tuple[str, ...]) -> None:
    ran = heelwise("torque", *words)
    assert ran.code == 2
    assert ran.err
    assert not ran.out


def test_people_are_told_how_it_was_worked_out(heelwise: Runner) -> None:
    ran = heelwise("torque", "34 N·m", "--wrench-length", "400 mm", "--adapter", "50 mm")
    assert "T·L/(L+E)" in ran.out
    assert "set 22.3 lbf ft = 30.2 N·m" in ran.out


WRENCH = '[wrench]\nname = "click"\nleast = "8 lbf ft"\nmost = "60 lbf ft"\n'


def test_a_setups_torque_by_its_own_wrench(heelwise: Runner) -> None:
    """20 lbf·ft with 18 in and 2 in in line: 20 × 18/20 = 18."""
    wrench = WRENCH + 'length = "18 in"\nadapter = "2 in"\n'
    ran = heelwise("torque", "--setup", heelwise.setup(add=wrench), "--json")
    assert ran.code == 0
    assert ran.json["setting_lbf_ft"] == pytest.approx(18.0)
    assert ran.json["torque_nm"] == pytest.approx(20 * 1.355818, rel=1e-6)
    assert ran.json["usable"] is True
    assert ran.json["calibration_due"] is None
    assert len(ran.json["notes"]) == 2


@pytest.mark.parametrize(
    ("wrench", "usable", "due"),
    [
        (WRENCH.replace("8 lbf ft", "30 lbf ft"), False, None),
        (WRENCH + "calibrated = 2001-01-01\n", True, True),
        (WRENCH + "cycles = 5000\n", True, True),
        (WRENCH + "calibrated = 2099-12-31\n", True, None),
        (WRENCH.replace('most = "60 lbf ft"\n', "").replace("8 lbf", "90 lbf"), False, None),
        (WRENCH.replace('least = "8 lbf ft"\n', "").replace("60 lbf", "5 lbf"), False, None),
    ],
)
def test_a_wrench_that_will_not_do_ends_with_one(
    heelwise: Runner, wrench: str, usable: bool, due: bool | None
) -> None:
    ran = heelwise("torque", "--setup", heelwise.setup(add=wrench), "--json")
    assert ran.code == 1
    assert (ran.json["usable"], ran.json["calibration_due"]) == (usable, due)


@pytest.mark.parametrize(
    ("wrench", "told"),
    [
        (WRENCH + 'length = "18 in"\n', "wrench.adapter: is missing"),
        (WRENCH.replace("60 lbf ft", "8 lbf ft"), "wrench.most: isn't more than least"),
    ],
)
def test_a_wrench_that_can_not_be(heelwise: Runner, wrench: str, told: str) -> None:
    ran = heelwise("torque", "--setup", heelwise.setup(add=wrench))
    assert ran.code == 1
    assert told in ran.err


def test_setting_or_setup_but_not_both(heelwise: Runner) -> None:
    for words in ((), ("20 lbf ft", "--setup", "s.toml")):
        assert heelwise("torque", *words).code == 2
