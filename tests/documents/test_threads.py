"""Threads and their pitch (ISO 724, ASME B1.1)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelwise.documents.faults import QuantityFault
from heelwise.documents.quantities import THREAD


@pytest.mark.parametrize(
    ("text", "pitch"),
    [
        ("M8x1.25", 1.25),
        ("M8×1.25", 1.25),
        ("M8 x 1.25 mm", 1.25),
        ("m8-1.25", 1.25),
        ("M10x1", 1.0),
        ("3/8-24", 1.058333),
        ("3/8-24 UNF", 1.058333),
        ('3/8"-24', 1.058333),
        ("7/16-20", 1.27),
        ("5/16-18", 1.411111),
        ("1 1/8-12", 2.116667),
        ("#10-32", 0.79375),
        ("10-32 UNF", 0.79375),
    ],
)
def test_pitches(text: str, pitch: float) -> None:
    assert THREAD.read(text) == pytest.approx(pitch, abs=1e-6)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("M8", "M8x1.25"),
        ("3/8", "3/8-24"),
        ("M8x1,25", "with a point"),
        ("M8x8", "diameter first"),
        ("M8x0", "write it too"),
        ("24-3/8", "M10x1.5"),
        ("3/0-24", "M10x1.5"),
        ("3/8-0", "M10x1.5"),
        ("1.25 mm", "M10x1.5"),
        ("", "M10x1.5"),
        (8, "M10x1.5"),
        pytest.param("M" * 2_000_000, "M10x1.5", id="2 MB"),
    ],
)
def test_a_thread_without_its_pitch_is_refused_with_a_hint(text: object, said: str) -> None:
    with pytest.raises(QuantityFault) as refused:
        THREAD.read(text)
    assert said in refused.value.instead


@given(st.text(alphabet="M0123456789/-x#. UNF", max_size=15))
def test_any_text_is_a_sensible_pitch_or_refused(text: str) -> None:
    try:
        pitch, hint = THREAD.read(text), "-"
    except QuantityFault as fault:
        pitch, hint = 1.0, fault.instead
    assert 0 < pitch < 100
    assert hint
