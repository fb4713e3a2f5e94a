"""Roles that parts of pictures play, and the states of valves with the shapes that stand for them.

A role is a name; screens give it a style and the SVG writer a color. No meaning hangs on
color: every state has a shape or letter of its own, in plain ASCII too.
"""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum


class Role(StrEnum):
    """Parts of pictures that aren't a valve's state."""

    LABEL = "label"
    FAINT = "faint"
    CRANK = "crank"
    POSITION = "position"
    TARGET = "target"
    ARC = "arc"
    MARK = "mark"
    LOBE_INTAKE = "intake lobe"
    LOBE_EXHAUST = "exhaust lobe"
    OVERLAP = "overlap"
    MARGIN = "margin"
    HEEL = "heel"
    RANGE = "range"
    FREE = "free"
    """A valve that can be worked on where the crank stands."""
    GHOST = "ghost"
    """The crank at an angle it is only imagined at."""
    WINDOW = "window"
    NEVER_PAST = "never past"


class ValveSign(StrEnum):
    """How a valve stands, in the order of its progress.

    The value is the word for it and the role of its cells; `shape` and `letter` fill one cell, the
    letter in plain ASCII; `meaning` is for a legend.
    """

    _value_: str
    shape: str
    letter: str
    meaning: str

    def __new__(cls, word: str, shape: str = "", letter: str = "", meaning: str = "") -> ValveSign:
        """Keep what stands for a state with it."""
        sign = str.__new__(cls, word)
        sign._value_, sign.shape, sign.letter, sign.meaning = word, shape, letter, meaning or word
        return sign

    NOT_DONE = "not done", "·", "."
    NEXT = "next", "►", ">"
    TRIAL = "trial", "t", "t", "trial pushrod in, rocker tight"
    COUNTED = "counted", "c", "c", "counted, touched since: count again"
    INSIDE = "inside", "○", "o"
    NEAR = "near", "◐", "n", "inside, near a limit"
    SHORT = "short", "▼", "-", "short: too little preload"
    LONG = "long", "▲", "+", "long: too much preload"
    ACCEPTED = "accepted", "◆", "a", "accepted as is"
    PROVED = "proved", "●", "P"
    BACKED_OFF = "backed off", "↑", "b", "rocker backed off"


def glyph(state: ValveSign, ascii_only: bool = False) -> str:
    """The one-cell shape or letter of a state; no two are alike."""
    return state.letter if ascii_only else state.shape


def legend(states: Iterable[ValveSign], ascii_only: bool = False) -> list[tuple[str, str, str]]:
    """Glyph, role and meaning of each state shown, in the order of a valve's progress."""
    shown = set(states)
    return [(glyph(s, ascii_only), s.value, s.meaning) for s in ValveSign if s in shown]
