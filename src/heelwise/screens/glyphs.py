"""The few signs the screens draw with, and plain ones for consoles that are not UTF-8."""

from __future__ import annotations

import sys
from dataclasses import dataclass


@dataclass(frozen=True)
class Glyphs:
    """One set of signs. Every one is a single cell wide."""

    good: str
    warn: str
    bad: str
    short: str
    long: str
    proved: str
    inside: str
    near: str
    none: str
    slack: str
    next: str
    bullet: str
    full: str
    empty: str
    rule: str
    dot: str
    more: str
    blocks: bool


RICH = Glyphs(
    good="✓",
    warn="!",
    bad="✗",
    short="▼",
    long="▲",
    proved="●",
    inside="○",
    near="◐",
    none="·",
    slack="~",
    next="▶",
    bullet="▪",
    full="█",
    empty="░",
    rule="─",
    dot="·",
    more="…",
    blocks=True,
)

PLAIN = Glyphs(
    good="+",
    warn="!",
    bad="x",
    short="v",
    long="^",
    proved="*",
    inside="o",
    near="%",
    none=".",
    slack="~",
    next=">",
    bullet="-",
    full="#",
    empty=".",
    rule="-",
    dot="-",
    more=">",
    blocks=False,
)

_in_use = RICH


def glyphs() -> Glyphs:
    """The set in use."""
    return _in_use


def use(chosen: Glyphs) -> None:
    """Draw with this set from now on."""
    global _in_use
    _in_use = chosen


def choose_by(encoding: str | None) -> Glyphs:
    """The set an encoding can carry: the plain one unless it is a form of Unicode.

    Args:
        encoding: A stream's encoding ("utf-8", "latin-1"), or None where it has none.
    """
    return RICH if (encoding or "").lower().replace("_", "-").startswith("utf") else PLAIN


def fit_console() -> None:
    """Use the set the console can show, and let nothing it can't show stop the program."""
    stream = sys.__stderr__
    chosen = choose_by(getattr(stream, "encoding", None))
    use(chosen)
    reconfigure = getattr(stream, "reconfigure", None)
    if chosen is PLAIN and reconfigure is not None:
        reconfigure(errors="replace")
