"""The SVG writer: text is only text."""

from hypothesis import given
from hypothesis import strategies as st

from heelwise.pictures.svg import Svg, number
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


def test_numbers_are_short_and_never_minus_zero() -> None:
    assert [number(x) for x in (-0.001, 12.5, 3.14159, 7)] == ["0", "12.5", "3.14", "7"]
