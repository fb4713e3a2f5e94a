"""The journal on real files: making, appending, torn ends, and a file changed under it."""

import os
from pathlib import Path

import pytest

from heelwise.storage.errors import (
    AlreadyThere,
    Damaged,
    NotKept,
    TooLarge,
    Unfit,
)
from heelwise.storage.files import Files
from heelwise.storage.journal import Journal, read
from heelwise.storage.seals import State, scan
from heelwise.storage.whole_files import RECORD_CAP
from tests.storage.failing_files import FailingFiles
from tests.storage.records import HEAD, entry, record


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "block-1.toml"


def made(path: Path, count: int = 1) -> Journal:
    journal = Journal.create(path, HEAD, entry(1), holder="AB")
    for number in range(2, count + 1):
        journal.append(entry(number))
    return journal


def names(folder: Path) -> set[str]:
    return {name for name in os.listdir(folder) if not name.startswith(".")}


def test_a_record_is_byte_for_byte_what_the_design_says(path: Path) -> None:
    with made(path, 3) as journal:
        assert path.read_bytes() == record(3) == journal.data
        assert journal.count == 3
        assert journal.last_seal == scan(record(3)).last_seal
    assert names(path.parent) == {"block-1.toml"}


def test_text_without_its_last_line_end_gets_one(path: Path) -> None:
    with Journal.create(path, HEAD.rstrip(), entry(1).strip()) as journal:
        journal.append(entry(2).rstrip())
    assert read(path)[1].state is State.WHOLE


def test_append_gives_the_seal_that_is_in_the_file(path: Path) -> None:
    with made(path) as journal:
        seal = journal.append(entry(2))
        assert path.read_bytes().endswith(f'seal = "{seal}"\n'.encode())


def test_work_goes_on_after_reopening(path: Path) -> None:
    made(path, 2).close()
    with Journal.open_for_work(path) as journal:
        assert journal.recovered is None
        journal.append(entry(3))
    assert path.read_bytes() == record(3)


def test_a_crlf_copy_can_be_worked_on(path: Path) -> None:
    path.write_bytes(record(2).replace(b"\n", b"\r\n"))
    with Journal.open_for_work(path) as journal:
        journal.append(entry(3))
    data, found = read(path)
    assert found.state is State.WHOLE
    assert found.last_seal == scan(record(3)).last_seal
    assert data.startswith(record(2).replace(b"\n", b"\r\n"))


def test_a_record_whose_last_line_end_was_stripped_loses_nothing(path: Path) -> None:
    path.write_bytes(record(2)[:-1])
    with Journal.open_for_work(path) as journal:
        assert journal.recovered is None
        assert journal.count == 2
        journal.append(entry(3))
    assert path.read_bytes() == record(3)


def test_nothing_is_replaced_on_creation(path: Path) -> None:
    path.write_text("mine")
    with pytest.raises(AlreadyThere):
        Journal.create(path, HEAD, entry(1))
    assert path.read_text() == "mine"
    assert set(os.listdir(path.parent)) == {"block-1.toml"}


def test_a_name_taken_at_the_last_moment_is_not_replaced(path: Path) -> None:
    class Rival(Files):
        def place_new(self, source: Path, target: Path) -> None:
            target.write_text("mine")
            super().place_new(source, target)

    with pytest.raises(AlreadyThere):
        Journal.create(path, HEAD, entry(1), files=Rival())
    assert path.read_text() == "mine"
    assert not [name for name in os.listdir(path.parent) if name.endswith(".new")]


def test_a_link_that_leads_nowhere_counts_as_a_taken_name(path: Path, tmp_path: Path) -> None:
    path.symlink_to(tmp_path / "elsewhere.toml")
    with pytest.raises(AlreadyThere):
        Journal.create(path, HEAD, entry(1))
    assert not (tmp_path / "elsewhere.toml").exists()


def test_a_drive_without_links_gets_the_whole_file_too(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", refused)
    with made(path, 2):
        assert path.read_bytes() == record(2)
    with pytest.raises(FileExistsError):
        Files().place_new(path, path)
    assert names(path.parent) == {"block-1.toml"}


def test_what_a_killed_maker_left_behind_is_in_nobody_s_way(path: Path) -> None:
    path.with_name(".block-1.toml.new").write_bytes(b"half of it")
    made(path).close()
    assert path.read_bytes() == record(1)


def test_a_record_cut_at_any_byte_opens_to_its_last_sealed_entry(tmp_path: Path) -> None:
    # Every single byte is cut at in tests/faults, on a drive in memory.
    for cut in range(len(record(1)), len(record(3)), 23):
        folder = tmp_path / str(cut)
        folder.mkdir()
        check_cut(folder / "block-1.toml", record(3)[:cut])


def check_cut(path: Path, data: bytes) -> None:
    path.write_bytes(data)
    before = scan(data)
    assert read(path) == (data, before)
    assert set(os.listdir(path.parent)) == {"block-1.toml"}

    with Journal.open_for_work(path) as journal:
        kept = data[: before.sealed_end]
        assert journal.data == kept == path.read_bytes()
        assert journal.count == len(before.blocks)
        assert (journal.recovered is not None) == (before.state is State.TORN)
        if journal.recovered is not None:
            aside = path.with_name(journal.recovered.file)
            assert aside.read_bytes() == data[before.sealed_end :]
            assert journal.recovered.size == len(data) - before.sealed_end
        for number in range(journal.count + 1, 5):
            journal.append(entry(number))
    assert path.read_bytes() == record(4)
    assert [name for name in names(path.parent) if name.endswith(".toml")] == ["block-1.toml"]


def test_an_earlier_torn_end_is_never_replaced(path: Path) -> None:
    for count in (1, 2):
        path.write_bytes(record(2) + b"rest %d" % count)
        with Journal.open_for_work(path) as journal:
            assert journal.recovered is not None
            assert journal.recovered.file == f"block-1.toml.torn-{count}"
    assert path.with_name("block-1.toml.torn-1").read_bytes() == b"rest 1"
    assert path.with_name("block-1.toml.torn-2").read_bytes() == b"rest 2"


def test_a_damaged_record_is_named_and_left_as_it_is(path: Path) -> None:
    spoilt = record(3).replace(b"token 2", b"token 7")
    path.write_bytes(spoilt)
    with pytest.raises(Damaged) as told:
        Journal.open_for_work(path)
    assert told.value.problem.startswith("entry 2: ")
    assert "entry 2" in told.value.problem
    assert path.read_bytes() == spoilt
    assert names(path.parent) == {"block-1.toml"}
    path.write_bytes(record(3))
    Journal.open_for_work(path).close()  # and its lock was let go


@pytest.mark.parametrize(
    "text",
    [
        entry(3),
        entry(2) + 'seal = "' + "0" * 64 + '"\n',
        entry(2) + 'text2 = """\n"""\n',
        entry(2).replace("\n", "\r\n"),
        entry(2, "\ud800"),
        entry(2) + entry(3),
        'text = "no entry"\n',
        "",
    ],
)
def test_text_that_could_not_be_read_back_is_not_written(path: Path, text: str) -> None:
    with made(path) as journal:
        with pytest.raises(Unfit):
            journal.append(text)
        assert path.read_bytes() == record(1)
        journal.append(entry(2))
        assert path.read_bytes() == record(2)


def test_an_unfit_head_makes_no_file(path: Path) -> None:
    for head, first in (("number = 1\n", entry(1)), (HEAD, entry(2)), ('x = """\n', entry(1))):
        with pytest.raises(Unfit):
            Journal.create(path, head, first)
    assert os.listdir(path.parent) == []


def test_short_writes_are_finished(path: Path) -> None:
    short = FailingFiles(short=True)
    with Journal.create(path, HEAD, entry(1), files=short) as journal:
        journal.append(entry(2))
    assert path.read_bytes() == record(2)


def test_a_write_that_writes_nothing_is_a_failure(path: Path) -> None:
    class Stuck(Files):
        stuck = False

        def write(self, fd: int, data: bytes | memoryview) -> int:
            return 0 if self.stuck else super().write(fd, data)

    files = Stuck()
    with Journal.create(path, HEAD, entry(1), files=files) as journal:
        files.stuck = True
        with pytest.raises(NotKept):
            journal.append(entry(2))


def test_the_cap_is_kept_before_anything_is_written(path: Path) -> None:
    big = entry(1) + 'text2 = "' + "x" * (RECORD_CAP - 1000) + '"\n'
    with Journal.create(path, HEAD, big) as journal:
        size = path.stat().st_size
        with pytest.raises(TooLarge):
            journal.append(entry(2, "y" * 1000))
        assert path.stat().st_size == size
        assert "y" * 1000 in journal.unkept_text()
        assert journal.trouble is None
    with path.open("ab") as file:
        file.write(b" " * 2000)
    with pytest.raises(TooLarge):
        read(path)
    with pytest.raises(TooLarge):
        Journal.open_for_work(path)


def test_rescue_takes_every_acknowledged_entry_and_replaces_nothing(path: Path) -> None:
    there = path.with_name("block-2.toml")
    there.write_text("mine")
    journal = made(path, 3)
    with pytest.raises(AlreadyThere):
        journal.rescue(there)
    journal.append(entry(4))
    with journal.rescue(path.with_name("block-3.toml")) as rescued:
        assert rescued.count == 4
        assert rescued.data == record(4) == path.read_bytes()
    assert there.read_text() == "mine"
    with pytest.raises(NotKept):
        journal.append(entry(5))


def test_a_closed_record_takes_nothing_more(path: Path) -> None:
    journal = made(path)
    journal.close()
    journal.close()
    with pytest.raises(NotKept) as told:
        journal.append(entry(2))
    assert "closed" in told.value.problem
    with pytest.raises(NotKept):
        journal.recover_in_place()
    assert path.read_bytes() == record(1)


def test_an_interrupted_write_is_never_taken_for_kept(path: Path) -> None:
    class Interrupted(Files):
        armed = False

        def sync(self, fd: int) -> None:
            if self.armed:
                self.armed = False
                raise KeyboardInterrupt
            super().sync(fd)

    files = Interrupted()
    with Journal.create(path, HEAD, entry(1), files=files) as journal:
        files.armed = True
        with pytest.raises(KeyboardInterrupt):
            journal.append(entry(2))
        with pytest.raises(NotKept) as told:
            journal.append(entry(2))
        assert told.value.problem == "entry 2 was not kept: it was interrupted"
        journal.recover_in_place()
        assert journal.recovered is None
        journal.append(entry(2))
    assert path.read_bytes() == record(2)
