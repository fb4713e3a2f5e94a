"""A whole walk in which one call on the file system fails: none of what was shown is lost."""

from __future__ import annotations

import errno
from collections.abc import Iterator
from itertools import product

import pytest

from heelwise.storage.seals import State, scan
from tests.faults.walking import HERE, Person, record_in
from tests.storage.failing_files import FailingFiles, HowLong
from tests.storage.memory_files import MemoryFiles

ERRORS = (errno.EIO, errno.ENOSPC, errno.EROFS, errno.EACCES)
STRIDE = 9
"""In the short run; no multiple of the calls one entry takes."""


def healthy_walk(short: bool = False) -> FailingFiles:
    files = FailingFiles(MemoryFiles(), short=short)
    person = Person(files)
    assert person.walk()
    assert person.told == []
    check(person)
    return files


def check(person: Person) -> None:
    """After a kill and after a power cut every entry shown is there once, in order, as shown."""
    memory = person.files.inner
    assert isinstance(memory, MemoryFiles)
    for end in (memory.kill, memory.power_cut):
        end()
        if person.path not in memory.names:
            assert person.shown == []
            continue
        data = memory.content(person.path)
        assert scan(data).state is not State.DAMAGED
        found = list(record_in(data, person.path).entries)
        assert found[: len(person.shown)] == person.shown
        in_doubt = person.in_doubt or person.could_not_open
        assert len(found) - len(person.shown) <= in_doubt
    for error in person.told:
        assert error.problem
        assert error.instead
        assert "Errno" not in str(error)


def walked(at: int, error: int, how_long: HowLong, elsewhere_is_well: bool = True) -> Person:
    files = FailingFiles(MemoryFiles(), at, error, how_long)
    person = Person(files, elsewhere_is_well)
    ended = person.walk()
    assert person.told or ended, "it ended without a word"
    check(person)
    assert ended == signed_off(person)
    return person


def signed_off(person: Person) -> bool:
    return bool(person.shown) and person.shown[-1].body.kind == "signed off"


def places(calls: int, stride: int) -> Iterator[tuple[int, int]]:
    """Every stride-th call, each with one of the errors in turn."""
    for number, at in enumerate(range(1, calls + 1, stride)):
        yield at, ERRORS[number % len(ERRORS)]


def test_one_call_that_fails_once_never_ends_the_walk() -> None:
    calls = healthy_walk().calls
    assert calls > 300
    for at, error in places(calls, STRIDE):
        assert signed_off(walked(at, error, HowLong.ONCE)), (at, error)


def test_a_folder_that_fails_for_good_is_left_for_another() -> None:
    calls = healthy_walk().calls
    left = 0
    for at, error in places(calls, 2 * STRIDE):
        person = walked(at, error, HowLong.ALL)
        assert signed_off(person) or person.could_not_open, (at, error)
        left += person.path != HERE
    assert left > 10


def test_where_everything_fails_for_good_what_was_shown_is_there() -> None:
    calls = healthy_walk().calls
    for at, error in places(calls, 2 * STRIDE):
        for how_long in (HowLong.ALL, HowLong.THIS_KIND):
            walked(at, error, how_long, elsewhere_is_well=False)


def test_writes_that_put_down_a_third_at_a_time_make_the_same_record() -> None:
    whole, short = healthy_walk(), healthy_walk(short=True)
    assert isinstance(whole.inner, MemoryFiles)
    assert isinstance(short.inner, MemoryFiles)
    assert whole.inner.content(HERE) == short.inner.content(HERE)


@pytest.mark.long
def test_every_call_of_a_walk_fails_in_turn() -> None:
    calls = healthy_walk().calls
    for at, error in product(range(1, calls + 1), ERRORS):
        assert signed_off(walked(at, error, HowLong.ONCE)), (at, error)
        for how_long, well in product((HowLong.ALL, HowLong.THIS_KIND), (True, False)):
            walked(at, error, how_long, well)
