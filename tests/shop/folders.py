"""Records for tests of a folder: finished ones with other names, days and seals."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import datetime, timedelta
from hashlib import sha256
from pathlib import Path

SAMPLE = Path(__file__).parents[2] / "sample_builds" / "harbor-launch-six-port.toml"
_AT = re.compile(r"(?m)^(at|begun) = (.+)$")
_SEAL = re.compile(rb'\nseal = "[0-9a-f]{64}"\n')


def sealed_anew(data: bytes) -> bytes:
    """A record's bytes with every seal made of what stands before it."""
    made = b""
    for part in _SEAL.split(data)[:-1]:
        made += part + b"\n"
        made += b'seal = "%s"\n' % sha256(made).hexdigest().encode()
    return made


def another(
    path: Path,
    days: int = 0,
    changes: Mapping[str, str] = {},
    source: Path = SAMPLE,
) -> Path:
    """Write a record like a finished one: named by its file, later by some days, texts replaced."""

    def later(found: re.Match[str]) -> str:
        return f"{found[1]} = {datetime.fromisoformat(found[2]) + timedelta(days=days)}"

    text = _AT.sub(later, source.read_text(encoding="utf-8"))
    for old, new in {f'name = "{source.stem}"': f'name = "{path.stem}"', **changes}.items():
        assert old in text, old
        text = text.replace(old, new)
    path.write_bytes(sealed_anew(text.encode()))
    return path
