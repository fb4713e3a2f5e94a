"""Small records for the tests, sealed by the tests' own few lines."""

import hashlib
from collections.abc import Sequence

HEAD = 'format = 1\n\n[engine]\ncard = "v8-15426378"\n\n[build]\nname = "block-1"\n'


def entry(number: int, token: str = "") -> str:
    """An entry's text, told apart from all others by its token."""
    return (
        f'\n[[entry]]\nnumber = {number}\nat = 2026-03-02T10:00:00+01:00\nby = "AB"\n'
        f'kind = "noted"\ntext = "token {token or number}."\n'
    )


def sealed(parts: Sequence[str | bytes]) -> bytes:
    """Seal each part as the design says: a hash of every byte before the seal's line."""
    data = b""
    for part in parts:
        data += part.encode() if isinstance(part, str) else part
        lines = data.replace(b"\r\n", b"\n")
        data += b'seal = "' + hashlib.sha256(lines).hexdigest().encode() + b'"\n'
    return data


def record(count: int) -> bytes:
    """A whole record of so many entries."""
    return sealed([HEAD + entry(1), *(entry(n) for n in range(2, count + 1))])
