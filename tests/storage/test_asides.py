"""Torn ends that lie beside a record, each listed once, whoever set them aside."""

from __future__ import annotations

import errno
from pathlib import Path

import pytest

from heelwise.storage.errors import NotKept
from heelwise.storage.journal import Aside, Journal
from tests.storage.failing_files import FailingFiles, HowLong
from tests.storage.memory_files import MemoryFiles
from tests.storage.records import record

PATH = Path("/builds/block-1.toml")
FIRST, SECOND = Aside("block-1.toml.torn-1", 11), Aside("block-1.toml.torn-2", 12)


def torn(files: MemoryFiles, tail: bytes) -> None:
    files.put(PATH, (files.content(PATH) if PATH in files.names else record(2)) + tail)


def listed(files: MemoryFiles) -> tuple[Aside, ...]:
    with Journal.open_for_work(PATH, files=files) as journal:
        return journal.asides()


def test_none_beside_a_whole_record() -> None:
    files = MemoryFiles()
    files.put(PATH, record(2))
    assert listed(files) == ()


def test_the_one_set_aside_on_opening_and_those_before_it() -> None:
    files = MemoryFiles()
    torn(files, b"\n[[entry]]\n"[:11])
    assert listed(files) == (FIRST,)
    assert listed(files) == (FIRST,)
    torn(files, b"\n[[entry]]\nn")
    assert listed(files) == (FIRST, SECOND)


def test_one_after_a_gap_is_listed_by_whoever_set_it_aside() -> None:
    files = MemoryFiles()
    files.put(PATH.with_name(FIRST.file), b"x" * 11)
    torn(files, b"\n[[entry]]\nn")
    with Journal.open_for_work(PATH, files=files) as journal:
        files.unlink(PATH.with_name(FIRST.file))
        assert journal.asides() == (SECOND,)
    assert listed(files) == ()


def test_a_folder_that_can_not_be_looked_at_is_told() -> None:
    memory = MemoryFiles()
    memory.put(PATH, record(2))
    files = FailingFiles(memory)
    with Journal.open_for_work(PATH, files=files) as journal:
        files.fail_at(1, errno.EIO, HowLong.ONCE)
        with pytest.raises(NotKept, match="what was set aside can't be looked at"):
            journal.asides()
