"""Any order of appending, failing, being killed, power cuts, cutting and reopening."""

import errno
from pathlib import Path

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from heelwise.storage.errors import Held, StorageError
from heelwise.storage.journal import Journal, read
from heelwise.storage.seals import State, scan
from tests.storage.builder import tokens
from tests.storage.failing_files import FailingFiles, HowLong
from tests.storage.memory_files import MemoryFiles
from tests.storage.records import HEAD, entry

FOLDER = Path("/builds")
ERRORS = st.sampled_from([errno.EIO, errno.ENOSPC, errno.EROFS, errno.EACCES])


class RecordMachine(RuleBasedStateMachine):
    """One record, and what a person was shown as kept in it."""

    def __init__(self) -> None:
        super().__init__()
        self.memory = MemoryFiles()
        self.files = FailingFiles(self.memory)
        self.journal: Journal | None = None
        self.path = FOLDER / "block-1.toml"
        self.shown: list[str] = []
        self.in_doubt = ""
        self.count = 0
        self.cut_by_hand = False

    @initialize(at_once=st.booleans())
    def begin(self, at_once: bool) -> None:
        self.memory = MemoryFiles(at_once)
        self.files = FailingFiles(self.memory)
        token = self._token()
        self.journal = Journal.create(self.path, HEAD, entry(1, token), files=self.files)
        self.shown = [token]

    def _token(self) -> str:
        self.count += 1
        return str(self.count)

    @precondition(lambda self: self.journal is not None)
    @rule()
    def append(self) -> None:
        assert self.journal is not None
        token = self._token()
        try:
            self.journal.append(entry(self.journal.count + 1, token))
        except StorageError:
            if self.journal.trouble is not None and not self.in_doubt:
                self.in_doubt = token
            assert self.files.failed or self.journal.trouble is not None
        else:
            self.shown.append(token)
            self.in_doubt = ""

    @rule(calls=st.integers(1, 12), error=ERRORS, how_long=st.sampled_from(HowLong))
    def a_call_will_fail(self, calls: int, error: int, how_long: HowLong) -> None:
        self.files.fail_at(calls, error, how_long)

    @rule()
    def the_drive_is_well_again(self) -> None:
        self.files.mend()

    @precondition(lambda self: self.journal is not None)
    @rule()
    def recover_in_place(self) -> None:
        assert self.journal is not None
        try:
            self.journal.recover_in_place()
        except StorageError:
            assert self.journal.trouble is not None
        else:
            assert self.journal.trouble is None
            assert tokens(self.memory.content(self.path)) == self.shown
            self.in_doubt = ""

    @precondition(lambda self: self.journal is not None)
    @rule()
    def rescue(self) -> None:
        assert self.journal is not None
        there = FOLDER / f"block-{self._token()}.toml"
        try:
            self.journal = self.journal.rescue(there)
        except StorageError:
            assert self.files.failed
        else:
            self.path, self.in_doubt = there, ""

    @precondition(lambda self: self.journal is not None)
    @rule()
    def close(self) -> None:
        assert self.journal is not None
        self.journal.close()
        self.journal = None

    @rule()
    def kill(self) -> None:
        self.memory.kill()
        self.journal = None

    @rule()
    def power_cut(self) -> None:
        self.memory.power_cut()
        self.journal = None

    @precondition(lambda self: self.journal is None)
    @rule()
    def open_for_work(self) -> None:
        try:
            self.journal = Journal.open_for_work(self.path, files=self.files)
        except StorageError:
            assert self.files.failed
            return
        found = tokens(self.journal.data)
        assert found in (self.shown, [*self.shown, self.in_doubt])
        self.shown, self.in_doubt = found, ""

    @precondition(lambda self: self.journal is None)
    @rule(data=st.data())
    def cut_the_tail(self, data: st.DataObject) -> None:
        """By hand, and for good: what it takes away is not promised any more."""
        whole = self.memory.content(self.path)
        first = scan(whole).blocks[0].end
        cut = data.draw(st.integers(first, len(whole)))
        self.memory.put(self.path, whole[:cut])
        left = tokens(whole[:cut])
        in_doubt = self.in_doubt if left == [*self.shown, self.in_doubt] else ""
        self.shown = self.shown[: len(left)]
        self.in_doubt = in_doubt

    @precondition(lambda self: self.journal is not None)
    @rule()
    def a_second_opener_is_kept_out(self) -> None:
        try:
            Journal.open_for_work(self.path, files=self.memory)
        except Held:
            return
        raise AssertionError("two had it open for work")

    @invariant()
    def everything_shown_is_there_once(self) -> None:
        if self.path not in self.memory.names:
            assert self.shown == []
            return
        data, found = read(self.path, self.memory)
        assert found.state is not State.DAMAGED
        assert tokens(data) in (self.shown, [*self.shown, self.in_doubt])

    def teardown(self) -> None:
        self.memory.power_cut()
        self.everything_shown_is_there_once()


RecordMachine.TestCase.settings = settings(
    max_examples=120,
    stateful_step_count=25,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)
TestRecordMachine = RecordMachine.TestCase
