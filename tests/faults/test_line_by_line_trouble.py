"""Walking line by line while the drive fails: told in words, the answer kept in hand."""

from __future__ import annotations

import errno
import re
import sys
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import pytest

from heelwise.commands.walk_lines import WordWalk
from heelwise.session import PARTLY_KEPT, Session
from tests.faults.walking import HERE, begun, record_in
from tests.storage.failing_files import FailingFiles, HowLong
from tests.storage.memory_files import MemoryFiles

MEND = "again = try here again; FOLDER = go on in another folder; quit: "


class Keyboard:
    """Types what hands and eyes report; what to do about trouble is the test's to say."""

    def __init__(
        self, sitting: Session, out: pytest.CaptureFixture[str], mend: Callable[[], str]
    ) -> None:
        self.seen = self.complaints = ""
        self.typed: list[str] = []
        self._sitting, self._out, self._mend = sitting, out, mend
        self._texts: list[str] = []

    def readline(self) -> str:
        self.look()
        self.typed.append(self._next())
        return self.typed[-1] + "\n"

    def look(self) -> None:
        got = self._out.readouterr()
        self.seen += got.out
        self.complaints += got.err

    @property
    def told(self) -> list[int]:
        """Numbers of the entries told as kept; no typed line end stands before them here."""
        kept = r"^(?:> )?(?:.*: )?kept (\d+)$"
        return [int(number) for number in re.findall(kept, self.seen, re.MULTILINE)]

    def _next(self) -> str:
        if self.seen.endswith(MEND):
            return self._mend()
        if not self.seen.endswith("\n> "):
            return self._texts.pop(0)
        found = self._sitting.sense()
        assert found is not None
        self._texts = list(found.texts)
        return found.answer


def walked(
    files: FailingFiles,
    out: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    mend: Callable[[], str] = lambda: "again",
) -> tuple[Session, Keyboard, int]:
    sitting = Session(begun(HERE, files))
    keyboard = Keyboard(sitting, out, mend)
    monkeypatch.setattr(sys, "stdin", keyboard)
    code = WordWalk(sitting).walk()
    keyboard.look()
    return sitting, keyboard, code


def kinds(files: FailingFiles, path: Path) -> list[str]:
    assert isinstance(files.inner, MemoryFiles)
    files.inner.power_cut()
    return [e.body.kind for e in record_in(files.inner.content(path), path).entries]


def test_one_flush_or_write_that_fails_is_told_and_the_answer_given_again(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    for kind, error in (("sync", errno.EIO), ("write", errno.ENOSPC)):
        healthy = FailingFiles(MemoryFiles(), only=kind)
        walked(healthy, capsys, monkeypatch)
        whole = kinds(healthy, HERE)
        assert whole[-1] == "signed off"
        for number in range(4, healthy.calls + 1, 5):
            files = FailingFiles(MemoryFiles(), number, error, only=kind)
            _, keyboard, code = walked(files, capsys, monkeypatch)
            assert code == 0
            assert files.failed == [kind]
            assert keyboard.seen.count(MEND) == 1
            assert "was not kept: " in keyboard.complaints
            assert "Errno" not in keyboard.complaints
            assert keyboard.told == sorted(set(keyboard.told))
            # Where an answer of two entries was kept by half, the crank is found again by feel.
            kept = [each for each in kinds(files, HERE) if each not in ("felt", "crank")]
            assert kept == [each for each in whole if each not in ("felt", "crank")]
            assert keyboard.told[-1] <= len(kinds(files, HERE))


def test_an_answer_half_kept_is_not_given_to_the_next_question(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Answers that make two entries: the second fails, and what was typed is not typed again."""
    healthy = FailingFiles(MemoryFiles(), only="sync")
    _, keyboard, _ = walked(healthy, capsys, monkeypatch)
    double = [n for before, n in pairwise(keyboard.told) if n - before == 2]
    assert double, "no answer of this walk makes two entries"
    for number in double:
        # Making the record takes one flush of the file.
        files = FailingFiles(MemoryFiles(), number, errno.EIO, only="sync")
        _, keyboard, code = walked(files, capsys, monkeypatch)
        assert code == 0
        assert f"kept {number - 1}\n[look] {PARTLY_KEPT}" in keyboard.seen
        assert kinds(files, HERE)[-1] == "signed off"


def test_a_drive_that_fails_for_good_is_left_for_another_folder(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    files = FailingFiles(MemoryFiles(), 60, errno.EROFS, HowLong.ALL)
    answers = ["again", "/nowhere", "/elsewhere"]

    def mend() -> str:
        if len(answers) == 1:
            files.mend()
        return answers.pop(0)

    sitting, keyboard, code = walked(files, capsys, monkeypatch, mend)
    assert code == 0
    assert keyboard.seen.count(MEND) == 3
    assert sitting.file == Path("/elsewhere/block-1.toml")
    assert "Going on in /elsewhere/block-1.toml." in keyboard.seen
    assert keyboard.complaints.count("the drive is read-only") == 3
    assert kinds(files, sitting.file)[-1] == "signed off"


@pytest.mark.parametrize("word", ["note 1E the cap was loose", "pause", "where moved it"])
def test_a_word_that_keeps_something_is_kept_in_hand_too(
    word: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    files = FailingFiles(MemoryFiles(), only="sync")
    sitting = Session(begun(HERE, files))
    keyboard = Keyboard(sitting, capsys, lambda: "again")
    typed = keyboard._next

    def say_it_once() -> str:
        if keyboard.seen.endswith("\n> ") and sitting.walker.state.crank is not None:
            if word not in keyboard.typed:
                files.fail_at(1, errno.EIO, HowLong.ONCE)
                return word
            return "quit"
        return typed()

    monkeypatch.setattr(keyboard, "_next", say_it_once)
    monkeypatch.setattr(sys, "stdin", keyboard)
    assert WordWalk(sitting).walk() == 0
    keyboard.look()
    assert keyboard.seen.count(MEND) == 1
    made = {"note": "noted", "pause": "paused", "where": "crank lost"}[word.split()[0]]
    assert kinds(files, HERE).count(made) == 1
    assert re.search(r"Left\. The record is .*block-1\.toml\.\n$", keyboard.seen)
