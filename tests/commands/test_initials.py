"""Initials wherever they enter: what can't be signed with is refused in one line."""

from __future__ import annotations

from pathlib import Path

import pytest

from heelwise.storage.errors import BadName
from heelwise.storage.names import LONGEST_INITIALS, initials
from heelwise.walk.prompts import Refused
from heelwise.walk.walker import Clock
from tests.faults.program import in_words, run
from tests.screens.pressing import real_build

SETUP = Path(__file__).parents[2] / "sample_builds" / "grain-truck-six.toml"
BAD = ["", "  ", "x" * (LONGEST_INITIALS + 1), "A\x1bB", "A\nB", "\u202eAB", "M\udcfcK"]


@pytest.mark.parametrize("text", ["AB", "  MK ", "é", "Anna-Lena Öst", "x" * LONGEST_INITIALS])
def test_names_and_initials_are_taken(text: str) -> None:
    assert initials(text) == text.strip()


@pytest.mark.parametrize("text", BAD)
def test_what_can_t_be_signed_with_is_refused(text: str) -> None:
    with pytest.raises(BadName):
        initials(text)


@pytest.mark.parametrize("text", BAD)
@pytest.mark.parametrize("plain", [True, False])
def test_the_option_by_refuses_them_in_one_line(plain: bool, text: str, tmp_path: Path) -> None:
    ended = run(*(["--plain"] if plain else []), SETUP, "--folder", tmp_path, "--by", text)
    in_words(ended)
    assert ended.code == 1
    assert len(ended.said.splitlines()) == 1
    assert list(tmp_path.iterdir()) == []


def test_the_line_by_line_walk_asks_again(tmp_path: Path) -> None:
    typed = b"\n  \nM\xfcK\n" + b"x" * 200 + b"\nA\x1bB\nMK\nblock-1\nport side\n1\nquit\n"
    ended = run("--plain", SETUP, "--folder", tmp_path, typed=typed)
    in_words(ended)
    assert ended.code == 0
    assert ended.out.count(b"[!]") == 5
    text = (tmp_path / "block-1.toml").read_text()
    assert 'by = "MK"' in text
    assert 'job = "port side"' in text


@pytest.mark.parametrize("text", BAD)
def test_a_hand_over_refuses_them(text: str, tmp_path: Path) -> None:
    with real_build(tmp_path, Clock()) as session:
        with pytest.raises(Refused):
            session.walker.hand_over(text)
        assert len(session.record.entries) == 1
