"""An adjustable checking pushrod's length, measured or by its turns out."""

from math import isclose

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heelwise.documents.faults import QuantityFault
from heelwise.documents.setup_lifters import checking_pushrod_mm

PITCH = 0.050 * 25.4


@pytest.mark.parametrize(
    ("typed", "inches"),
    [
        ("6.975 in", 6.975),
        ("6.800 in + 3 1/2", 6.975),
        ("6.800in+3.5", 6.975),
        ('6.800" + 3-1/2 turns', 6.975),
        ("6.800 in + 1260°", 6.975),
        ("172.72 mm + 3 1/2", 6.975),
        ("6.800 in + 0", 6.8),
    ],
)
def test_both_ways_to_type_it(typed: str, inches: float) -> None:
    assert isclose(checking_pushrod_mm(typed, PITCH), inches * 25.4)


def test_its_own_pitch_is_used() -> None:
    assert isclose(checking_pushrod_mm("170 mm + 2 1/4", 1.25), 172.8125)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("6.800 in +", "nothing is written"),
        ("+ 3 1/2", "nothing is written"),
        ("6.800 + 3 1/2", "6.800"),
        ("6.800 in + 3 1/2 in", "isn't a number of turns"),
        ("6.800 in + 3 + 2", "isn't a number of turns"),
        ("6.800 in + -3", "has a sign"),
        ("6.800 in + 45", "isn't a number of turns"),
        ("3 1/2 + 6.800 in", "3 1/2"),
        ("6.800 in + " + "1" * 70, "too long"),
    ],
)
def test_what_is_wrong_is_named(typed: str, said: str) -> None:
    with pytest.raises(QuantityFault) as refused:
        checking_pushrod_mm(typed, PITCH)
    assert said in refused.value.problem


@settings(deadline=None)
@given(st.text('0123456789 ./+-inm"°', max_size=70))
def test_any_text_is_a_length_or_a_fault(text: str) -> None:
    try:
        found = checking_pushrod_mm(text, PITCH)
    except QuantityFault:
        return
    assert found >= 0
