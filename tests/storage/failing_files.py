"""A file layer whose N-th call fails, once or for good."""

import os
from enum import StrEnum
from pathlib import Path

from heelwise.storage.files import REAL, Files, FileState, HeldLock
from tests.storage.memory_files import MemoryFiles


class HowLong(StrEnum):
    """How long a failure lasts."""

    ONCE = "once"
    THIS_KIND = "every later call of this kind"
    ALL = "every later call"


class FailingFiles(Files):
    """Real or remembered files that fail from the N-th call on.

    A failing write still puts half of its bytes down; a failing flush loses what it should have
    flushed, where the files underneath can tell.
    """

    def __init__(
        self,
        inner: Files = REAL,
        at: int = 0,
        error: int = 0,
        how_long: HowLong = HowLong.ONCE,
        only: str = "",
        short: bool = False,
    ) -> None:
        self.inner = inner
        self.retry_waits_s = inner.retry_waits_s
        self.calls = 0
        self.failed: list[str] = []
        self._at = at
        self._error = error
        self._how_long = how_long
        self._only = only
        self._short = short

    def fail_at(self, calls_from_now: int, error: int, how_long: HowLong) -> None:
        self._at = self.calls + calls_from_now
        self._error, self._how_long, self.failed = error, how_long, []

    def mend(self) -> None:
        self._at, self.failed = 0, []

    def _fails(self, kind: str) -> bool:
        if self._only and kind != self._only:
            return False
        self.calls += 1
        fails = self._at > 0 and self.calls == self._at
        if self.failed and self._how_long is not HowLong.ONCE:
            fails = self._how_long is HowLong.ALL or kind == self.failed[0]
        if fails:
            self.failed.append(kind)
        return fails

    def _turn(self, kind: str) -> None:
        if self._fails(kind):
            raise OSError(self._error, os.strerror(self._error))

    def create(self, path: Path) -> int:
        self._turn("create")
        return self.inner.create(path)

    def open(self, path: Path, *, write: bool) -> int:
        self._turn("open")
        return self.inner.open(path, write=write)

    def read(self, fd: int, count: int) -> bytes:
        self._turn("read")
        return self.inner.read(fd, count)

    def write(self, fd: int, data: bytes | memoryview) -> int:
        if self._short:
            return self.inner.write(fd, data[: 1 + len(data) // 3])
        if self._fails("write"):
            self.inner.write(fd, data[: len(data) // 2])
            raise OSError(self._error, os.strerror(self._error))
        return self.inner.write(fd, data)

    def overwrite(self, path: Path, place: int, data: bytes) -> None:
        if self._fails("overwrite"):
            self.inner.overwrite(path, place, data[: len(data) // 2])
            raise OSError(self._error, os.strerror(self._error))
        self.inner.overwrite(path, place, data)

    def sync(self, fd: int) -> None:
        if self._fails("sync"):
            if isinstance(self.inner, MemoryFiles):
                self.inner.lose(fd)
            raise OSError(self._error, os.strerror(self._error))
        self.inner.sync(fd)

    def sync_folder(self, folder: Path) -> None:
        self._turn("sync_folder")
        self.inner.sync_folder(folder)

    def truncate(self, fd: int, size: int) -> None:
        self._turn("truncate")
        self.inner.truncate(fd, size)

    def state(self, fd: int) -> FileState:
        self._turn("state")
        return self.inner.state(fd)

    def state_at(self, path: Path) -> FileState:
        self._turn("state_at")
        return self.inner.state_at(path)

    def close(self, fd: int) -> None:
        self.inner.close(fd)
        self._turn("close")

    def replace(self, source: Path, target: Path) -> None:
        self._turn("replace")
        self.inner.replace(source, target)

    def place_new(self, source: Path, target: Path) -> None:
        self._turn("place_new")
        self.inner.place_new(source, target)

    def unlink(self, path: Path) -> None:
        self._turn("unlink")
        self.inner.unlink(path)

    def lock(self, path: Path, wait_s: float) -> HeldLock:
        self._turn("lock")
        return self.inner.lock(path, wait_s)
