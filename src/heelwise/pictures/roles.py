"""Roles that parts of pictures play, and the states of valves with the shapes that stand for them.

A role is a name; screens give it a style and the SVG writer a colour. No meaning hangs on
colour: every state has a shape or letter of its own, in plain ASCII too.
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
    """How a valve stands; its value is the word for it and the role of its cells."""

    NOT_DONE = "not done"
    NEXT = "next"
    TRIAL = "trial"
    COUNTED = "counted"
    INSIDE = "inside"
    NEAR = "near"
    SHORT = "short"
    LONG = "long"
    ACCEPTED = "accepted"
    PROVED = "proved"
    BACKED_OFF = "backed off"


_GLYPHS: dict[ValveSign, tuple[str, str]] = {
    ValveSign.NOT_DONE: ("·", "."),
    ValveSign.NEXT: ("►", ">"),
    ValveSign.TRIAL: ("t", "t"),
    ValveSign.COUNTED: ("c", "c"),
    ValveSign.INSIDE: ("○", "o"),
    ValveSign.NEAR: ("◐", "n"),
    ValveSign.SHORT: ("▼", "-"),
    ValveSign.LONG: ("▲", "+"),
    ValveSign.ACCEPTED: ("◆", "a"),
    ValveSign.PROVED: ("●", "P"),
    ValveSign.BACKED_OFF: ("↑", "b"),
}

_MEANINGS: dict[ValveSign, str] = {
    ValveSign.TRIAL: "trial pushrod in, rocker tight",
    ValveSign.COUNTED: "counted, touched since: count again",
    ValveSign.NEAR: "inside, near a limit",
    ValveSign.SHORT: "short: too little preload",
    ValveSign.LONG: "long: too much preload",
    ValveSign.ACCEPTED: "accepted as is",
    ValveSign.BACKED_OFF: "rocker backed off",
}


ASCII_GLYPHS: dict[tuple[str, str], str] = {
    (shape, state.value): letter for state, (shape, letter) in _GLYPHS.items()
}
"""By shape and role, what stands for a state in plain ASCII."""


def glyph(state: ValveSign, ascii_only: bool = False) -> str:
    """The one-cell shape or letter of a state; no two are alike."""
    return _GLYPHS[state][1 if ascii_only else 0]


def meaning(state: ValveSign) -> str:
    """What a state means, in a few words for a legend."""
    return _MEANINGS.get(state, state.value)


def legend(states: Iterable[ValveSign], ascii_only: bool = False) -> list[tuple[str, str, str]]:
    """Glyph, role and meaning of each state shown, in the order of a valve's progress."""
    shown = set(states)
    return [(glyph(s, ascii_only), s.value, meaning(s)) for s in ValveSign if s in shown]
