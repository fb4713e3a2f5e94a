"""The file system itself: every descriptor is given back, every lock let go, every name flushed."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from contextlib import nullcontext, suppress
from pathlib import Path

import filelock
import pytest

from heelwise.storage.errors import NotKept, TooLarge, Unreadable
from heelwise.storage.files import REAL, Files
from heelwise.storage.journal import Journal, read
from heelwise.storage.whole_files import DRAFT_CAP, keep_draft, read_draft, write_whole
from tests.storage.memory_files import MemoryFiles
from tests.storage.records import HEAD, entry


def descriptors() -> list[int]:
    """The numbers of all files that are open."""
    found = []
    for number in range(512):
        with suppress(OSError):
            os.fstat(number)
            found.append(number)
    return found


def journal_worked(path: Path) -> None:
    path.unlink(missing_ok=True)
    with Journal.create(path, HEAD, entry(1)) as journal:
        journal.append(entry(2))
    path.write_bytes(path.read_bytes() + b"\n[[entry]]\n")
    with Journal.open_for_work(path) as journal:
        journal.append(entry(3))
    read(path)


WORK: dict[str, Callable[[Path], object]] = {
    "overwrite": lambda path: REAL.overwrite(path, 0, b"x"),
    "sync a folder": lambda path: REAL.sync_folder(path.parent),
    "lock": lambda path: REAL.lock(path.with_name("l"), 0).release(),
    "place": lambda path: REAL.place_new(path, path.with_name("placed")),
    "write whole": lambda path: write_whole(path, b"new", replace=True),
    "a draft": lambda path: read_draft(path.parent, "d"),
    "a journal": lambda path: journal_worked(path.with_name("j.toml")),
}


@pytest.mark.parametrize("name", WORK)
def test_no_descriptor_is_left_open(name: str, tmp_path: Path) -> None:
    path = tmp_path / "file"
    path.write_bytes(b"old")
    before = descriptors()
    WORK[name](path)
    assert descriptors() == before


def test_no_descriptor_is_left_open_where_links_are_not_to_be_had(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_links(source: Path, target: Path) -> None:
        raise OSError(errno.EPERM, "no links here")

    monkeypatch.setattr(os, "link", no_links)
    source, target = tmp_path / "new", tmp_path / "r.toml"
    source.write_bytes(b"whole")
    before = descriptors()
    Files().place_new(source, target)
    assert descriptors() == before
    assert target.read_bytes() == b"whole"
    assert not source.exists()


@pytest.mark.parametrize(("code", "raised"), [(errno.EINVAL, False), (errno.EIO, True)])
def test_a_folder_that_can_not_be_flushed_is_no_failure_and_any_other_is(
    code: int, raised: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_flush(fd: int) -> None:
        raise OSError(code, "no")

    monkeypatch.setattr(os, "fsync", no_flush)
    with pytest.raises(OSError) if raised else nullcontext() as told:
        REAL.sync_folder(tmp_path)
    assert (told is not None) == raised


def test_a_file_system_without_locks_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_locks(*given: object, **more: object) -> None:
        raise NotImplementedError

    monkeypatch.setattr(filelock.FileLock, "acquire", no_locks)
    with pytest.raises(OSError) as told:
        REAL.lock(tmp_path / "lock", 0)
    assert told.value.errno == errno.ENOSYS
    with pytest.raises(NotKept, match="locks are not supported here"):
        Journal.create(tmp_path / "r.toml", HEAD, entry(1))


def test_a_pipe_is_refused_and_does_not_hang(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    with pytest.raises(Unreadable, match="n't an ordinary file"):
        read(pipe)


def test_a_lock_let_go_can_be_taken_while_the_first_is_still_about(tmp_path: Path) -> None:
    path = tmp_path / "lock"
    first = REAL.lock(path, 0)
    assert first.still_ours()
    with pytest.raises(TimeoutError):
        Files().lock(path, 0)
    first.release()
    assert not first.still_ours()
    second = Files().lock(path, 0)
    assert second.still_ours()
    second.release()


def test_overwriting_changes_those_bytes_alone(tmp_path: Path) -> None:
    path = tmp_path / "file"
    path.write_bytes(b"0123456789")
    REAL.overwrite(path, 3, b"abc")
    assert path.read_bytes() == b"012abc6789"


def test_a_whole_file_written_lasts_through_a_power_cut_by_its_new_name() -> None:
    memory, path = MemoryFiles(), Path("/sheets/sheet.html")
    write_whole(path, b"old", memory, replace=True)
    write_whole(path, b"new", memory, replace=True)
    memory.power_cut()
    assert memory.content(path) == b"new"
    assert list(memory.names) == [path]


def test_a_draft_of_a_mebibyte_is_read_and_one_byte_more_is_not() -> None:
    assert DRAFT_CAP == 1_048_576
    memory, folder = MemoryFiles(), Path("/builds")
    keep_draft(folder, "block-1", "x" * DRAFT_CAP, memory)
    assert read_draft(folder, "block-1", memory) == "x" * DRAFT_CAP
    keep_draft(folder, "block-1", "x" * DRAFT_CAP + "y", memory)
    with pytest.raises(TooLarge, match="1 MiB"):
        read_draft(folder, "block-1", memory)
