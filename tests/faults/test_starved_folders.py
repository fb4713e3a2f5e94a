"""Real folders that are full, read-only or gone, and an output that is full."""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import pytest

from heelwise.documents.record import read_record
from tests.faults.killing import Counts, finished
from tests.faults.program import Ended, in_words, run, told
from tests.faults.terminal import Terminal
from tests.faults.twin import Twin
from tests.faults.walking_in_a_terminal import LineHands
from tests.faults.watched import Watched, entries_in

SMALL = 36 << 10
"""Bytes: more than a record's head, less than a whole record."""
MEND = b"another folder; quit: "


def limited(size: int) -> list[str]:
    """Start a program so that no file of its may grow above a size."""
    code = "import os, resource, sys; size = int(sys.argv[1]); "
    code += "resource.setrlimit(resource.RLIMIT_FSIZE, (size, size)); "
    code += "os.execv(sys.argv[2], sys.argv[2:])"
    return [sys.executable, "-c", code, str(size)]


def mounted(folder: Path, *options: str) -> bool:
    """Mount a drive in memory on a folder, or mount it anew; False where that is not allowed."""
    words = ["mount", "-t", "tmpfs", "-o", ",".join(options), "none", str(folder)]
    return subprocess.run(words, capture_output=True, check=False).returncode == 0


@contextmanager
def small_drive(folder: Path) -> Iterator[list[str]]:
    """A drive without room for a whole record; where none can be mounted, a limit does for it."""
    folder.mkdir()
    if not mounted(folder, f"size={SMALL}"):
        yield limited(SMALL)
        return
    try:
        yield []
    finally:
        subprocess.run(["umount", str(folder)], check=True)


def rehearsed(folder: Path, before: list[str]) -> Ended:
    words = ("rehearse", "--hands-off", "--tell", "--folder", folder, "--engine", "single")
    return run(*words, before=before)


def test_a_full_drive_is_told_and_gone_on_with_once_there_is_room(tmp_path: Path) -> None:
    folder = tmp_path / "small"
    with small_drive(folder) as before:
        watched = Watched(folder)
        ended = rehearsed(folder, before)
        in_words(ended)
        assert ended.code == 1
        assert "was not kept: the " in ended.said
        assert len(ended.told) > 10
        watched.look(ended.told)
        again = rehearsed(folder, before)
        in_words(again)
        assert again.code == 1
        watched.look(again.told)
        if not before:
            assert mounted(folder, "remount", "size=1m")
        roomy = rehearsed(folder, [])
        in_words(roomy)
        assert roomy.code == 0
        watched.look(roomy.told)
        finished(watched, Counts())


def test_a_read_only_folder_can_be_read_and_is_told(tmp_path: Path) -> None:
    folder = tmp_path / "locked"
    with small_drive(folder) as before:
        rehearsed(folder, before)
        path = Watched(folder).path
        assert path is not None
        data = path.read_bytes()
        if before:  # no drive of our own: writing no byte at all comes nearest
            before = limited(0)
        else:
            assert mounted(folder, "remount", "ro")
        ended = rehearsed(folder, before)
        in_words(ended)
        assert ended.code == 1
        assert ended.told == []
        assert str(path) in ended.said
        in_words(run(path, "--plain", before=before))
        assert run("sheet", path, before=before).code == 0
        assert path.read_bytes() == data


class Walked:
    """A rehearsal line by line that goes on in another folder once the drive fails."""

    def __init__(self, folder: Path, before: Sequence[str] = ()) -> None:
        words = ("rehearse", "--plain", "--folder", folder, "--engine", "single")
        self.terminal = Terminal(*words, before=before)
        self.terminal.until("a question", lambda: self.terminal.out.endswith(b"\r\n> "))
        path = Watched(folder).path
        assert path is not None
        self.path = path
        self.twin = Twin(path)
        self.hands = LineHands(self.terminal)

    def kept(self) -> bool:
        """Answer one question; False where the answer could not be kept."""
        self.hands.answer(self.twin)
        self.twin.answered()
        number = len(self.twin.entries)
        troubles = self.terminal.out.count(MEND)
        self.terminal.until(
            f"entry {number}, or trouble",
            lambda: self.in_trouble or (self._told == number and self.hands.shown(self.twin)),
        )
        return self.terminal.out.count(MEND) == troubles

    @property
    def in_trouble(self) -> bool:
        return self.terminal.out.endswith(MEND)

    @property
    def _told(self) -> int:
        return max(told(self.terminal.out), default=0)

    def goes_on_in(self, elsewhere: Path) -> None:
        """Try again in vain, go elsewhere, walk to sign-off, and check both records."""
        assert self.in_trouble
        self.terminal.type("again\n")
        self.terminal.until("more trouble", lambda: self.terminal.out.count(MEND) == 2)
        self.terminal.type(f"{elsewhere}\n")
        number = len(self.twin.entries)
        self.terminal.until(
            f"entry {number}", lambda: self._told == number and self.hands.shown(self.twin)
        )
        while not self.twin.closed:
            assert self.kept()
        assert self.terminal.ended() == 0
        assert b"Traceback" not in self.terminal.out
        record = elsewhere / self.path.name
        assert run("check", record).code == 0
        found = [entry["kind"] for entry in entries_in(record.read_bytes())]
        assert found == [entry.body.kind for entry in self.twin.entries]


def test_a_full_drive_is_left_for_another_folder_line_by_line(tmp_path: Path) -> None:
    folder, elsewhere = tmp_path / "small", tmp_path / "elsewhere"
    elsewhere.mkdir()
    with small_drive(folder) as limit:
        walked = Walked(folder, limit)
        with walked.terminal:
            while walked.kept():
                pass
            shown = walked.twin.entries[:-1]
            assert [e.body for e in read_record(walked.path).entries] == [e.body for e in shown]
            if not limit:  # a limit on files holds in every folder
                walked.goes_on_in(elsewhere)


def test_a_folder_that_vanishes_midway_is_left_for_another(tmp_path: Path) -> None:
    folder, elsewhere = tmp_path / "builds", tmp_path / "elsewhere"
    elsewhere.mkdir()
    walked = Walked(folder)
    with walked.terminal:
        for _ in range(12):
            assert walked.kept()
        shutil.rmtree(folder)
        assert not walked.kept()
        walked.goes_on_in(elsewhere)


@pytest.mark.parametrize("unbuffered", ["", "1"])
def test_a_full_output_is_told_and_the_record_is_whole(tmp_path: Path, unbuffered: str) -> None:
    folder = tmp_path / "builds"
    folder.mkdir()
    full = ["sh", "-c", 'exec "$@" > /dev/full', "sh"]
    words = ("rehearse", "--hands-off", "--tell", "--folder", folder, "--engine", "single")
    ended = run(*words, before=full, PYTHONUNBUFFERED=unbuffered)
    in_words(ended)
    assert ended.code == 1
    assert ended.said.count("\n") == 1
    assert "what is printed can't be written: the disk is full" in ended.said
    path = Watched(folder).path
    assert path is not None
    ended = run("sheet", path, before=full, PYTHONUNBUFFERED=unbuffered)
    in_words(ended)
    assert ended.code == 1
