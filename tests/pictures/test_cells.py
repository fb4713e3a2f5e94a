"""Cells: widths, visible control characters, plain ASCII, words in place of a picture."""

from heelwise.pictures.cells import (
    EMPTY,
    Cell,
    ascii_text,
    blank,
    centered,
    columns,
    in_ascii,
    put,
    text_of,
    words_in,
)
from heelwise.pictures.roles import ValveSign, glyph, legend


def test_a_wide_character_takes_two_columns_and_a_mark_stays_with_its_letter() -> None:
    assert columns("a汉b") == ["a", "汉", "", "b"]
    assert columns("e\u0301x") == ["e\u0301", "x"]


def test_control_characters_are_visible_in_cells() -> None:
    grid = blank(12, 1)
    put(grid, 0, 0, "\x1b[31m\u202ex")
    assert text_of(grid) == "^[[31m<U+202"


def test_what_falls_outside_is_left_out() -> None:
    grid = blank(4, 2)
    put(grid, 0, -2, "abcdefgh", "role")
    put(grid, 9, 0, "never")
    assert text_of(grid) == "cdef\n"
    assert grid[0][0] == Cell("c", "role")
    assert grid[1] == [EMPTY] * 4


def test_centered_puts_the_middle_at_its_column() -> None:
    grid = blank(9, 1)
    centered(grid, 0, 4, "abc")
    assert text_of(grid) == "   abc"


def test_words_are_wrapped_and_a_cut_shown() -> None:
    assert text_of(words_in("one two three four", 9, 2)) == "one two\nthree…"
    assert text_of(words_in("one two three four", 9, 3)) == "one two\nthree\nfour"
    assert text_of(words_in("turn 90° on", 20, 1, ascii_only=True)) == "turn 90 deg on"
    assert words_in("anything", 0, 3) == [[], [], []]
    assert text_of(words_in("ab", 1, 1)) in ("a", "…")


def test_ascii_has_nothing_else() -> None:
    assert ascii_text("90° · ► ▼ ü 汉") == "90 deg . > v u ?"
    grid = blank(6, 1)
    put(grid, 0, 0, "█░汉│")
    assert text_of(in_ascii(grid)) == "#:??|"


def test_no_two_states_look_alike_in_either_set() -> None:
    for ascii_only in (False, True):
        shapes = [glyph(state, ascii_only) for state in ValveSign]
        assert len(set(shapes)) == len(ValveSign)
        assert all(len(shape) == 1 for shape in shapes)
    assert all(glyph(state, True).isascii() for state in ValveSign)


def test_a_legend_names_each_state_shown_once_in_the_order_of_progress() -> None:
    shown = legend([ValveSign.PROVED, ValveSign.SHORT, ValveSign.PROVED])
    assert shown == [("▼", "short", "short: too little preload"), ("●", "proved", "proved")]
    assert ValveSign.ACCEPTED.meaning == "accepted as is"
