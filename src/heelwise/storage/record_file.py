"""A record's file: made at one stroke, appended to, written anew, its torn ends kept beside it."""

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from heelwise.storage.errors import AlreadyThere, Changed, storage_errors
from heelwise.storage.files import Files
from heelwise.storage.whole_files import (
    flush,
    put,
    read_file,
    read_open,
    replace_patiently,
    write_all,
    write_new,
)

CAP = 16 << 20
"""The most bytes of a record: 16 MiB."""

ELSEWHERE = "keep the build in another folder: all that was shown as kept is still in memory"

_CLOSED = -1
"""No descriptor: whatever is done with it raises OSError."""
_MOST_ENDS = 10_000
_NOT_MADE = "the record was not made"
_NOT_ANEW = "the record could not be written again"


@dataclass(frozen=True, slots=True)
class Aside:
    """A torn end that lies beside a record: its file's name, and how many bytes."""

    file: str
    size: int


class RecordFile:
    """A record's name and, once open, the descriptor it is appended to. The caller has its lock."""

    def __init__(self, files: Files, path: Path) -> None:
        self._files = files
        self._path = path
        self._fd = _CLOSED

    def refuse_taken(self) -> None:
        """Raise AlreadyThere where the name is taken, NotKept where that can't be found out."""
        with storage_errors(self._path, _NOT_MADE):
            try:
                self._files.state_at(self._path)
            except FileNotFoundError:
                return
        raise self._taken()

    def make(self, data: bytes) -> None:
        """Make the record: nobody ever sees it half made, and nothing is replaced.

        AlreadyThere; NotKept where a call failed, and then no record is left there.
        """
        placed = False

        def place(new: Path) -> None:
            nonlocal placed
            self._files.place_new(new, self._path)
            placed = True

        with storage_errors(self._path, _NOT_MADE):
            try:
                self._put(data, place)
                self.open()
            except FileExistsError as error:
                raise self._taken() from error
            except OSError:
                if placed:  # it is not certain to last, so it must not seem to be there
                    with suppress(OSError):
                        self._files.unlink(self._path)
                raise

    def write_anew(self, data: bytes) -> None:
        """Write the record's same bytes as a new file in its place, and go on with that.

        After a failed flush the system may hold as written what never reached the drive; a new
        file has nothing of that. NotKept: the file there is the old one, or the new one whole.
        """
        self.close()
        with storage_errors(self._path, _NOT_ANEW):
            self._put(data, lambda new: replace_patiently(self._files, new, self._path))
            self.open()

    def open(self) -> None:
        """Open the record to read and append; raises OSError, as all below do."""
        self._fd = self._files.open(self._path, write=True)

    def read(self) -> bytes:
        """Read it from its beginning, once after opening; TooLarge above the cap."""
        return read_open(self._files, self._fd, self._path, CAP)

    def append(self, data: bytes) -> None:
        """Append bytes and flush them; FlushFailed where only that failed."""
        write_all(self._files, self._fd, data)
        flush(self._files, self._fd)

    def take_back(self, size: int) -> None:
        """After a failed flush, cut what it should have flushed, as far as that still works.

        Whoever opens the record next would find those bytes in the system's memory, flush them
        with success, and take for kept what never reached the drive.
        """
        with suppress(OSError):
            self._files.truncate(self._fd, size)

    def cut(self, size: int) -> None:
        """Cut it to `size` bytes and flush that; where it has that size already, flush alone."""
        if self._files.state(self._fd).size != size:
            self._files.truncate(self._fd, size)
        flush(self._files, self._fd)

    def flush_again(self, start: int, data: bytes) -> None:
        """Write bytes over themselves, so that they are due for the next flush in any case."""
        self._files.overwrite(self._path, start, data)

    def check_untouched(self, kept: bytes | bytearray) -> None:
        """Raise Changed where the name leads to another file or it doesn't hold just `kept`.

        It is read whole: sizes and times can be set by anyone, and this costs less than a flush.
        """
        now = self._files.state(self._fd)
        if self._files.state_at(self._path).identity != now.identity:
            raise Changed("another file has taken its name", self._path, ELSEWHERE)
        if now.size != len(kept) or read_file(self._files, self._path, CAP) != kept:
            raise Changed("another program has changed it", self._path, ELSEWHERE)

    def set_aside(self, tail: bytes) -> Aside:
        """Keep a torn end in a file of its own beside the record, flushed, replacing none."""
        for count in range(1, _MOST_ENDS):
            beside = self._beside(count)
            try:
                write_new(self._files, beside, tail)
            except FileExistsError:
                continue
            self._files.sync_folder(self._path.parent)
            return Aside(beside.name, len(tail))
        raise FileExistsError("too many torn ends beside the record")

    def asides(self) -> tuple[Aside, ...]:
        """The torn ends beside the record, in the order they were set aside, up to the first gap.

        A program killed between setting one aside and entering it leaves one that no entry names.
        """
        listed = []
        for count in range(1, _MOST_ENDS):
            beside = self._beside(count)
            try:
                state = self._files.state_at(beside)
            except FileNotFoundError:
                break
            listed.append(Aside(beside.name, state.size))
        return tuple(listed)

    def close(self) -> None:
        """Close it; a second time does nothing."""
        fd, self._fd = self._fd, _CLOSED
        # What is acknowledged was flushed, and no close can undo that.
        with suppress(OSError):
            if fd != _CLOSED:
                self._files.close(fd)

    def _put(self, data: bytes, place: Callable[[Path], None]) -> None:
        temporary = self._path.with_name(f".{self._path.name}.new")
        # Whoever left one was killed: the lock is ours, so nobody else is at work on it.
        with suppress(FileNotFoundError):
            self._files.unlink(temporary)
        put(self._files, self._path, data, temporary, place)

    def _beside(self, count: int) -> Path:
        return self._path.with_name(f"{self._path.name}.torn-{count}")

    def _taken(self) -> AlreadyThere:
        instead = "give the build another name, or open that file"
        return AlreadyThere("a file of that name is there", self._path, instead)
