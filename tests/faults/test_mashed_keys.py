"""The real full screen, keys mashed two in a write, or bytes that are no keys, then killed."""

from __future__ import annotations

import random
import re
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.faults.killing import Counts, HandsOff
from tests.faults.terminal import Terminal

_F_KEYS = [
    "\x1bOP",
    "\x1bOQ",
    "\x1bOR",
    "\x1bOS",
    *(f"\x1b[{n}~" for n in (15, 17, 18, 19, 20, 23)),
]
_OTHERS = ["\x1b", "\r", "\x1b[A", "\x1b[B", "\x1b[5~", "\x1b[6~", "\x7f", "\t", " "]
_PRINTED = list("12345ynsdutcxr0.7/")
_KEYS: list[bytes] = [key.encode() for key in (*_F_KEYS, *_OTHERS, *_PRINTED, *"yyy111\r\r\r")]
_JUNK: list[bytes] = [
    *(b"\xb0", b"\xff", b"\xc3", b"\xf0\x9f\x94", b"\xed\xa0\x80", b"630\xb0\r", b"\xfe\r\r"),
    *(b"\x1b[", b"\x1b[9999;", b"\x1bP", b"\x1b]52;c;", b"\x00", b"\x9b31m", b"\x1b[200~\xe9"),
    *("²\r".encode(), "\u202e1\r".encode(), b"1" * 3000 + b"\r", b"\x1b[<0;5;5M", b"\x03", b"\x1a"),
]
Write = Callable[[random.Random], bytes]

_KEPT = re.compile(r"(\d+) kept")


def pair(chance: random.Random) -> bytes:
    """Two keys in one write, the same or not."""
    key = chance.choice(_KEYS)
    return key + (key if chance.random() < 0.6 else chance.choice(_KEYS))


def junk(chance: random.Random) -> bytes:
    """Bytes that no keyboard sends, and now and then a key."""
    if chance.random() < 0.3:
        return chance.choice(_KEYS)
    if chance.random() < 0.3:
        return chance.randbytes(chance.randint(1, 12)).replace(b"\x11", b"")
    return chance.choice(_JUNK)


class Masher:
    """One build after another, carried on by the virtual hands and mashed on the full screen."""

    def __init__(self, folder: Path, seed: int) -> None:
        self.counts = Counts()
        self._folder, self._chance = folder, random.Random(seed)
        self._build = self._next_build()

    def _next_build(self) -> HandsOff:
        seed = self._chance.randrange(1000)
        number = len(list(self._folder.iterdir()))
        return HandsOff(self._folder / f"build-{number}", "single", seed, self.counts)

    def turn(self, write: Write) -> None:
        """Some entries by the virtual hands, then a mashing that ends in a kill."""
        watched = self._build.watched
        while not self._build.kill_once(self._chance) or watched.path is None:
            if b'\nkind = "signed off"\n' in watched.known:
                self._build = self._next_build()
                watched = self._build.watched
        words = [word for word in self._build.words if word not in ("--hands-off", "--tell")]
        shown = 0
        with Terminal(*words) as screen:
            screen.until("the walk", lambda: "F1" in screen.shown)
            for _ in range(self._chance.randint(1, 15)):
                if not screen.alive:
                    break
                screen.send(write(self._chance))
                end = time.monotonic() + self._chance.uniform(0, 0.2)
                while screen.read(0.01) or time.monotonic() < end:
                    found = _KEPT.search(screen.shown)
                    shown = max(shown, int(found[1]) if found else 0)
            screen.kill()
            self.counts.kills += 1
        assert b"Traceback" not in screen.out
        assert b"has a fault" not in screen.out, screen.shown
        assert not list(watched.folder.glob("*.crash-*"))
        watched.look()
        assert watched.count >= shown, "an entry shown as kept is not there"


@pytest.mark.parametrize("write", [pair, junk])
def test_mashed_and_killed(write: Write, tmp_path: Path) -> None:
    masher = Masher(tmp_path, seed=31)
    for _ in range(2):
        masher.turn(write)


@pytest.mark.long
@pytest.mark.parametrize("write", [pair, junk])
def test_mashed_and_killed_two_hundred_times(
    write: Write, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    masher = Masher(tmp_path, seed=32)
    for _ in range(200):
        masher.turn(write)
    with capsys.disabled():
        print(f"\n{write.__name__}: 200 mashed; {masher.counts}")
