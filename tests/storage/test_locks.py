"""Two openers: the second is told who and since when, and a stale lock locks nothing."""

import os
from datetime import datetime
from pathlib import Path

import pytest

from heelwise.storage.errors import NotKept
from heelwise.storage.files import RealFiles
from heelwise.storage.journal import Journal, read, who_holds
from heelwise.storage.locks import Held
from tests.storage.failing_files import FailingFiles, HowLong
from tests.storage.records import HEAD, entry, record


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "block-1.toml"


def test_the_second_opener_is_told_who_and_since_when(path: Path) -> None:
    with Journal.create(path, HEAD, entry(1), holder="A. Bee"):
        with pytest.raises(Held) as told:
            Journal.open_for_work(path, holder="C. Dee")
        holder = told.value.holder
        assert holder.who == "A. Bee"
        assert holder.pid == os.getpid()
        assert datetime.fromisoformat(holder.since).tzinfo is not None
        assert "A. Bee has it open since" in told.value.problem
        assert who_holds(path) == holder
        assert read(path)[0] == record(1)
    assert who_holds(path) is None
    assert not path.with_name(".block-1.toml.holder").exists()
    Journal.open_for_work(path, holder="C. Dee").close()


def test_all_names_of_a_record_share_its_lock(path: Path, tmp_path: Path) -> None:
    other = tmp_path / "other"
    other.mkdir()
    (other / "link.toml").symlink_to(path)
    with Journal.create(path, HEAD, entry(1)):
        with pytest.raises(Held):
            Journal.open_for_work(other / "link.toml")
        assert who_holds(other / "link.toml") is not None


def test_files_left_by_a_killed_holder_are_no_lock(path: Path) -> None:
    Journal.create(path, HEAD, entry(1)).close()
    path.with_name(".block-1.toml.lock").touch()
    path.with_name(".block-1.toml.holder").write_text('{"who": "gone", "pid": 1}')
    assert who_holds(path) is None
    with Journal.open_for_work(path, holder="AB"):
        found = who_holds(path)
        assert found is not None
        assert found.who == "AB"


@pytest.mark.parametrize(
    "note", [b"", b"{", b"[]", b'{"who": "x"}', b"\xff", b"[" * 4000, b" " * 9999, b'{"pid": "x"}']
)
def test_a_note_that_can_t_be_read_still_leaves_a_holder(path: Path, note: bytes) -> None:
    with Journal.create(path, HEAD, entry(1)):
        path.with_name(".block-1.toml.holder").write_bytes(note)
        with pytest.raises(Held) as told:
            Journal.open_for_work(path)
        assert "another program has it open" in told.value.problem


def test_asking_who_holds_writes_nothing(path: Path) -> None:
    path.write_bytes(record(1))
    assert who_holds(path) is None
    assert os.listdir(path.parent) == ["block-1.toml"]
    assert who_holds(path.with_name("not-there.toml")) is None


def test_a_note_that_can_t_be_written_keeps_nobody_out(path: Path) -> None:
    class NoNotes(RealFiles):
        def create(self, path: Path) -> int:
            if path.name.endswith(".holder"):
                raise OSError(28, "No space left on device")
            return super().create(path)

    with Journal.create(path, HEAD, entry(1), files=NoNotes(), holder="AB"):
        found = who_holds(path)
        assert found is not None
        assert str(found) == "another program has it open"


def test_a_lock_that_can_t_be_made_is_told_in_words(path: Path) -> None:
    path.write_bytes(record(1))
    files = FailingFiles(at=1, error=30, how_long=HowLong.ALL, only="lock")
    with pytest.raises(NotKept) as told:
        Journal.open_for_work(path, files=files)
    assert told.value.problem == "it can't be opened for work: the drive is read-only"
    assert path.read_bytes() == record(1)
