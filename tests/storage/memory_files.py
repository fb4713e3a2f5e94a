"""A file system in memory with the one habit that matters: what is not flushed can be lost.

Written bytes are dirty until a flush takes them to the drive. A flush that fails leaves them
looking clean (Rebello et al., USENIX ATC 2020), so that a later flush that succeeds does not save
them either. Names last when their folder was flushed, or at once: both are seen in practice.
"""

import errno
import os
from pathlib import Path

from heelwise.storage.files import Files, FileState, HeldLock


class Node:
    """A file: what programs see of it, and what is on the drive."""

    def __init__(self, number: int) -> None:
        self.number = number
        self.seen = bytearray()
        self.drive = bytearray()
        self.dirty: list[tuple[int, int]] = []

    def flush(self) -> None:
        size = len(self.seen)
        del self.drive[size:]
        self.drive.extend(bytes(size - len(self.drive)))
        for start, end in self.dirty:
            self.drive[start : min(end, size)] = self.seen[start : min(end, size)]
        self.dirty.clear()


class Lock:
    def __init__(self, files: "MemoryFiles", path: Path, node: Node) -> None:
        self._files, self._path, self._node = files, path, node

    def still_ours(self) -> bool:
        locked = self._files.locked.get(self._node.number) is self
        return locked and self._files.names.get(self._path) is self._node

    def release(self) -> None:
        if self._files.locked.get(self._node.number) is self:
            del self._files.locked[self._node.number]


class MemoryFiles(Files):
    """The file layer on such a drive."""

    def __init__(self, names_last_at_once: bool = False) -> None:
        self.names: dict[Path, Node] = {}
        self.locked: dict[int, Lock] = {}
        self._lasting: dict[Path, Node] = {}
        self._at_once = names_last_at_once
        self._open: dict[int, tuple[Node, int]] = {}
        self._count = 100

    retry_waits_s = ()

    def kill(self) -> None:
        """End the program: what it wrote is still seen by others."""
        self._open.clear()
        self.locked.clear()

    def power_cut(self) -> None:
        """End everything: only what is on the drive is left."""
        self.kill()
        if not self._at_once:
            self.names = dict(self._lasting)
        for node in self.names.values():
            node.seen[:] = node.drive
            node.dirty.clear()

    def lose(self, fd: int) -> None:
        """Fail a flush: what was dirty looks clean and is not on the drive."""
        self._node(fd).dirty.clear()

    def content(self, path: Path) -> bytes:
        return bytes(self.names[path].seen)

    def put(self, path: Path, data: bytes) -> None:
        """Have a file there, on the drive, whoever wrote it."""
        node = self.names.get(path) or self._new(path)
        node.seen[:] = data
        node.drive[:] = data
        node.dirty.clear()
        self._lasting = dict(self.names)

    def create(self, path: Path) -> int:
        if path in self.names:
            raise FileExistsError(errno.EEXIST, "it is there")
        return self._descriptor(self._new(path))

    def open(self, path: Path, *, write: bool) -> int:
        return self._descriptor(self._named(path))

    def read(self, fd: int, count: int) -> bytes:
        node, place = self._open[fd]
        part = bytes(node.seen[place : place + count])
        self._open[fd] = (node, place + len(part))
        return part

    def write(self, fd: int, data: bytes | memoryview) -> int:
        node = self._node(fd)
        start = len(node.seen)
        node.seen += data
        node.dirty.append((start, len(node.seen)))
        return len(data)

    def overwrite(self, path: Path, place: int, data: bytes) -> None:
        node = self._named(path)
        node.seen[place : place + len(data)] = data
        node.dirty.append((place, place + len(data)))

    def sync(self, fd: int) -> None:
        self._node(fd).flush()

    def sync_folder(self, folder: Path) -> None:
        mine = {path: node for path, node in self.names.items() if path.parent == folder}
        others = {p: n for p, n in self._lasting.items() if p.parent != folder}
        self._lasting = {**others, **mine}

    def truncate(self, fd: int, size: int) -> None:
        node = self._node(fd)
        del node.seen[size:]
        node.dirty = [(start, min(end, size)) for start, end in node.dirty if start < size]

    def state(self, fd: int) -> FileState:
        return _state(self._node(fd))

    def state_at(self, path: Path) -> FileState:
        return _state(self._named(path))

    def close(self, fd: int) -> None:
        self._node(fd)
        del self._open[fd]

    def replace(self, source: Path, target: Path) -> None:
        self.names[target] = self._named(source)
        del self.names[source]

    def place_new(self, source: Path, target: Path) -> None:
        if target in self.names:
            raise FileExistsError(errno.EEXIST, "it is there")
        self.replace(source, target)

    def unlink(self, path: Path) -> None:
        self._named(path)
        del self.names[path]

    def lock(self, path: Path, wait_s: float) -> HeldLock:
        node = self.names.get(path) or self._new(path)
        if node.number in self.locked:
            raise TimeoutError("it is locked")
        self.locked[node.number] = Lock(self, path, node)
        return self.locked[node.number]

    def _new(self, path: Path) -> Node:
        self._count += 1
        self.names[path] = Node(self._count)
        return self.names[path]

    def _named(self, path: Path) -> Node:
        if path not in self.names:
            raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT))
        return self.names[path]

    def _descriptor(self, node: Node) -> int:
        self._count += 1
        self._open[self._count] = (node, 0)
        return self._count

    def _node(self, fd: int) -> Node:
        if fd not in self._open:
            raise OSError(errno.EBADF, os.strerror(errno.EBADF))
        return self._open[fd][0]


def _state(node: Node) -> FileState:
    return FileState(len(node.seen), (1, node.number), True)
