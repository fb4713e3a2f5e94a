"""Text from outside: nothing hidden, nothing dropped, nothing the terminal would obey."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelwise.plain_text import one_line, plain

ANY_TEXT = st.text(alphabet=st.characters(exclude_categories=()))


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("\x1b[31mred\x1b[0m", "^[[31mred^[[0m"),
        ("\x1b]0;title\x07", "^[]0;title^G"),
        ("a\x00b\x7f", "a^@b^?"),
        ("\x9b31m", "<U+009B>31m"),
        ("abc\u202edef\u2066", "abc<U+202E>def<U+2066>"),
        ("\ud800", "<U+D800>"),
        ("one\ntwo\tthree\r", "one^Jtwo^Ithree^M"),
        ("34 N·m ± ½° 7.400\u2033", "34 N·m ± ½° 7.400\u2033"),
    ],
)
def test_controls_are_shown(text: str, shown: str) -> None:
    assert plain(text) == shown


def test_newlines_and_tabs_stay_where_asked_for_and_nothing_else_does() -> None:
    assert plain("a\n\tb\r\x1b", keep_newlines=True) == "a\n\tb^M^["


@given(ANY_TEXT)
def test_nothing_left_acts_on_a_terminal(text: str) -> None:
    shown = plain(text)
    assert not [c for c in shown if unicodedata.category(c) in ("Cc", "Cs", "Zl", "Zp")]
    assert not [c for c in shown if unicodedata.bidirectional(c) in _BIDI_CONTROLS]
    shown.encode("utf-8")  # and it can be written
    assert plain(shown) == shown


_BIDI_CONTROLS = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}


@given(ANY_TEXT, st.integers(1, 50))
def test_one_line_is_one_plain_line_within_its_limit(text: str, limit: int) -> None:
    shown = one_line(text, limit)
    assert len(shown) <= limit
    assert plain(shown) == shown
    assert len(shown.splitlines()) <= 1


def test_a_cut_is_shown() -> None:
    assert one_line("x" * 2_000_000, 5) == "xxxx…"
    assert one_line("  a \n\n b\t", 5) == "a b"
    assert one_line("abcde", 5) == "abcde"
