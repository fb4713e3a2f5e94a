"""The SVG writer: text is only text, arcs end where they should."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelwise.pictures.svg import Svg, number, on_circle
from tests.pictures.engines import SVG, well_formed

HOSTILE = "</text><script>alert(1)</script>\x1b[31m\u202e\x85\"'&"


def test_hostile_text_stays_text() -> None:
    svg = Svg(10, 10, HOSTILE)
    svg.text((1, 1), HOSTILE)
    root = well_formed(svg.done())
    shown = "</text><script>alert(1)</script>^[[31m<U+202E><U+0085>\"'&"
    assert [root.findtext(f"{SVG}title"), root.findtext(f"{SVG}text")] == [shown, shown]


@given(text=st.text(st.characters(exclude_categories=[]), max_size=40))
def test_any_text_gives_well_formed_xml(text: str) -> None:
    svg = Svg(10, 10, text)
    svg.text((1, 1), text)
    well_formed(svg.done())


def test_clock_places() -> None:
    for clock, place in ((0, (0, -2)), (90, (2, 0)), (180, (0, 2)), (270, (-2, 0))):
        assert on_circle((0, 0), 2, clock) == pytest.approx(place, abs=1e-12)


@pytest.mark.parametrize(("sweep", "flag"), [(90, 1), (-90, 0), (350, 1), (-200, 0)])
def test_an_arc_ends_at_its_sweep_and_runs_its_way(sweep: float, flag: int) -> None:
    svg = Svg(10, 10, "")
    svg.arc((0, 0), 5, 30, sweep, "black", 1)
    pieces = re.findall(r"A5 5 0 0 ([01]) (\S+) ([^\s\"]+)", svg.done())
    assert {piece[0] for piece in pieces} == {str(flag)}
    end = on_circle((0, 0), 5, 30 + sweep)
    assert tuple(map(float, pieces[-1][1:])) == pytest.approx(end, abs=0.006)


def test_numbers_are_short_and_never_minus_zero() -> None:
    assert [number(x) for x in (-0.001, 12.5, 3.14159, 7)] == ["0", "12.5", "3.14", "7"]
