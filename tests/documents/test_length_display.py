"""Lengths in a text in another unit: hand-worked values, and what is left alone."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelwise.documents.length_display import (
    AS_WRITTEN,
    INCHES,
    MILLIMETRES,
    in_unit,
    number_in,
    other_unit,
    with_other,
)
from heelwise.documents.quantities import length_mm, show_length
from heelwise.wording import rounded

UNITS = (AS_WRITTEN, INCHES, MILLIMETRES)


@pytest.mark.parametrize(
    ("written", "shown"),
    [
        ("7.400 in", "187.96 mm"),  # 7.4 x 25.4 = 187.96
        ('7.400"', "187.96 mm"),
        ("7.400 inches", "187.96 mm"),
        ("0.052 in", "1.32 mm"),  # 1.3208
        ("0.0563 in", "1.430 mm"),  # 1.43002
        ("0.001 in", "0.025 mm"),  # 0.0254: a hundredth would say 0.03
        ("0.000 in", "0.00 mm"),
        ("-0.014 in", "-0.36 mm"),  # 0.3556
        ("4.5 in", "114.30 mm"),
        ("try 7.425 in: expect about 0.81 turns", "try 188.60 mm: expect about 0.81 turns"),
        ("between 0.014 in and 0.016 in.", "between 0.36 mm and 0.41 mm."),
        ("0.051 in or more longer, 1E: 7.374 in.", "1.30 mm or more longer, 1E: 187.30 mm."),
        ("INSIDE (0.51 to 1.02). Preload 0.060 in", "INSIDE (0.51 to 1.02). Preload 1.52 mm"),
        ("0.050 in a turn, 0.050 in each", "1.27 mm a turn, 1.27 mm each"),
        ("0.05 in a turn", "1.27 mm a turn"),
        ("0.050 in (0.060 in)", "1.27 mm (1.52 mm)"),
        ("0.050 in (1.52 mm)", "1.27 mm (1.52 mm)"),  # two lengths, not one told twice
    ],
)
def test_inches_in_millimetres(written: str, shown: str) -> None:
    assert in_unit(written, MILLIMETRES) == shown


@pytest.mark.parametrize(
    ("written", "shown"),
    [
        ("187.96 mm", "7.400 in"),
        ("248.9 mm", "9.799 in"),  # 248.9 / 25.4 = 9.79921
        ("1.430 mm", "0.0563 in"),
        ("pitch 1.25 mm, ratio 1.6", "pitch 0.049 in, ratio 1.6"),
    ],
)
def test_millimetres_in_inches(written: str, shown: str) -> None:
    assert in_unit(written, INCHES) == shown


@pytest.mark.parametrize(
    "text",
    [
        "7.400 in = 187.96 mm",
        "0.078 in (1.99 mm) a turn is used",
        "187.96 mm (7.400 in)",
        "like 0.012 in or 0.30 mm",
        "gap 0.204 in (5.18 mm) to 0.272 in (6.91 mm)",
        "5 in a row",
        "1.5 in a row, 2.5 in all",
        "0.75 in the engine",
        "1 3/8 in that place",
        "valve 5 in 16",
        "M8x1.25",
        "M8x1.25 mm",
        "3/8-24",
        "5/16 ends",
        "250.5 in-lb",
        "18.2 in lb, 18.2 in lbs",
        "0.014 to 0.016 in",
        "0.014-0.016 in",
        "7 to 7.400 in",
        "1.62, 1.63 in",
        "270.5° in all",
        "tug-7.400 in.toml",
        "1.25 turns",
        "v1.25 in",
        "7.400 inch-pounds",
        "",
    ],
)
@pytest.mark.parametrize("unit", UNITS)
def test_left_alone(text: str, unit: str) -> None:
    assert in_unit(text, unit) == text


@pytest.mark.parametrize(
    ("typed", "beside", "number"),
    [
        ("7.400 in", "7.400 in = 187.96 mm", "187.96"),
        ("7 3/8 in", "7 3/8 in = 187.33 mm", "187.33"),
        ("15 thou", "15 thou = 0.38 mm", "0.38"),
        ("187.5 mm", "187.5 mm", "187.5"),
        ("none", "none", "none"),
        ("1 3/8 turns", "1 3/8 turns", "1"),
    ],
)
def test_a_typed_length_stands_as_typed(typed: str, beside: str, number: str) -> None:
    assert with_other(typed, MILLIMETRES) == beside
    assert number_in(typed, MILLIMETRES) == number
    assert with_other(typed, AS_WRITTEN) == typed
    assert number_in(typed, AS_WRITTEN) == typed.split()[0]


def test_a_half_is_rounded_one_way_however_it_was_added_up() -> None:
    """7.375 x 25.4 = 187.325; eleven steps of 0.025 in from 7.1 in come out a little above."""
    added = (7.1 + 11 * 0.025) * 25.4
    assert {in_unit("7.375 in", "mm"), show_length(7.375 * 25.4, "mm")} == {"187.33 mm"}
    assert {show_length(added, "mm"), show_length(length_mm("7.375 in"), "mm")} == {"187.33 mm"}


@pytest.mark.parametrize("value", [1e30, -1e300, float("inf"), 0.0, -1e-12])
def test_any_number_can_be_written(value: float) -> None:
    assert float(rounded(value, 2)) == pytest.approx(value, abs=0.005)


def test_the_key_goes_from_inches_to_millimetres_and_back() -> None:
    assert other_unit(AS_WRITTEN) == MILLIMETRES
    assert other_unit(other_unit(AS_WRITTEN)) == INCHES


LENGTHS = st.builds(
    lambda mm, unit: show_length(mm, unit), st.floats(0, 400), st.sampled_from(["in", "mm"])
)
WORDS = st.sampled_from(
    ["try", "5 in a row", "M8x1.25", "(", ")", "=", "to", "or", ", ", "and", "1 3/8", "0.81", "1E:"]
)
TEXTS = st.lists(st.one_of(LENGTHS, WORDS), max_size=8).map(" ".join)


@given(text=TEXTS, unit=st.sampled_from(UNITS))
def test_once_is_as_good_as_twice(text: str, unit: str) -> None:
    once = in_unit(text, unit)
    assert in_unit(once, unit) == once


@given(text=TEXTS)
def test_inches_stay_as_written_in_inches(text: str) -> None:
    text = text.replace("mm", "in")
    assert in_unit(text, INCHES) == text


@given(text=st.text(alphabet=st.characters(exclude_characters="."), max_size=60))
def test_a_text_without_decimals_is_left(text: str) -> None:
    assert in_unit(text, MILLIMETRES) == text
    assert in_unit(text, INCHES) == text


@given(
    text=st.text(alphabet='0123456789. inmm"x/-(=),to', max_size=40), unit=st.sampled_from(UNITS)
)
def test_any_text_keeps_everything_but_its_lengths(text: str, unit: str) -> None:
    number = r"[0-9]+\.[0-9]+(?: inch(?:es)?| in| mm|\")"
    assert re.sub(number, "#", in_unit(text, unit)) == re.sub(number, "#", text)


@given(
    ten_thousandths=st.integers(0, 1_000_000),
    places=st.sampled_from([3, 4]),
    unit=st.sampled_from([INCHES, MILLIMETRES]),
)
def test_there_and_back_within_the_last_decimal(
    ten_thousandths: int, places: int, unit: str
) -> None:
    typed = f"{ten_thousandths / 10_000:.{places}f} {unit}"
    there = in_unit(typed, other_unit(unit) if unit == MILLIMETRES else MILLIMETRES)
    factor = Fraction(254, 10)
    decimals = len(there.split()[0].partition(".")[2])
    step = 10.0**-decimals * (1.0 if there.endswith("mm") else float(factor))
    assert abs(length_mm(there) - length_mm(typed)) <= step / 2 + 1e-9
    back = in_unit(there, unit)
    assert abs(length_mm(back) - length_mm(typed)) <= step / 2 + last_step(back) / 2 + 1e-9


def last_step(written: str) -> float:
    """What one more in the last decimal is, in mm."""
    number, unit = written.split()
    step = 10.0 ** -len(number.partition(".")[2])
    return step * (25.4 if unit == INCHES else 1.0)
