"""Drives of other kinds: one that tells no big letter from a small one, one that can't flush."""

from __future__ import annotations

import errno
from pathlib import Path

import pytest

from heelwise.storage.errors import AlreadyThere, Held, NotKept
from heelwise.storage.journal import Journal
from tests.storage.failing_files import FailingFiles, HowLong
from tests.storage.memory_files import MemoryFiles, Node
from tests.storage.records import HEAD, entry, record

BIG, SMALL = Path("/builds/Block-1.toml"), Path("/builds/block-1.toml")


class Folded(dict[Path, Node]):
    """Names by their small letters."""

    def __contains__(self, path: object) -> bool:
        return super().__contains__(Path(str(path).lower()))

    def __getitem__(self, path: Path) -> Node:
        return super().__getitem__(Path(str(path).lower()))

    def __setitem__(self, path: Path, node: Node) -> None:
        super().__setitem__(Path(str(path).lower()), node)

    def __delitem__(self, path: Path) -> None:
        super().__delitem__(Path(str(path).lower()))

    def get(self, path: Path, default: object = None) -> Node | None:  # type: ignore[override]
        return super().get(Path(str(path).lower()))


class CaseBlind(MemoryFiles):
    """A drive as Windows and macOS have them."""

    def __init__(self) -> None:
        super().__init__()
        self.names = Folded()


def test_on_a_case_blind_drive_one_name_is_one_record_and_one_lock() -> None:
    files = CaseBlind()
    with Journal.create(SMALL, HEAD, entry(1), files=files) as journal:
        with pytest.raises(AlreadyThere):
            Journal.create(BIG, HEAD, entry(1), files=files)
        with pytest.raises(Held):
            Journal.open_for_work(BIG, files=files)
        journal.append(entry(2))
    with Journal.open_for_work(BIG, files=files) as journal:
        journal.append(entry(3))
    assert files.content(SMALL) == record(3)


@pytest.mark.parametrize("error", [errno.EINVAL, errno.ENOSYS, errno.ENOTSUP, errno.EIO])
def test_a_drive_that_never_flushes_keeps_nothing_and_says_so(error: int) -> None:
    files = FailingFiles(MemoryFiles(), 1, error, HowLong.ALL, only="sync")
    with pytest.raises(NotKept, match="the record was not made"):
        Journal.create(SMALL, HEAD, entry(1), files=files)
    assert isinstance(files.inner, MemoryFiles)
    assert SMALL not in files.inner.names


@pytest.mark.parametrize("error", [errno.EINVAL, errno.ENOSYS, errno.EIO])
def test_a_drive_that_stops_flushing_is_left_for_another(error: int) -> None:
    files = FailingFiles(MemoryFiles(), only="sync")
    journal = Journal.create(SMALL, HEAD, entry(1), files=files)
    files.fail_at(1, error, HowLong.ALL)
    with pytest.raises(NotKept):
        journal.append(entry(2))
    with pytest.raises(NotKept):
        journal.recover_in_place()
    with pytest.raises(NotKept):
        journal.append(entry(2))
    text = journal.unkept_text()
    assert isinstance(files.inner, MemoryFiles)
    assert (files.inner.content(SMALL).decode() + text).encode() == record(2)
    files.mend()
    with journal.rescue(Path("/elsewhere/block-1.toml")) as rescued:
        rescued.append(entry(2))
        assert rescued.data == record(2)
