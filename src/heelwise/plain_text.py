"""Text from outside made safe to show: control characters become visible ones; wrapped lines."""

import re
from collections.abc import Iterable

Part = tuple[str, str]
"""A piece of text and its tone."""

_HIDDEN = (
    "\x00-\x1f\x7f-\x9f"  # C0, DEL, C1
    "\xad\u061c\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff"  # invisible, bidirectional
    "\ufff9-\ufffb\U000e0000-\U000e007f"  # annotations and tags
    "\ud800-\udfff"  # lone surrogates, which no encoding takes
)
_ALL_HIDDEN = re.compile(f"[{_HIDDEN}]")
_WHITE = re.compile(r"[ \t\r\n\f\v]+")


def _visible(found: re.Match[str]) -> str:
    code = ord(found.group())
    return "^" + chr(code ^ 0x40) if code < 0x20 or code == 0x7F else f"<U+{code:04X}>"


def _visible_but_newlines(found: re.Match[str]) -> str:
    return found.group() if found.group() in "\n\t" else _visible(found)


def plain(text: str, keep_newlines: bool = False) -> str:
    """Make every control character of a text visible; line feeds and tabs can be kept.

    C0 controls and DEL come in caret notation (ESC as ``^[``); C1 controls, invisible and
    bidirectional format characters and lone surrogates as ``<U+202E>``. Nothing is dropped, and
    doing it twice changes nothing.
    """
    return _ALL_HIDDEN.sub(_visible_but_newlines if keep_newlines else _visible, text)


def one_line(text: str, limit: int = 200) -> str:
    """Lay a text out on one line, white space run together, control characters visible.

    At most `limit` characters, at least 1; a cut is shown by an ellipsis at the end.
    """
    shown = plain(_WHITE.sub(" ", text).strip()[: limit + 1])
    return shown if len(shown) <= limit else shown[: limit - 1] + "…"


def wrapped(parts: Iterable[Part], width: int, indent: int = 0) -> list[list[Part]]:
    """Wrap one line, those after the first indented; a word too long for a line is cut."""
    width = max(width, indent + 4)
    word = re.compile(rf"\S{{1,{width - indent}}}\s*|\s+")
    rows: list[list[Part]] = [[]]
    used = 0
    for text, tone in parts:
        for piece in word.findall(plain(text)):
            if used + len(piece.rstrip()) > width and used > indent:
                rows.append([(" " * indent, "plain")])
                used = indent
            rows[-1].append((piece, tone))
            used += len(piece)
    return rows


def all_wrapped(rows: Iterable[Iterable[Part]], width: int, indent: int = 0) -> list[list[Part]]:
    """Wrap several lines."""
    return [line for row in rows for line in wrapped(row, width, indent)]
