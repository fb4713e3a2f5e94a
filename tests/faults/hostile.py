"""Text that means harm, and what must never reach a terminal of it."""

from __future__ import annotations

import re

_CONTROLS = (
    *(chr(code) for code in (0, 7, 8, 9, 10, 13, 14, 27, 127)),
    *(chr(code) for code in (0x80, 0x84, 0x85, 0x90, 0x9B, 0x9C, 0x9D, 0x9F)),
    *"\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f\u2028\u2029",
)
TITLE = "\x1b]0;zqtitle\x07"
COLOUR = "\x1b[3;7;9mzqcolour"
CLEAR = "\x1b[2;1Hzqclear\x1b[3J"
EIGHT_BIT = "\x9b3;7;9mzqeight"
MARKUP = "[@click=app.leave]zqclick[/] [bold red]zqbold[/] [/] [$x] \\[ {zqbrace} %s"
EVERY = "".join(f"{control}zq{ord(control):04x}" for control in _CONTROLS)
PAYLOAD = f"{TITLE}{COLOUR}{CLEAR}{EIGHT_BIT}{MARKUP}{EVERY}"
"""Every control character with a tail of its own, so that theirs are told from a program's own."""
ON_ONE_LINE = "".join(c for c in PAYLOAD if c.isprintable())
"""What of it fits where control characters are refused."""

POINTER = b"\x1b]22;default\x07"
"""The screen library's own word to the terminal about the mouse pointer."""

NOT_PLAIN = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]"
)
"""What no command prints, whatever it is given; a tab and a line end it may."""


_HUGE = "zq" * (600 << 10)
ODD: dict[str, bytes] = {
    "two megabytes": f'format = 1\n[wrench]\nname = "{_HUGE}{_HUGE}"\n'.encode(),
    "one long value": f'format = 1\n[wrench]\nname = "{_HUGE[:900_000]}"\n'.encode(),
    "one long key": f"format = 1\n{_HUGE[:900_000]} = 1\n".encode(),
    "deep arrays": b"format = 1\na = " + b"[" * 100_000,
    "deep tables": b"format = 1\na = " + b"{a = " * 100_000,
    "20,000 parts": b"format = 1\n" + b"a." * 20_000 + b"a = 1\n",
    "a table of 20,000 parts": b"format = 1\n[" + b"a." * 20_000 + b"a]\n",
    "5,000 digits": b"format = 1\n[engine]\nfiring_order = [" + b"9" * 5000 + b"]\n",
    "not a number": b"format = 1\n[cam]\nintake_duration = nan\n",
    "beyond all numbers": b"format = 1\n[cam]\nintake_duration = 1e400\n",
    "a byte-order mark": b"\xef\xbb\xbfformat = 1\n",
    "UTF-16": "format = 1\n".encode("utf-16"),
    "UTF-32": "format = 1\n".encode("utf-32"),
    "a wrong byte": b'format = 1\n[wrench]\nname = "\xff\x1b[31m"\n',
    "raw control characters": f'format = 1\n[wrench]\nname = "{PAYLOAD}"\n'.encode(
        "utf-8", "surrogatepass"
    ),
    "a raw key": f'format = 1\n"{PAYLOAD}" = 1\n'.encode("utf-8", "surrogatepass"),
    "no TOML at all": b"\x7fELF\x00\x01\x1b[2J" * 100,
    "nothing": b"",
    "many tables": b"format = 1\n" + b"[[reading]]\n" * 20_000,
    "many keys": b"format = 1\n" + b"".join(b"k%d = 1\n" % n for n in range(5_000)),
    "a card elsewhere": b'format = 1\n[engine]\ncard = "../../../../etc/passwd"\n',
    "a card with a path": b'format = 1\n[engine]\ncard = "engines/v8-15426378"\n',
}
"""Files no one should have made, by what is odd about them."""


def lines_are_plain(out: str) -> None:
    """Nothing printed line by line holds a control character of anyone's."""
    found = NOT_PLAIN.search(out.replace("\r\n", "\n"))
    assert found is None, out[max(0, found.start() - 60) : found.end() + 60]


def nothing_of_theirs(out: bytes) -> None:
    """No control character of the payload is in a full screen's bytes, whatever else is."""
    for part in (TITLE, COLOUR, CLEAR, EIGHT_BIT):
        assert part.encode() not in out, part
    for part in ("\x1b]0;", "\x1b[3;7;9m", "\x1b[2;1Hzq", "\x1b[3J", "\x9b"):
        assert part.encode() not in out, part
    for control in _CONTROLS:
        tail = f"{control}zq{ord(control):04x}".encode()
        assert tail not in out, tail
    text = out.replace(POINTER, b"").decode("utf-8", "replace")
    found = re.search("[\x07\x0e\x7f\x80-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069]", text)
    assert found is None, text[max(0, found.start() - 60) : found.end() + 60]


def without_escapes(out: bytes) -> bytes:
    """A program's output without the escapes the screen library makes."""
    return re.sub(rb"\x1b\[[0-9;?]*[ -/]*[@-~]|\x1b[()][0-9A-B]", b"", out)
