"""Quantities as typed: hand-worked values, refusals in words, round trips."""

import subprocess
import sys
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pint import UnitRegistry

from heelwise.documents.faults import QuantityFault
from heelwise.documents.quantities import (
    LENGTH,
    LENGTHS,
    TORQUE,
    TORQUES,
    degrees,
    factor_by_pint,
    length_mm,
    show_length,
    show_torque,
    torque_nm,
    turns,
)
from heelwise.wording import show_turns

LBF_FT = 0.3048 * 4.4482216152605  # NIST SP 811, B.8


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("7.400 in", 187.96),
        ('7.400"', 187.96),
        ("7.400″", 187.96),
        ("7.400 in.", 187.96),
        ("7.4 Inches", 187.96),
        ("187.96mm", 187.96),
        ("187.96 Millimeters", 187.96),
        ("7-3/8 in", 187.325),
        ("7 3/8 in", 187.325),
        ("7⅜ in", 187.325),
        ("3/8 in", 9.525),
        (".05 in", 1.27),
        ("50 thou", 1.27),
        ("0 in", 0.0),
        ("18.8 cm", 188.0),
        ("1.5 ft", 457.2),
        ("0.5 m", 500.0),
    ],
)
def test_lengths(text: str, mm: float) -> None:
    assert length_mm(text) == mm


@pytest.mark.parametrize(
    "text",
    [
        "25 lb-ft", "25 ft-lb", "25 ft·lb", "25 lb·ft", "25 lbf·ft", "25 lbf-ft", "25 lbf ft",
        "25 ft lbs", "25ft.lbs.", "25 FT-LBS", "25 foot-pounds", "25 pound-feet", "300 in-lb",
        "300 lbf·in", "300 inch-pounds", "25 ft–lb",
    ],
)  # fmt: skip
def test_pound_feet_by_every_name(text: str) -> None:
    assert torque_nm(text) == pytest.approx(25 * LBF_FT, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "nm"),
    [
        ("34 N·m", 34.0),
        ("34 Nm", 34.0),
        ("34 N-m", 34.0),
        ("34 n.m", 34.0),
        ("34 newton metres", 34.0),
        ("2 kgf·m", 19.6133),
        ("2 kg-m", 19.6133),
        ("200 kgf·cm", 19.6133),
        ("3400 N·cm", 34.0),
    ],
)
def test_metric_torques(text: str, nm: float) -> None:
    assert torque_nm(text) == pytest.approx(nm, rel=1e-15)


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        (1, 1.0),
        (1.75, 1.75),
        ("1.75", 1.75),
        ("1 3/4", 1.75),
        ("1-3/4", 1.75),
        ("1¾", 1.75),
        ("7/4", 1.75),
        ("630°", 1.75),
        ("630 deg", 1.75),
        ("1 turn 270°", 1.75),
        ("1 turn, 270 degrees", 1.75),
        ("1 3/4 turns", 1.75),
        ("3 flats", 0.5),
        ("1 turn + 3 flats", 1.5),
        ("0", 0.0),
    ],
)
def test_turns(typed: object, value: float) -> None:
    assert turns(typed) == value


@pytest.mark.parametrize(
    ("typed", "value"), [(30, 30.0), ("30°", 30.0), ("-4.5 deg", -4.5), ("−4.5", -4.5)]
)
def test_degrees(typed: object, value: float) -> None:
    assert degrees(typed) == value


@pytest.mark.parametrize(
    ("text", "problem", "instead"),
    [
        ("7,400 in", "has a comma", "write 7.400 in"),
        ("1,000.5 mm", "has a comma", "8.150 in"),
        ("7.4", "has no unit", '"7.4 in" or "7.4 mm"'),
        (7.4, "isn't a length", "text with its unit"),
        (True, "isn't a length", "8.150 in"),
        (["7.4 in"], "an array isn't a length", "8.150 in"),
        ("25 ft-lb", "is a torque, not a length", "8.150 in"),
        ("5 parsecs", 'unit "parsecs" isn\'t known', "218.5 mm or 8.150 in"),
        ("-1 in", "has a sign", "write it without"),
        ("1e3 mm", "isn't known", "8.150 in"),
        ("1e400 mm", "isn't known", "8.150 in"),
        ("9**9**7 mm", "isn't known", "8.150 in"),
        ("nan mm", "doesn't begin with a number", "8.150 in"),
        ("inf in", "doesn't begin with a number", "8.150 in"),
        ("1_0 in", "isn't a number", "8.150 in"),
        ("1.2.3 in", "isn't a number", "8.150 in"),
        ("٣ mm", "doesn't begin with a number", "8.150 in"),
        ("1/0 in", "isn't a number", "8.150 in"),
        ("1 5/4 in", "isn't a number", "8.150 in"),
        ("99999999999999999999 mm", "too large", "8.150 in"),
        ("", "nothing is written", "8.150 in"),
        pytest.param("1" * 2_000_000 + " mm", "too long", "8.150 in", id="2 MB"),
        ("1 in\x1b[2J", "^[[2J", "8.150 in"),
    ],
)
def test_what_is_no_length_is_refused_in_words(text: object, problem: str, instead: str) -> None:
    with pytest.raises(QuantityFault) as refused:
        length_mm(text)
    assert problem in refused.value.problem
    assert instead in refused.value.instead
    assert "\x1b" not in str(refused.value)
    assert len(str(refused.value)) < 200


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("25", '"25 lbf ft" or "25 N·m"'),
        ("25 ft/lb", "isn't known"),
        ("7.4 in", "is a length, not a torque"),
        ("25 lb", "isn't known"),
    ],
)
def test_what_is_no_torque_is_refused(typed: object, said: str) -> None:
    with pytest.raises(QuantityFault) as refused:
        torque_nm(typed)
    assert said in str(refused.value)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (630, '"630°" for degrees'),
        ("45", '"45°" for degrees'),
        (float("nan"), "isn't a number"),
        (float("inf"), "isn't a number"),
        pytest.param(10**5000, "isn't a number", id="5,001 digits"),
        (-1, "from 0 to 20"),
        ("1 turn 2 turns", "isn't a number of turns"),
        ("1 in", "isn't a number of turns"),
        (True, "isn't a number"),
        (None, "isn't a number"),
    ],
)
def test_what_is_no_turns_is_refused(typed: object, said: str) -> None:
    with pytest.raises(QuantityFault) as refused:
        turns(typed)
    assert said in str(refused.value)


@pytest.mark.parametrize("typed", ["x", "30 mm", "", float("nan"), 1e9, "40000°"])
def test_what_is_no_angle_is_refused(typed: object) -> None:
    with pytest.raises(QuantityFault):
        degrees(typed)


def test_what_was_understood_is_said_back() -> None:
    assert LENGTH.understood('7.400"') == "7.400 in = 187.96 mm"
    assert LENGTH.understood("187.96 mm") == "187.96 mm = 7.400 in"
    assert LENGTH.understood("50 thou") == "50.0 thou = 1.27 mm"
    assert TORQUE.understood("25 ft-lb") == "25.0 lbf ft = 33.9 N·m"
    assert TORQUE.understood("34 Nm") == "34.0 N·m = 25.1 lbf ft"


def test_showing() -> None:
    assert show_length(187.96) == "7.400 in"
    assert show_length(187.96, "mm") == "187.96 mm"
    assert show_torque(21 * LBF_FT) == "21.0 lbf ft"
    assert show_torque(28.47, "N·m") == "28.5 N·m"
    shown = [show_turns(value) for value in (0, 0.5, 1.375, 1.0625, 2, 1.33, -0.5)]
    assert shown == ["0", "1/2", "1 3/8", "1 1/16", "2", "1.33", "-1/2"]


@given(st.integers(0, 393_700), st.sampled_from(["in", "mm"]))
def test_a_length_shown_reads_as_itself(steps: int, unit: str) -> None:
    step = Fraction("25.4") / 1000 if unit == "in" else Fraction(1, 100)
    mm = float(steps * step)
    assert length_mm(show_length(mm, unit)) == mm


@given(st.integers(0, 5_000))
def test_a_torque_shown_reads_as_itself_to_its_last_place(nm: int) -> None:
    assert torque_nm(show_torque(float(nm))) == pytest.approx(nm, abs=0.07)
    assert torque_nm(show_torque(float(nm), "N·m")) == nm


@given(st.integers(0, 320))
def test_sixteenths_of_a_turn_survive_showing(sixteenths: int) -> None:
    value = sixteenths / 16
    assert turns(show_turns(value)) == value
    assert turns(f"{sixteenths * 22.5:.1f}°") == value


@given(st.integers(0, 99), st.integers(0, 63))
def test_a_fraction_is_the_same_with_a_space_a_hyphen_or_as_a_decimal(whole: int, n: int) -> None:
    exact = float((whole + Fraction(n, 64)) * Fraction("25.4"))
    assert length_mm(f"{whole} {n}/64 in") == exact
    assert length_mm(f"{whole}-{n}/64 in") == exact
    assert length_mm(f"{whole + n / 64:.6f} in") == exact


@given(st.text(max_size=80))
def test_any_text_is_a_quantity_or_refused(text: str) -> None:
    for read in (length_mm, torque_nm, turns, degrees):
        try:
            value, refused = read(text), None
        except QuantityFault as fault:
            value, refused = 0.0, fault
        assert abs(value) <= 36_000
        assert refused is None or (refused.problem and refused.instead)


def test_no_name_stands_for_two_units() -> None:
    for measure in (LENGTHS, TORQUES):
        joined = [name for unit in measure.units for name in unit.names]
        assert len(joined) == len(set(joined))


def test_every_factor_is_what_pint_makes_of_its_unit() -> None:
    registry: UnitRegistry[Fraction] = UnitRegistry(non_int_type=Fraction)
    names = {"N·m": "N*m", "N·cm": "N*cm", "lbf ft": "lbf*ft", "lbf in": "lbf*inch"}
    names |= {"kgf·m": "kgf*m", "kgf·cm": "kgf*cm"}
    for measure, base in ((LENGTHS, "mm"), (TORQUES, "N*m")):
        for unit in measure.units:
            one = registry.Quantity(Fraction(1), names.get(unit.label, unit.label))
            assert unit.factor == factor_by_pint(unit.expression) == one.to(base).magnitude


def test_pint_is_imported_only_when_an_unusual_factor_is_needed() -> None:
    code = (
        "import sys; from heelwise.documents import quantities as q; q.turns('1 3/4');"
        "q.length_mm('1 in'); q.torque_nm('21 lbf ft'); q.show_torque(30.0, 'N·m');"
        "early = 'pint' in sys.modules; q.length_mm('7400 thou');"
        "print(early, 'pint' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "True"]
