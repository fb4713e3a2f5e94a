"""Two programs at one record: one writes, the other is told who and since when."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

from heelwise.documents.record import open_record
from heelwise.storage.errors import Held
from tests.faults.killing import Counts, finished
from tests.faults.program import Ended, command, environment, in_words, run
from tests.faults.terminal import Terminal
from tests.faults.twin import Twin
from tests.faults.walking_in_a_terminal import LineHands
from tests.faults.watched import Watched

OPEN = r"AR has it open since \d{4}-\d\d-\d\dT\d\d:\d\d:\d\d[+-]\d\d:\d\d \(process \d+ on .+\)"

NO_NOTE = "another program has it open"
"""Told in the moment between taking the lock and leaving a note."""
TAKEN = "a file of that name is there"


def holding(folder: Path) -> Terminal:
    """A rehearsal at its first question."""
    terminal = Terminal("rehearse", "--plain", "--folder", folder, "--engine", "single")
    terminal.until("a question", lambda: terminal.out.endswith(b"\r\n> "))
    return terminal


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_the_second_is_told_who_and_since_when_and_writes_nothing(tmp_path: Path) -> None:
    with holding(tmp_path) as first:
        path = Watched(tmp_path).path
        assert path is not None
        before = contents(tmp_path)
        hands_off = ("rehearse", "--hands-off", "--tell", "--folder", tmp_path)
        for words in ((path, "--plain", "--by", "CD"), (*hands_off, "--engine", "single")):
            second = run(*words)
            in_words(second)
            assert second.code == 1
            assert re.search(OPEN, second.said), second.said
            assert str(path) in second.said
            assert second.told == []
            assert contents(tmp_path) == before
        assert run("sheet", path).code == 0
        assert contents(tmp_path) == before
        twin, hands = Twin(path), LineHands(first)
        hands.answer(twin)
        twin.answered()
        first.until("the next question", lambda: b"kept 2\r\n" in first.out)


def test_the_full_screen_opens_it_to_read_only(tmp_path: Path) -> None:
    with holding(tmp_path):
        path = Watched(tmp_path).path
        assert path is not None
        before = contents(tmp_path)
        with Terminal(path) as second:
            second.until("who has it", lambda: "AR has it open" in second.shown)
            assert "Read only" in second.shown
            second.type("y\r1\r")
            second.until("no answer taken", lambda: "AR has it open" in second.shown)
            second.type("\x1b[21~")
            assert second.ended() == 0
        assert contents(tmp_path) == before


def test_what_a_killed_holder_had_open_is_taken_over(tmp_path: Path) -> None:
    first = holding(tmp_path)
    path = Watched(tmp_path).path
    assert path is not None
    first.kill()
    with open_record(path, "CD") as record:
        assert len(record.entries) == 1
        with pytest.raises(Held) as refused:
            open_record(path, "EF")
        assert "this program" in refused.value.problem


def raced(folder: Path, many: int) -> list[Ended]:
    """Start so many rehearsals of one folder at once, and wait for all."""
    words = ("rehearse", "--hands-off", "--tell", "--folder", folder, "--engine", "single")
    runners = [
        subprocess.Popen(
            command(*words),
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            env=environment(),
        )
        for _ in range(many)
    ]
    said = [runner.communicate() for runner in runners]
    return [
        Ended(runner.returncode, out, err) for runner, (out, err) in zip(runners, said, strict=True)
    ]


def check_race(folder: Path, many: int) -> int:
    """Every entry told was told by one alone, and all are there; how many got to write."""
    folder.mkdir()
    watched = Watched(folder)
    runs = raced(folder, many)
    for ended in runs:
        in_words(ended)
        if ended.code:
            assert re.search(f"{OPEN}|{NO_NOTE}|{TAKEN}", ended.said), ended.said
    watched.look(sorted(number for ended in runs for number in ended.told))
    finished(watched, Counts())
    return sum(bool(ended.told) for ended in runs)


def test_of_racing_starters_never_two_write(tmp_path: Path) -> None:
    assert check_race(tmp_path / "builds", 3) >= 1


@pytest.mark.long
def test_of_many_racing_starters_never_two_write(tmp_path: Path) -> None:
    for number in range(40):
        assert check_race(tmp_path / str(number), 2 + number % 4) >= 1
