"""Two openers: the second is told who and since when, and a stale lock locks nothing."""

import json
import os
from datetime import datetime
from pathlib import Path

import pytest

from heelwise.storage.errors import Held, NotKept
from heelwise.storage.files import Files
from heelwise.storage.journal import Journal, read
from tests.storage.failing_files import FailingFiles, HowLong
from tests.storage.records import HEAD, entry, record


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "block-1.toml"


def held(path: Path) -> Held:
    with pytest.raises(Held) as refused:
        Journal.open_for_work(path, holder="C. Dee")
    return refused.value


def note(path: Path) -> Path:
    return path.with_name(f".{path.name}.holder")


def test_the_second_opener_is_told_who_and_since_when(path: Path) -> None:
    with Journal.create(path, HEAD, entry(1), holder="A. Bee"):
        assert "this program" in held(path).problem
        found = json.loads(note(path).read_text())
        assert found["pid"] == os.getpid()
        assert datetime.fromisoformat(found["since"]).tzinfo is not None
        note(path).write_text(json.dumps({**found, "pid": 1}))
        elsewhere = held(path)
        assert "this program" not in elsewhere.problem
        assert f"A. Bee has it open since {found['since']}" in elsewhere.problem
        assert read(path)[0] == record(1)
    assert not note(path).exists()
    Journal.open_for_work(path, holder="C. Dee").close()


def test_all_names_of_a_record_share_its_lock(path: Path, tmp_path: Path) -> None:
    other = tmp_path / "other"
    other.mkdir()
    (other / "link.toml").symlink_to(path)
    with Journal.create(path, HEAD, entry(1)):
        assert "this program" in held(other / "link.toml").problem


def test_files_left_by_a_killed_holder_are_no_lock(path: Path) -> None:
    Journal.create(path, HEAD, entry(1)).close()
    path.with_name(".block-1.toml.lock").touch()
    note(path).write_text('{"who": "gone", "pid": 1}')
    with Journal.open_for_work(path, holder="AB"):
        assert json.loads(note(path).read_text())["who"] == "AB"


@pytest.mark.parametrize(
    "text", [b"", b"{", b"[]", b'{"who": "x"}', b"\xff", b"[" * 4000, b" " * 9999, b'{"pid": "x"}']
)
def test_a_note_that_can_t_be_read_still_leaves_a_holder(path: Path, text: bytes) -> None:
    with Journal.create(path, HEAD, entry(1)):
        note(path).write_bytes(text)
        assert "has it open" in held(path).problem


def test_a_note_that_can_t_be_written_keeps_nobody_out(path: Path) -> None:
    class NoNotes(Files):
        def create(self, path: Path) -> int:
            if path.name.endswith(".holder"):
                raise OSError(28, "No space left on device")
            return super().create(path)

    with Journal.create(path, HEAD, entry(1), files=NoNotes(), holder="AB"):
        assert "has it open" in held(path).problem


def test_a_lock_that_can_t_be_made_is_told_in_words(path: Path) -> None:
    path.write_bytes(record(1))
    files = FailingFiles(at=1, error=30, how_long=HowLong.ALL, only="lock")
    with pytest.raises(NotKept) as told:
        Journal.open_for_work(path, files=files)
    assert told.value.problem == "it can't be opened for work: the drive is read-only"
    assert path.read_bytes() == record(1)
