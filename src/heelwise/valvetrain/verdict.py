"""What a reading is worth: window, verdict, preload and the turns never to pass."""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from math import isfinite

from heelwise.valvetrain.figures import length_text, turns_text

SLACK_TURNS = 1e-9
"""Limits are compared with this much slack, so that 0.1 + 0.2 is not over 0.3."""

AS_READ = "as read"
GUARDED = "guarded"
RULES = (AS_READ, GUARDED)
"""The decision rules a procedure may name."""

READABLE_TURNS = 0.125
"""An eighth of a turn: a window narrower than this can't be hit by counting eighths."""

MAKERS_SHEET = "the maker's sheet"


class Word(StrEnum):
    """A reading against its window."""

    SHORT = "short"
    INSIDE = "inside"
    LONG = "long"


class Outcome(StrEnum):
    """What the decision rule makes of a reading (words of ILAC-G8:09/2019, 4.2.3)."""

    PASS = "pass"
    CONDITIONAL_PASS = "conditional pass"
    CONDITIONAL_FAIL = "conditional fail"
    FAIL = "fail"


@dataclass(frozen=True)
class WindowSheet:
    """Limits as a sheet gives them, in turns and in mm of preload, and whose they are."""

    least_turns: float | None = None
    most_turns: float | None = None
    least_preload_mm: float | None = None
    most_preload_mm: float | None = None
    source: str = MAKERS_SHEET


@dataclass(frozen=True)
class Window:
    """Least and most turns allowed, where they come from, and remarks."""

    least_turns: float
    most_turns: float
    said: str
    notes: tuple[str, ...] = ()

    @property
    def middle(self) -> float:
        """The turns halfway between the limits."""
        return (self.least_turns + self.most_turns) / 2


@dataclass(frozen=True)
class Verdict:
    """A reading's word, whether a limit is near it, the rule used and its outcome."""

    word: Word
    near: bool
    rule: str
    outcome: Outcome = Outcome.PASS


def preload_mm(turns: float, travel_mm: float, seat_turns: float = 0.0) -> float:
    """Give the preload that turns make: (turns − seat turns) × travel per turn.

    Args:
        turns: Turns from zero lash.
        travel_mm: Plunger travel for one turn in mm.
        seat_turns: Turns that seat the rocker without moving the plunger.

    Returns:
        Preload in mm; 0 where the turns don't reach past the seating.
    """
    return max(0.0, (turns - seat_turns) * travel_mm)


def turns_for(preload: float, travel_mm: float, seat_turns: float = 0.0) -> float:
    """Give the turns that make a preload: preload / travel per turn + seat turns.

    Args:
        preload: Preload in mm.
        travel_mm: Plunger travel for one turn in mm, above 0.
        seat_turns: Turns that seat the rocker without moving the plunger.

    Returns:
        Turns from zero lash.

    Raises:
        ValueError: The travel is not above 0.
    """
    check_travel(travel_mm)
    return preload / travel_mm + seat_turns


def window_in_turns(sheet: WindowSheet, travel_mm: float, seat_turns: float = 0.0) -> Window:
    """Put a sheet's limits into turns; where turns and preload both hold, the tighter of each.

    Args:
        sheet: The limits given; each of least and most at least once.
        travel_mm: Plunger travel for one turn in mm, in use.
        seat_turns: Turns that seat the rocker without moving the plunger.

    Returns:
        The window. Where turns and preload can't both hold, or only within less than can
        be counted, the turns, with a note that the sheets disagree and both figures.

    Raises:
        ValueError: A limit is missing, below 0 or no number, a window is upside down, or
            limits that disagree leave no window.
    """
    check_travel(travel_mm)
    _check_pair("turns", sheet.least_turns, sheet.most_turns)
    _check_pair("preload", sheet.least_preload_mm, sheet.most_preload_mm)
    by_preload = (
        _in_turns(sheet.least_preload_mm, travel_mm, seat_turns),
        _in_turns(sheet.most_preload_mm, travel_mm, seat_turns),
    )
    least = max(_given(sheet.least_turns, by_preload[0]), default=None)
    most = min(_given(sheet.most_turns, by_preload[1]), default=None)
    if least is None or most is None:
        missing = "least" if least is None else "most"
        raise ValueError(f"the window has no {missing}: give {missing}_turns or {missing}_preload")
    agree = least <= most + SLACK_TURNS
    if agree and not _unreadable(sheet, least, most):
        return Window(least, max(least, most), _said(sheet))
    if sheet.least_turns is None or sheet.most_turns is None:
        raise ValueError(
            f"the limits leave no window with {length_text(travel_mm)} a turn: at least "
            f"{turns_text(least)} and at most {turns_text(most)}; give both limits in turns"
        )
    note = _disagreement(sheet, by_preload, travel_mm, agree)
    return Window(sheet.least_turns, sheet.most_turns, f"{sheet.source}: turns", (note,))


def judge(turns: float, window: Window, resolution: float = 0.125, rule: str = AS_READ) -> Verdict:
    """Judge a reading as read; limits are inside.

    A limit is near when it lies within half the resolution of the reading, itself
    included: then the same eighths read again don't settle it. The guarded rule takes
    that half as its guard band (ILAC-G8:09/2019, 4.2.3): the word stays as read, and the
    outcome says whether it was a pass or a conditional one.

    Args:
        turns: The reading.
        window: The turns allowed.
        resolution: Smallest step read, in turns.
        rule: ``as read`` or ``guarded``.

    Returns:
        The verdict, with the rule in words to be kept with it.

    Raises:
        ValueError: The reading is no number, the resolution is below 0, or the rule is unknown.
    """
    if not isfinite(turns):
        raise ValueError(f"turns {turns!r} should be a number")
    if not (isfinite(resolution) and resolution >= 0):
        raise ValueError(f"resolution {resolution!r} should be 0 turns or more")
    if rule not in RULES:
        raise ValueError(f"rule {rule!r} is not known: use one of {', '.join(RULES)}")
    word = _word(turns, window)
    to_limit = min(abs(turns - window.least_turns), abs(turns - window.most_turns))
    near = to_limit <= resolution / 2 + SLACK_TURNS
    if rule == AS_READ:
        outcome = Outcome.PASS if word is Word.INSIDE else Outcome.FAIL
        return Verdict(word, near, AS_READ, outcome)
    outcome = _guarded(word, near)
    said = (
        f"guarded: {outcome} (guard band {turns_text(resolution / 2)}, half the reading's "
        "resolution; ILAC-G8:09/2019, 4.2.3)"
    )
    return Verdict(word, near, said, outcome)


def _word(turns: float, window: Window) -> Word:
    if turns < window.least_turns - SLACK_TURNS:
        return Word.SHORT
    return Word.LONG if turns > window.most_turns + SLACK_TURNS else Word.INSIDE


def _guarded(word: Word, near: bool) -> Outcome:
    if word is Word.INSIDE:
        return Outcome.CONDITIONAL_PASS if near else Outcome.PASS
    return Outcome.CONDITIONAL_FAIL if near else Outcome.FAIL


def check_travel(travel_mm: float) -> None:
    """Refuse a travel per turn that is not above 0 mm, with a ValueError."""
    if not (isfinite(travel_mm) and travel_mm > 0):
        raise ValueError(f"travel per turn {travel_mm!r} mm should be above 0")


def _in_turns(preload: float | None, travel_mm: float, seat_turns: float) -> float | None:
    return None if preload is None else turns_for(preload, travel_mm, seat_turns)


def _given(*limits: float | None) -> list[float]:
    return [limit for limit in limits if limit is not None]


def _check_pair(name: str, least: float | None, most: float | None) -> None:
    for limit in _given(least, most):
        if not (isfinite(limit) and limit >= 0):
            raise ValueError(f"{name} limit {limit!r} should be 0 or more")
    if least is not None and most is not None and least > most:
        raise ValueError(
            f"the window in {name} is upside down: least {least:g} is above most {most:g}"
        )


def _said(sheet: WindowSheet) -> str:
    turns = bool(_given(sheet.least_turns, sheet.most_turns))
    preload = bool(_given(sheet.least_preload_mm, sheet.most_preload_mm))
    if turns and preload:
        return f"{sheet.source}: turns and preload, the tighter of each"
    return f"{sheet.source}: turns" if turns else f"{sheet.source}: preload / travel per turn"


def _unreadable(sheet: WindowSheet, least: float, most: float) -> bool:
    """Say whether preload cuts a window of turns down to less than can be counted."""
    if sheet.least_turns is None or sheet.most_turns is None:
        return False
    cut = most - least < sheet.most_turns - sheet.least_turns - SLACK_TURNS
    return cut and most - least < READABLE_TURNS - SLACK_TURNS


def _disagreement(
    sheet: WindowSheet,
    by_preload: tuple[float | None, float | None],
    travel_mm: float,
    agree: bool,
) -> str:
    preload = _range(length_text, sheet.least_preload_mm, sheet.most_preload_mm)
    turns = _range(turns_text, sheet.least_turns, sheet.most_turns)
    how = "have less than an eighth of a turn in common" if agree else "can't both hold"
    return (
        f"The sheets disagree: {turns} and a preload of {preload} {how} with "
        f"{length_text(travel_mm)} a turn, which makes that preload "
        f"{_range(turns_text, *by_preload)}. The turns are kept."
    )


def _range(show: Callable[[float], str], least: float | None, most: float | None) -> str:
    if least is None or most is None:
        return f"at least {show(least)}" if least is not None else f"at most {show(most or 0.0)}"
    return f"{show(least)} to {show(most)}"
