"""The program in a pseudo-terminal, answered by typed keys, killed at random moments."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.faults.walking_in_a_terminal import kill_by_hand


def test_killed_while_answered_line_by_line(tmp_path: Path) -> None:
    counts = kill_by_hand(tmp_path, kills=3, seed=21, plain=True)
    assert counts.kills == 3
    assert counts.signed_off == 1


def test_killed_while_answered_on_the_full_screen(tmp_path: Path) -> None:
    counts = kill_by_hand(tmp_path, kills=2, seed=22, plain=False)
    assert counts.kills == 2


@pytest.mark.long
@pytest.mark.parametrize(("plain", "kills"), [(True, 200), (False, 100)])
def test_killed_hundreds_of_times(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], plain: bool, kills: int
) -> None:
    counts = kill_by_hand(tmp_path, kills, seed=23, plain=plain, card="i2-180")
    with capsys.disabled():
        print(f"\n{counts}")
    assert counts.kills == kills
