"""A record's open file, and how it was when we last touched it."""

from contextlib import suppress
from pathlib import Path

from heelwise.storage.errors import Changed
from heelwise.storage.files import Files, FileState
from heelwise.storage.handling import flush, read_open, write_all
from heelwise.storage.placing import CAP, cut, read_at

ELSEWHERE = "keep the build in another folder: all that was shown as kept is still in memory"


class OpenFile:
    """The descriptor a journal appends with; calls may raise OSError."""

    def __init__(self, files: Files, path: Path) -> None:
        self._files = files
        self._path = path
        self._fd: int | None = None
        self._left: FileState | None = None

    def open(self) -> None:
        """Open the record to read and append."""
        self._fd = self._files.open(self._path, write=True)

    def adopt(self, fd: int) -> None:
        """Go on with a descriptor that is open for appending."""
        self._fd = fd
        self.note()

    def read(self) -> bytes:
        """Read it from its beginning; TooLarge above the cap."""
        return read_open(self._files, self._descriptor(), self._path, CAP)

    def add(self, data: bytes) -> None:
        """Append bytes and flush them; FlushFailed where only that failed."""
        write_all(self._files, self._descriptor(), data)
        flush(self._files, self._descriptor())
        self.note()

    def take_back(self, size: int) -> None:
        """After a failed flush, cut what it should have flushed, as far as that still works.

        Whoever opens the record next would find those bytes in the system's memory, flush them
        with success, and take for kept what never reached the drive.
        """
        with suppress(OSError):
            self._files.truncate(self._descriptor(), size)

    def cut(self, size: int) -> None:
        """Cut it to `size` bytes and flush that; where it has that size already, flush alone."""
        if self._files.state(self._descriptor()).size == size:
            flush(self._files, self._descriptor())
        else:
            cut(self._files, self._descriptor(), size)

    def note(self) -> None:
        """Remember how the file is now; where that fails, the next check reads it all again."""
        self._left = None
        with suppress(OSError):
            self._left = self._files.state(self._descriptor())

    def check_untouched(self, kept: bytes | bytearray) -> None:
        """Make sure that the name still leads to this file and that it ends where we left it.

        Args:
            kept: What must be in it, and nothing else; read again only if it was written since.

        Raises:
            Changed: Someone else changed or moved it.
        """
        now = self._files.state(self._descriptor())
        named = self._files.state_at(self._path)
        if named.identity != now.identity:
            raise Changed("another file has taken its name", self._path, ELSEWHERE)
        if now == self._left:
            return
        if now.size != len(kept) or read_at(self._files, self._path) != kept:
            raise Changed("another program has changed it", self._path, ELSEWHERE)
        self._left = now

    def close(self) -> None:
        """Close it; a second time does nothing."""
        fd, self._fd = self._fd, None
        if fd is not None:
            # What is acknowledged was flushed, and no close can undo that.
            with suppress(OSError):
                self._files.close(fd)

    def _descriptor(self) -> int:
        if self._fd is None:
            raise OSError("the file is closed")
        return self._fd
