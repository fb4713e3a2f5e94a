"""Cells: widths, visible control characters, a grid as an SVG."""

from hypothesis import given
from hypothesis import strategies as st

from heelwise.pictures.cells import (
    EMPTY,
    Cell,
    ValveSign,
    blank,
    columns,
    grid_svg,
    legend,
    no_room,
    put,
)
from tests.pictures.engines import SVG, text_of, well_formed


def test_a_wide_character_takes_two_columns_and_a_mark_stays_with_its_letter() -> None:
    assert columns("a汉b") == ["a", "汉", "", "b"]
    assert columns("e\u0301x") == ["e\u0301", "x"]


def test_control_characters_are_visible_in_cells() -> None:
    grid = blank(12, 1)
    put(grid, 0, 0, "\x1b[31m\u202ex")
    assert text_of(grid) == "^[[31m<U+202"


def test_what_falls_outside_is_left_out() -> None:
    grid = blank(4, 2)
    put(grid, 0, -2, "abcdefgh", "tone")
    put(grid, 9, 0, "never")
    assert text_of(grid) == "cdef\n"
    assert grid[0][0] == Cell("c", "tone")
    assert grid[1] == [EMPTY] * 4


def test_what_has_no_room_says_so_as_far_as_it_can() -> None:
    assert text_of(no_room(30, 2)).strip() == "no room to draw it"
    assert text_of(no_room(7, 1)) == "no room"
    assert no_room(0, 3) == [[], [], []]
    assert no_room(3, 0) == []


def test_no_two_states_look_alike() -> None:
    assert len({sign.shape for sign in ValveSign}) == len(ValveSign)
    assert all(len(sign.shape) == 1 for sign in ValveSign)


def test_a_legend_names_each_state_shown_once_in_the_order_of_progress() -> None:
    shown = legend([ValveSign.PROVED, ValveSign.SHORT, ValveSign.PROVED])
    assert shown == [("▼", "short", "short: too little preload"), ("●", "proved", "proved")]
    assert ValveSign.ACCEPTED.meaning == "accepted as is"


HOSTILE = "</text><script>alert(1)</script>\x1b[31m\u202e\x85\"'&"


def test_hostile_text_in_an_svg_stays_text() -> None:
    grid = blank(90, 1)
    put(grid, 0, 0, HOSTILE)
    root = well_formed(grid_svg(grid, HOSTILE))
    shown = "</text><script>alert(1)</script>^[[31m<U+202E><U+0085>\"'&"
    assert [root.findtext(f"{SVG}title"), root.findtext(f"{SVG}text")] == [shown, shown]


@given(text=st.text(st.characters(exclude_categories=[]), max_size=40))
def test_any_text_gives_a_well_formed_svg(text: str) -> None:
    grid = blank(20, 2)
    put(grid, 1, 0, text, ValveSign.LONG)
    well_formed(grid_svg(grid, text))


def test_an_svg_has_a_bar_for_a_run_of_blocks_and_a_text_for_a_word() -> None:
    """From the cell's place, 10 by 22 units a cell; what is empty at the end is left out."""
    grid = blank(20, 4)
    put(grid, 1, 2, "▄▄▄", "exhaust")
    put(grid, 1, 6, "1I 2E")
    root = well_formed(grid_svg(grid, "a picture"))
    assert (root.attrib["width"], root.attrib["height"]) == ("110", "44")
    assert (root.attrib["role"], root.findtext(f"{SVG}title")) == ("img", "a picture")
    (bar,) = root.iter(f"{SVG}rect")
    assert [bar.attrib[key] for key in ("x", "y", "width", "height")] == ["20", "33", "30", "11"]
    assert [(t.text, t.attrib["x"]) for t in root.iter(f"{SVG}text")] == [
        ("1I", "60"),
        ("2E", "90"),
    ]
