"""A record changed, moved or taken away while it is open; and what was never a record."""

import os
import shutil
from pathlib import Path

import pytest

from heelwise.storage.errors import Changed, Held, NotKept, StorageError, Unreadable
from heelwise.storage.journal import Journal, read
from tests.storage.records import HEAD, entry, record


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "block-1.toml"


def made(path: Path, count: int = 1) -> Journal:
    journal = Journal.create(path, HEAD, entry(1), holder="AB")
    for number in range(2, count + 1):
        journal.append(entry(number))
    return journal


def replaced(path: Path) -> None:
    other = path.with_name("other")
    other.write_bytes(path.read_bytes())
    os.replace(other, path)


def linked_away(path: Path) -> None:
    path.rename(path.with_name("away"))
    target = path.with_name("target")
    target.write_bytes(b"not a record")
    path.symlink_to(target)


def appended_to(path: Path) -> None:
    with path.open("ab") as file:
        file.write(b"x\n")


def shortened(path: Path) -> None:
    os.truncate(path, path.stat().st_size - 1)


def edited(path: Path) -> None:
    """Careless editing with the time put back, as some tools do."""
    before = path.stat()
    data = path.read_bytes().replace(b"token 1", b"token 9")
    with path.open("r+b") as file:
        file.write(data)
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))


def unlocked(path: Path) -> None:
    path.with_name(".block-1.toml.lock").unlink()


@pytest.mark.parametrize(
    "meddle", [replaced, linked_away, appended_to, shortened, edited, unlocked]
)
def test_a_file_changed_by_others_is_not_written_to(path: Path, meddle: object) -> None:
    assert callable(meddle)
    with made(path, 2) as journal:
        meddle(path)
        before = path.read_bytes()
        with pytest.raises(Changed):
            journal.append(entry(3))
        assert path.read_bytes() == before
        with pytest.raises(NotKept):
            journal.append(entry(3))
        with journal.rescue(path.with_name("block-2.toml")) as rescued:
            rescued.append(entry(3))
        assert path.with_name("block-2.toml").read_bytes() == record(3)
        assert path.read_bytes() == before


def test_touching_a_file_does_no_harm(path: Path) -> None:
    with made(path) as journal:
        os.utime(path, ns=(1, 1))
        journal.append(entry(2))
    assert path.read_bytes() == record(2)


def test_an_addition_by_others_is_set_aside_when_mended(path: Path) -> None:
    with made(path, 2) as journal:
        appended_to(path)
        with pytest.raises(Changed):
            journal.append(entry(3))
        journal.recover_in_place()
        assert journal.recovered is not None
        assert path.with_name(journal.recovered.file).read_bytes() == b"x\n"
        journal.append(entry(3))
    assert path.read_bytes() == record(3)


@pytest.mark.parametrize("meddle", [shortened, edited])
def test_mending_refuses_where_what_was_kept_is_not_there(path: Path, meddle: object) -> None:
    assert callable(meddle)
    with made(path, 2) as journal:
        meddle(path)
        before = path.read_bytes()
        with pytest.raises(Changed):
            journal.append(entry(3))
        with pytest.raises(Changed):
            journal.recover_in_place()
        assert path.read_bytes() == before
        assert journal.unkept_text().encode() == record(3)


def test_a_lock_file_taken_away_is_mended_by_trying_again(path: Path) -> None:
    with made(path, 2) as journal:
        unlocked(path)
        with pytest.raises(Changed):
            journal.append(entry(3))
        journal.recover_in_place()
        journal.append(entry(3))
        with pytest.raises(Held):
            Journal.open_for_work(path)
    assert path.read_bytes() == record(3)


def test_a_lock_file_taken_away_while_another_began_is_not_mended(path: Path) -> None:
    with made(path, 2) as journal:
        unlocked(path)
        with Journal.open_for_work(path) as other:
            other.append(entry(3))
            with pytest.raises(Changed):
                journal.append(entry(3, "mine"))
            with pytest.raises(Held):
                journal.recover_in_place()
        with pytest.raises(Changed, match="added entries"):
            journal.recover_in_place()
    assert path.read_bytes() == record(3)


@pytest.mark.parametrize("opens", [True, False])
def test_a_folder_where_the_lock_goes_is_blamed_and_not_the_record(path: Path, opens: bool) -> None:
    lock = path.with_name(".block-1.toml.lock")
    lock.mkdir()
    if opens:
        path.write_bytes(record(1))
    with pytest.raises(NotKept, match="stands where the lock") as failed:
        Journal.open_for_work(path) if opens else made(path)
    assert failed.value.where == str(lock)


def test_a_folder_that_vanishes_is_told_and_the_build_goes_on_elsewhere(tmp_path: Path) -> None:
    folder = tmp_path / "builds"
    folder.mkdir()
    journal = made(folder / "block-1.toml", 2)
    shutil.rmtree(folder)
    with pytest.raises(NotKept) as told:
        journal.append(entry(3))
    assert told.value.problem == "entry 3 was not kept: the file or its folder is not there"
    with pytest.raises(NotKept):
        journal.rescue(folder / "block-2.toml")
    assert not folder.exists()
    with journal.rescue(tmp_path / "block-2.toml") as rescued:
        rescued.append(entry(3))
    assert (tmp_path / "block-2.toml").read_bytes() == record(3)


def test_a_folder_that_was_never_there_is_not_made(tmp_path: Path) -> None:
    with pytest.raises(NotKept):
        Journal.create(tmp_path / "no" / "block-1.toml", HEAD, entry(1))
    with pytest.raises(Unreadable):
        Journal.open_for_work(tmp_path / "no" / "block-1.toml")
    with pytest.raises(Unreadable):
        read(tmp_path / "no" / "block-1.toml")
    assert os.listdir(tmp_path) == []


def test_what_is_no_file_is_told_and_not_touched(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.toml")
    (tmp_path / "folder.toml").mkdir()
    (tmp_path / "round.toml").symlink_to("round.toml")
    (tmp_path / "link.toml").symlink_to("pipe.toml")
    for name in ("pipe.toml", "folder.toml", "round.toml", "link.toml"):
        with pytest.raises(Unreadable):
            Journal.open_for_work(tmp_path / name)
        with pytest.raises(StorageError):
            read(tmp_path / name)
    assert len(os.listdir(tmp_path)) == 4
