"""The rehearsal that answers itself, killed at random moments and gone on with."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.faults.killing import kill_hands_off


def test_killed_at_random_moments_and_gone_on_with_to_sign_off(tmp_path: Path) -> None:
    counts = kill_hands_off(tmp_path, kills=7, seed=11)
    assert counts.kills == 7
    assert counts.signed_off >= 1
    assert counts.told <= counts.entries
    assert counts.recovered >= counts.torn


@pytest.mark.long
def test_killed_a_thousand_times(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    counts = kill_hands_off(tmp_path, kills=1000, seed=12)
    with capsys.disabled():
        print(f"\n{counts}")
    assert counts.kills == 1000
    assert counts.recovered >= counts.torn > 0
