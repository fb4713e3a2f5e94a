"""Text made into content: made plain, never read as markup, in one of a few tones."""

from __future__ import annotations

from collections.abc import Iterable

from textual.content import Content

from heelwise.plain_text import plain

TONES = {
    "plain": "",
    "strong": "bold",
    "quiet": "$hw-quiet",
    "good": "bold $hw-good",
    "warn": "bold $hw-warn",
    "bad": "bold $hw-bad",
    "next": "bold $hw-next",
    "line": "$hw-line",
    "key": "bold reverse",
    "gone": "strike $hw-quiet",
    "danger": "bold $hw-on-danger on $hw-danger",
    "warning": "bold $hw-on-warning on $hw-warning",
    "caution": "bold $hw-on-caution on $hw-caution",
    "notice": "bold $hw-on-notice on $hw-notice",
}
"""What each tone looks like. A tone never stands alone: a word or a shape says the same."""

ROLE_TONES = {
    "not done": "quiet",
    "next": "next",
    "trial": "quiet",
    "counted": "warn",
    "inside": "good",
    "near": "warn",
    "short": "bad",
    "long": "bad",
    "accepted": "warn",
    "proved": "good",
    "backed off": "warn",
    "label": "plain",
    "faint": "line",
    "crank": "strong",
    "position": "strong",
    "target": "next",
    "arc": "next",
    "mark": "strong",
    "intake lobe": "next",
    "exhaust lobe": "warn",
    "overlap": "bad",
    "margin": "quiet",
    "heel": "quiet",
    "range": "next",
    "window": "good",
    "never past": "bad",
}
"""The tone each role of a picture is drawn in."""

Part = tuple[str, str]
"""A piece of text and its tone."""


def shown(text: str, tone: str = "plain") -> Content:
    """A text in one tone, safe to show whatever it holds."""
    return content([(text, tone)])


def content(parts: Iterable[Part]) -> Content:
    """Pieces of text put together; line feeds are kept, other control characters made visible."""
    return Content.assemble(*((plain(t, keep_newlines=True), TONES[tone]) for t, tone in parts))


def lines(rows: Iterable[Iterable[Part]]) -> Content:
    """Rows of pieces, one under the other."""
    return Content("\n").join([content(row) for row in rows])
