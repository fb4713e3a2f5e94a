"""Every call on the file system fails in turn, once and for good, and nothing kept is lost."""

import errno
from pathlib import Path

import pytest

from heelwise.storage.errors import StorageError
from heelwise.storage.files import Files
from heelwise.storage.journal import Journal, read
from heelwise.storage.seals import State
from tests.storage.builder import Builder, tokens
from tests.storage.failing_files import FailingFiles, HowLong
from tests.storage.memory_files import MemoryFiles
from tests.storage.records import HEAD, entry, record

ERRORS = (errno.EIO, errno.ENOSPC, errno.EROFS, errno.EACCES)
PATH = Path("/builds/block-1.toml")
ELSEWHERE = Path("/elsewhere/block-1.toml")


def check_after(builder: Builder, found: list[str]) -> None:
    """Everything kept is there once and in order; the entry in doubt may be, once, at the end."""
    assert found in (builder.kept, [*builder.kept, builder.in_doubt]), builder.told
    for error in builder.told:
        assert error.problem
        assert error.instead
        assert "Errno" not in str(error)


def calls_of_a_walk() -> int:
    files = FailingFiles(MemoryFiles())
    builder = Builder(files, PATH, ELSEWHERE)
    assert builder.work()
    assert builder.kept == list("abcde")
    assert builder.told == []
    return files.calls


def swept(at: int, error: int, how_long: HowLong, at_once: bool) -> tuple[MemoryFiles, Builder]:
    memory = MemoryFiles(at_once)
    files = FailingFiles(memory, at, error, how_long)
    builder = Builder(files, PATH, ELSEWHERE)
    builder.work()
    assert files.failed, "the call that was to fail never came"
    return memory, builder


@pytest.mark.parametrize("at_once", [False, True])
@pytest.mark.parametrize("how_long", list(HowLong))
@pytest.mark.parametrize("error", ERRORS)
def test_nothing_kept_is_lost_whichever_call_fails(
    error: int, how_long: HowLong, at_once: bool
) -> None:
    for at in range(1, calls_of_a_walk() + 1):
        memory, builder = swept(at, error, how_long, at_once)
        memory.kill()
        if builder.path in memory.names:
            check_after(builder, tokens(memory.content(builder.path)))
        else:
            assert builder.kept == []
        memory.power_cut()
        if builder.path in memory.names:
            check_after(builder, tokens(memory.content(builder.path)))
        else:
            assert builder.kept == []


@pytest.mark.parametrize("how_long", list(HowLong))
def test_what_is_shown_after_a_failure_and_a_restart_is_kept_too(how_long: HowLong) -> None:
    for at in range(1, calls_of_a_walk() + 1):
        memory, builder = swept(at, errno.EIO, how_long, at_once=False)
        memory.kill()
        if builder.path not in memory.names:
            continue
        with Journal.open_for_work(builder.path, files=memory) as journal:
            shown = tokens(journal.data)
            check_after(builder, shown)
            journal.append(entry(journal.count + 1, "z"))
        memory.power_cut()
        assert tokens(memory.content(builder.path)) == [*shown, "z"], at
        assert read(builder.path, memory)[1].state is State.WHOLE


def test_one_failure_alone_never_ends_the_walk() -> None:
    ended = []
    for at in range(1, calls_of_a_walk() + 1):
        files = FailingFiles(MemoryFiles(), at, errno.EIO)
        builder = Builder(files, PATH, ELSEWHERE)
        if not builder.work():
            ended.append((at, files.failed))
    assert ended == []


@pytest.mark.parametrize(("error", "how_long"), [(errno.ENOSPC, HowLong.ONCE), (5, HowLong.ALL)])
def test_the_same_on_the_real_file_system(tmp_path: Path, error: int, how_long: HowLong) -> None:
    for at in range(1, calls_of_a_walk() + 1, 3):
        folder = tmp_path / str(at)
        (folder / "other").mkdir(parents=True)
        files = FailingFiles(Files(), at, error, how_long)
        builder = Builder(files, folder / PATH.name, folder / "other" / PATH.name)
        builder.work()
        if builder.path.exists():
            check_after(builder, tokens(builder.path.read_bytes()))
        else:
            assert builder.kept == []


def test_a_flush_that_failed_is_never_called_good() -> None:
    """Ending the program instead, then opening again: what the flush lost must not be shown."""
    memory = MemoryFiles()
    files = FailingFiles(memory, only="sync")
    journal = Journal.create(PATH, HEAD, entry(1), files=files)
    files.fail_at(1, errno.EIO, HowLong.ONCE)
    with pytest.raises(StorageError) as told:
        journal.append(entry(2))
    assert told.value.problem == "entry 2 was not kept: the drive reported an error"
    journal.close()
    with Journal.open_for_work(PATH, files=memory) as again:
        shown = again.data
    memory.power_cut()
    assert memory.content(PATH) == shown == record(1)


def test_after_a_failed_flush_the_record_is_put_in_a_fresh_file() -> None:
    memory = MemoryFiles()
    files = FailingFiles(memory, only="sync")
    journal = Journal.create(PATH, HEAD, entry(1), files=files)
    before = memory.names[PATH].number
    files.fail_at(1, errno.EIO, HowLong.ONCE)
    with pytest.raises(StorageError):
        journal.append(entry(2))
    journal.recover_in_place()
    assert journal.recovered is None
    assert memory.names[PATH].number != before
    journal.append(entry(2))
    memory.power_cut()
    assert memory.content(PATH) == record(2)


def test_a_failed_flush_is_not_forgotten_when_mending_fails_too() -> None:
    memory = MemoryFiles()
    files = FailingFiles(memory)
    journal = Journal.create(PATH, HEAD, entry(1), files=files)
    before = memory.names[PATH].number
    calls = files.calls
    journal.append(entry(2))
    files.fail_at(files.calls - calls, errno.EIO, HowLong.ALL)  # the last call is the flush
    with pytest.raises(StorageError):
        journal.append(entry(3))
    assert files.failed[0] == "sync"
    with pytest.raises(StorageError):
        journal.recover_in_place()
    files.mend()
    journal.recover_in_place()
    assert memory.names[PATH].number != before
    journal.append(entry(3))
    memory.power_cut()
    assert memory.content(PATH) == record(3)


@pytest.mark.parametrize("kind", ["write", "sync", "place_new", "sync_folder"])
def test_a_record_that_could_not_be_made_leaves_nothing_behind(kind: str) -> None:
    memory = MemoryFiles()
    files = FailingFiles(memory, 1 + (kind == "write"), errno.ENOSPC, only=kind)  # 1: the note
    with pytest.raises(StorageError) as told:
        Journal.create(PATH, HEAD, entry(1), files=files)
    assert told.value.problem == "the record was not made: the disk is full"
    assert [path.name for path in memory.names] == [".block-1.toml.lock"]


def test_a_torn_end_that_could_not_be_set_aside_leaves_no_half_of_it() -> None:
    memory = MemoryFiles()
    torn = record(1) + b"rest"
    memory.put(PATH, torn)
    files = FailingFiles(memory, 2, errno.ENOSPC, only="write")
    with pytest.raises(StorageError):
        Journal.open_for_work(PATH, files=files)
    assert memory.content(PATH) == torn
    assert {path.name for path in memory.names} == {".block-1.toml.lock", PATH.name}


def test_a_flush_that_fails_on_opening_is_made_good_in_a_fresh_file() -> None:
    memory = MemoryFiles()
    memory.put(PATH, record(1))
    unflushed = memory.open(PATH, write=True)
    memory.write(unflushed, record(2)[len(record(1)) :])
    files = FailingFiles(memory, 1, errno.EIO, only="sync")
    with Journal.open_for_work(PATH, files=files) as journal:
        assert journal.count == 2
    memory.power_cut()
    assert memory.content(PATH) == record(2)


def test_a_full_disk_leaves_the_file_as_it_was_once_mended() -> None:
    memory = MemoryFiles()
    files = FailingFiles(memory, only="write")
    journal = Journal.create(PATH, HEAD, entry(1), files=files)
    before = memory.names[PATH].number
    files.fail_at(1, errno.ENOSPC, HowLong.ONCE)
    with pytest.raises(StorageError):
        journal.append(entry(2))
    assert len(memory.content(PATH)) > len(record(1))
    journal.recover_in_place()
    assert journal.recovered is None
    assert memory.content(PATH) == record(1)
    assert memory.names[PATH].number == before
    journal.append(entry(2))
    assert memory.content(PATH) == record(2)
    assert not [name for name in memory.names if "torn" in name.name]


def test_every_cut_of_a_record_recovers_through_a_power_cut() -> None:
    for cut in range(len(record(1)), len(record(3))):
        memory = MemoryFiles()
        memory.put(PATH, record(3)[:cut])
        with Journal.open_for_work(PATH, files=memory) as journal:
            count, recovered = journal.count, journal.recovered
        memory.power_cut()
        kept = memory.content(PATH)
        aside = memory.content(PATH.with_name(recovered.file)) if recovered else b""
        assert kept + aside == record(3)[:cut]
        assert len(tokens(kept)) == count


@pytest.mark.parametrize("how_long", list(HowLong))
def test_recovery_itself_may_fail_at_any_call(how_long: HowLong) -> None:
    torn = record(2) + entry(3).encode()[:30]

    def opened(files: Files) -> bool:
        try:
            Journal.open_for_work(PATH, files=files).close()
        except StorageError:
            return False
        return True

    healthy = FailingFiles(MemoryFiles())
    assert isinstance(healthy.inner, MemoryFiles)
    healthy.inner.put(PATH, torn)
    assert opened(healthy)
    for at in range(1, healthy.calls + 1):
        memory = MemoryFiles()
        memory.put(PATH, torn)
        opened(FailingFiles(memory, at, errno.EIO, how_long))
        memory.power_cut()
        asides = [memory.content(p) for p in memory.names if ".torn-" in p.name]
        assert memory.content(PATH) in (record(2), torn)
        assert memory.content(PATH) == torn or torn[len(record(2)) :] in asides
        assert opened(memory)
        assert memory.content(PATH) == record(2)
