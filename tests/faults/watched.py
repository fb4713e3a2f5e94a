"""A record watched from outside: what was once shown as kept must stay, byte for byte."""

from __future__ import annotations

import hashlib
import re
import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import Any

_SEAL = re.compile(rb'^seal = "([0-9a-f]{64})"\n', re.MULTILINE)


def sealed_part(data: bytes) -> tuple[bytes, int]:
    """The bytes up to the last seal that agrees, and how many seals agree.

    Worked out anew here, so that the program's own reading is not the judge of itself.
    """
    end = count = 0
    for found in _SEAL.finditer(data):
        body = data[: found.start()]
        assert hashlib.sha256(body).hexdigest().encode() == found[1], f"seal {count + 1} is wrong"
        end, count = found.end(), count + 1
    return data[:end], count


def entries_in(data: bytes) -> list[dict[str, Any]]:
    """The sealed entries of a record, by the standard library's TOML reader alone."""
    part, count = sealed_part(data)
    entries: list[dict[str, Any]] = tomllib.loads(part.decode()).get("entry", [])
    assert [entry["number"] for entry in entries] == list(range(1, count + 1))
    return entries


class Watched:
    """One folder with one build, looked at between runs of the program."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.known = b""
        self.count = 0
        self.told: list[int] = []

    @property
    def path(self) -> Path | None:
        """The folder's one record, or None before it is there."""
        found = sorted(self.folder.glob("*.toml"))
        assert len(found) <= 1, f"more than one build: {found}"
        return found[0] if found else None

    def look(self, told: Iterable[int] = ()) -> None:
        """Check the record after a run that told these entries as kept."""
        now = list(told)
        assert now == sorted(set(now)), "an entry was told twice"
        assert not now or not self.told or now[0] > self.told[-1], "an entry was told twice"
        self.told += now
        path = self.path
        if path is None:
            assert self.told == []
            assert self.known == b""
            return
        data = path.read_bytes()
        part, count = sealed_part(data)
        assert count >= 1, "a record without a sealed entry"
        assert part.startswith(self.known), "what was kept before is not there any more"
        assert count >= max(self.told, default=0), "an entry told as kept is not there"
        self.known, self.count = part, count

    def entries(self) -> list[dict[str, Any]]:
        """The sealed entries now."""
        path = self.path
        assert path is not None
        return entries_in(path.read_bytes())
