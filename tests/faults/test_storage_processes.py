"""Real processes: killed at any moment, racing for one record, starved of room."""

import os
import random
import subprocess
import sys
import time
from pathlib import Path
from typing import IO

import pytest

from heelwise.storage.errors import Held
from heelwise.storage.journal import Journal, read
from heelwise.storage.seals import State
from tests.storage.builder import tokens
from tests.storage.records import record

ROOT = Path(__file__).parents[2]
WORKER = ROOT / "tests" / "storage" / "worker.py"


def started(*arguments: object) -> "subprocess.Popen[str]":
    there = os.pathsep.join([str(ROOT), str(ROOT / "src")])
    return subprocess.Popen(
        [sys.executable, str(WORKER), *map(str, arguments)],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": there},
    )


def lines(out: IO[str] | None) -> list[str]:
    """Whole lines; one that a kill cut short says nothing."""
    assert out is not None
    return out.read().split("\n")[:-1]


def kept(said: list[str]) -> list[str]:
    return [line.removeprefix("kept ") for line in said if line.startswith("kept ")]


def killed_after(path: Path, seconds: float, name: str) -> list[str]:
    """Run a worker on a record, kill it, and give what it said was kept."""
    process = started(path, name, 0)
    assert process.stdout is not None
    assert process.stdout.readline().startswith("open ")
    time.sleep(seconds)
    process.kill()
    said = lines(process.stdout)
    process.wait()
    return kept(said)


def check_kills(path: Path, times: int, seed: int) -> int:
    """Kill so many times; every entry said to be kept is there once, and nothing is unreadable."""
    path.write_bytes(record(1))
    shown = ["1"]
    moments = random.Random(seed)
    for turn in range(times):
        said = killed_after(path, moments.uniform(0, 0.03), f"turn{turn}")
        found = tokens(path.read_bytes())
        expected = [*shown, *said]
        assert found[: len(expected)] == expected
        assert len(found) <= len(expected) + 1
        assert len(set(found)) == len(found)
        shown = found
    assert [name for name in os.listdir(path.parent) if name.endswith(".toml")] == [path.name]
    return len(shown)


def test_killed_at_random_moments_nothing_kept_is_lost(tmp_path: Path) -> None:
    assert check_kills(tmp_path / "block-1.toml", 12, seed=5) > 12


@pytest.mark.long
def test_killed_a_thousand_times_nothing_kept_is_lost(tmp_path: Path) -> None:
    assert check_kills(tmp_path / "block-1.toml", 1000, seed=6) > 1000


def test_a_living_holder_is_named_and_a_killed_one_is_taken_over_from(tmp_path: Path) -> None:
    path = tmp_path / "block-1.toml"
    path.write_bytes(record(1))
    process = started(path, "first", 0)
    assert process.stdout is not None
    assert process.stdout.readline() == "open 1\n"
    with pytest.raises(Held) as told:
        Journal.open_for_work(path, holder="second")
    assert "this program" not in told.value.problem
    assert "first" in told.value.problem
    assert f"(process {process.pid} " in told.value.problem
    process.kill()
    process.wait()
    process.stdout.close()
    assert path.with_name(".block-1.toml.lock").exists()
    assert path.with_name(".block-1.toml.holder").exists()
    with Journal.open_for_work(path, holder="second"):
        with pytest.raises(Held) as mine:
            Journal.open_for_work(path, holder="third")
        assert "this program" in mine.value.problem


def test_racing_programs_never_both_write(tmp_path: Path) -> None:
    path = tmp_path / "block-1.toml"
    count = 25
    rivals = [started(path, name, count) for name in ("left", "right", "middle")]
    said = [kept(lines(rival.stdout)) for rival in rivals]
    assert [rival.wait() for rival in rivals] == [0, 0, 0]
    found = tokens(path.read_bytes())
    assert read(path)[1].state is State.WHOLE
    assert sorted(found) == sorted(token for tokens_of in said for token in tokens_of)
    assert len(found) == 3 * count + 1  # one of them made the record
    for mine in said:
        assert [token for token in found if token in mine] == mine


def test_a_file_that_may_not_grow_is_told_and_work_goes_on_elsewhere(tmp_path: Path) -> None:
    path = tmp_path / "block-1.toml"
    path.write_bytes(record(2))
    process = started(path, "small", 1, 4 * len(record(1)))
    said = lines(process.stdout)
    assert process.wait() == 0
    told = [line for line in said if line.startswith("told ")]
    assert len(told) == 2
    assert all("was not kept: the file may not grow any more" in line for line in told)
    here = kept(said)[:-1]
    assert tokens(path.read_bytes()) == ["1", "2", *here]
    assert read(path)[1].state is State.TORN
    elsewhere = path.with_name("elsewhere.toml").read_bytes()
    assert tokens(elsewhere) == ["1", "2", *here, "rescued"]
