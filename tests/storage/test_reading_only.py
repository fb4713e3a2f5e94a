"""What only reads neither opens for writing nor writes, and what errors say of themselves."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from heelwise.storage.errors import NotKept
from heelwise.storage.files import HeldLock
from heelwise.storage.journal import Journal, read
from heelwise.storage.whole_files import keep_draft, read_draft
from tests.storage.memory_files import MemoryFiles
from tests.storage.records import HEAD, entry

PATH = Path("/builds/block-1.toml")


class Reading(MemoryFiles):
    """Files that may be read, and locked to see whether that can be done."""

    def __init__(self) -> None:
        super().__init__()
        self.sealed = False

    def open(self, path: Path, *, write: bool) -> int:
        assert not (self.sealed and write), f"{path} was opened for writing"
        return super().open(path, write=write)

    def create(self, path: Path) -> int:
        assert not self.sealed, f"{path} was made"
        return super().create(path)

    def unlink(self, path: Path) -> None:
        assert not self.sealed, f"{path} was removed"
        super().unlink(path)

    def lock(self, path: Path, wait_s: float) -> HeldLock:
        assert not self.sealed or path in self.names, f"{path} was made to be locked"
        return super().lock(path, wait_s)


WORK: dict[str, Callable[[Reading], object]] = {
    "read": lambda files: read(PATH, files),
    "a draft": lambda files: read_draft(PATH.parent, "block-2", files),
    "no draft": lambda files: read_draft(PATH.parent, "block-3", files),
}


@pytest.mark.parametrize("held", [False, True])
@pytest.mark.parametrize("name", WORK)
def test_reading_writes_nothing(name: str, held: bool) -> None:
    files = Reading()
    keep_draft(PATH.parent, "block-2", "half a setup", files)
    journal = Journal.create(PATH, HEAD, entry(1), files=files, holder="AB")
    if not held:
        journal.close()
    files.sealed = True
    there, open_before = dict(files.names), len(files._open)
    WORK[name](files)
    assert files.names == there
    assert len(files._open) == open_before


def test_errors_say_what_where_and_what_instead() -> None:
    error = NotKept("it was not kept", PATH, "try again")
    assert (error.problem, error.where, error.instead) == (
        "it was not kept",
        str(PATH),
        "try again",
    )
    assert str(error) == f"{PATH}: it was not kept; try again"
    assert error.args == ("it was not kept", str(PATH), "try again")
    assert not error.flush_failed
