"""The real program with the system's own calls failing, by strace."""

from __future__ import annotations

import random
import shutil
import subprocess
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from pathlib import Path

import pytest

from heelwise.documents.record import read_record
from tests.faults.killing import Counts, finished
from tests.faults.program import Ended, in_words, run
from tests.faults.watched import Watched

CARD = "single"
FLUSHES, WRITES = 70, 140
"""About as many calls as a whole rehearsal of this card makes."""


@cache
def why_not() -> str:
    """Why strace can't be used here; empty where it can."""
    if shutil.which("strace") is None:
        return "strace is not installed"
    tried = ["strace", "-f", "-o", "/dev/null", "-e", "inject=fsync:error=EIO:when=1", "true"]
    done = subprocess.run(tried, capture_output=True, text=True, check=False)
    return f"strace can't trace here: {done.stderr.strip()}" if done.returncode else ""


def rehearsed(folder: Path, injected: str = "") -> Ended:
    """`rehearse --hands-off --tell`, with a call failing where one is named."""
    call = injected.partition(":")[0]
    strace = ["strace", "-f", "-qq", "--seccomp-bpf", "-o", "/dev/null", "-e", f"trace={call}"]
    before = [*strace, "-e", f"inject={injected}"] if injected else []
    words = ("rehearse", "--hands-off", "--tell", "--folder", folder, "--engine", CARD)
    return run(*words, before=before)


def moments(calls: int, seed: int, many: int) -> list[int]:
    return sorted(random.Random(seed).sample(range(1, calls), many))


@pytest.mark.skipif(bool(why_not()), reason=why_not() or "strace works")
@pytest.mark.parametrize("error", ["EINVAL", "ENOSYS", "EIO"])
def test_a_network_folder_that_flushes_nothing_keeps_nothing_and_is_told(
    error: str, tmp_path: Path
) -> None:
    ended = rehearsed(tmp_path, f"fsync:error={error}:when=1+")
    in_words(ended)
    assert ended.code == 1
    assert ended.told == []
    assert list(tmp_path.glob("*.toml")) == []


TOLD = {"fsync": "the drive reported an error", "write": "the disk is full"}
CASES = [
    *(f"fsync:error=EIO:when={n}" for n in moments(FLUSHES, 31, 10)),
    *(f"write:error=ENOSPC:when={n}" for n in moments(WRITES, 32, 10)),
]


def check_one(folder: Path, injected: str) -> None:
    """Run into one failing call, and look at what was told and what is there."""
    folder.mkdir()
    watched = Watched(folder)
    ended = rehearsed(folder, injected)
    in_words(ended)
    watched.look(ended.told)
    assert ended.code in (0, 1), injected
    if ended.code == 1:
        assert TOLD[injected[:5]] in ended.said, injected
    path = watched.path
    if path is not None:
        assert read_record(path).entries[-1].number == watched.count


@pytest.mark.skipif(bool(why_not()), reason=why_not() or "strace works")
def test_twenty_calls_that_fail_are_told_and_nothing_kept_is_lost(tmp_path: Path) -> None:
    assert len(CASES) == 20
    with ThreadPoolExecutor(2) as pool:
        folders = [tmp_path / str(number) for number in range(len(CASES))]
        for _ in pool.map(check_one, folders, CASES):
            pass


@pytest.mark.skipif(bool(why_not()), reason=why_not() or "strace works")
def test_a_drive_that_fails_for_good_keeps_what_was_told_and_can_be_gone_on_with(
    tmp_path: Path,
) -> None:
    folder = tmp_path / "builds"
    folder.mkdir()
    watched = Watched(folder)
    ended = rehearsed(folder, "fsync:error=EIO:when=30+")
    in_words(ended)
    assert ended.code == 1
    assert "entry 29 was not kept: the drive reported an error" in ended.said
    assert ended.told[-1] == 28
    watched.look(ended.told)
    assert watched.count == 28
    again = rehearsed(folder)
    in_words(again)
    assert again.code == 0
    watched.look(again.told)
    finished(watched, Counts())
