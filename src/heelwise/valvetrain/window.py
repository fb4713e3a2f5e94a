"""What a reading is worth: the window in turns, the verdict, the turns never to pass."""

from dataclasses import dataclass, replace
from enum import StrEnum
from math import floor

from heelwise.valvetrain.figures import EIGHTH, SLACK_TURNS, turns_text
from heelwise.valvetrain.travel import TravelInPlay
from heelwise.wording import Length, Text, text

AS_READ = "as read"  # the decision rule unless a procedure names the other, "guarded"
RESERVE_TURNS = 0.25  # kept back before a bottomed plunger: common practice, no source
SHOWN_TURNS = (1 / 16, 0.01)
"""Steps a ceiling is brought down to where the reading's own would leave no window."""


class Word(StrEnum):
    """A reading against its window."""

    SHORT = "short"
    INSIDE = "inside"
    LONG = "long"


class LashWord(StrEnum):
    """A lash against its limits."""

    TIGHT = "tight"
    INSIDE = "inside"
    LOOSE = "loose"


Limits = tuple[float, float]
"""Least and most, the least first."""


@dataclass(frozen=True)
class WindowSheet:
    """Limits as a sheet gives them, in turns, in mm of preload or in both, and whose they are."""

    turns: Limits | None = None
    preload_mm: Limits | None = None
    source: str = "the maker's sheet"


@dataclass(frozen=True)
class Window:
    """Least and most turns allowed, where they come from, and remarks."""

    least_turns: float
    most_turns: float
    source: str
    notes: tuple[str, ...] = ()

    @property
    def middle(self) -> float:
        """The turns halfway between the limits."""
        return (self.least_turns + self.most_turns) / 2


@dataclass(frozen=True)
class Verdict:
    """A reading's word, whether a limit is near it, and the decision rule in words."""

    word: Word
    near: bool
    rule: str


def preload_mm(turns: float, travel_mm: float, seat_turns: float = 0.0) -> float:
    """Preload: (turns − seat turns) × travel per turn; 0 where the turns only seat the rocker."""
    return max(0.0, (turns - seat_turns) * travel_mm)


def window_in_turns(sheet: WindowSheet, travel_mm: float, seat_turns: float = 0.0) -> Window:
    """Put a sheet's limits into turns; where turns and preload both hold, the tighter of each.

    Where they can't both hold, or only within less than can be counted: the turns, with a note.
    ValueError for a sheet without limits.
    """
    given, source = sheet.turns, sheet.source
    if sheet.preload_mm is None:
        if given is None:
            raise ValueError("the window isn't given: give its least and its most")
        return Window(*given, f"{source}: turns")
    least, most = (preload / travel_mm + seat_turns for preload in sheet.preload_mm)
    if given is None:
        return Window(least, most, f"{source}: preload / travel per turn")
    both = max(given[0], least), min(given[1], most)
    width, asked = both[1] - both[0], given[1] - given[0]
    readable = width >= EIGHTH - SLACK_TURNS or width >= asked - SLACK_TURNS
    if width >= -SLACK_TURNS and readable:
        source = f"{source}: turns and preload, the tighter of each"
        return Window(both[0], max(both), source)
    in_common = "have less than an eighth of a turn in common"
    note = text(
        "The sheets disagree: {} to {} and a preload of {} to {} {} with {} a turn, which makes "
        "that preload {} to {}. The turns are kept.",
        *map(turns_text, given),
        *map(Length, sheet.preload_mm),
        in_common if width >= -SLACK_TURNS else "can't both hold",
        Length(travel_mm),
        turns_text(least),
        turns_text(most),
    )
    return Window(*given, f"{source}: turns", (note,))


def judge(turns: float, window: Window, resolution: float = EIGHTH, rule: str = AS_READ) -> Verdict:
    """Judge a reading; limits are inside, compared with a slack of 1e-9 turn.

    Near: a limit lies within half the resolution of the reading, itself included. The guarded rule
    takes that half as its guard band (ILAC-G8:09/2019, 4.2.3); its text holds the outcome.
    """
    place, near = _against(turns, window.least_turns, window.most_turns, resolution)
    word = tuple(Word)[place]
    if rule == AS_READ:
        return Verdict(word, near, AS_READ)
    outcome = f"{'conditional ' if near else ''}{'pass' if word is Word.INSIDE else 'fail'}"
    guarded = (
        f"guarded: {outcome} (guard band {turns_text(resolution / 2)}, half the reading's "
        "resolution; ILAC-G8:09/2019, 4.2.3)"
    )
    return Verdict(word, near, guarded)


def judge_lash(
    lash_mm: float, least_mm: float, most_mm: float, step_mm: float
) -> tuple[LashWord, bool]:
    """A lash's word by the same rules, and whether a limit is near; `step_mm`: between gauges."""
    place, near = _against(lash_mm, least_mm, most_mm, step_mm)
    return tuple(LashWord)[place], near


def _against(value: float, least: float, most: float, step: float) -> tuple[int, bool]:
    """0 below the limits, 1 inside, 2 above; and whether one lies within half a step."""
    place = 0 if value < least - SLACK_TURNS else 2 if value > most + SLACK_TURNS else 1
    return place, min(abs(value - least), abs(value - most)) <= step / 2 + SLACK_TURNS


@dataclass(frozen=True)
class Ceiling:
    """Turns never to pass as they can be counted, their source, and as exactly worked out."""

    turns: float | None
    source: str
    exact_turns: float | None = None


def never_past(
    plunger_travel_mm: float | None,
    largest_travel_mm: float,
    reserve_turns: float = RESERVE_TURNS,
    hot_gain_mm: float = 0.0,
) -> Ceiling:
    """Give the turns never to pass: those that bottom the plunger, less a reserve.

    By the largest travel per turn in play: were a smaller one trusted and wrong, the plunger would
    be solid before the count told it. `hot_gain_mm`: preload gained from cold to hot.
    """
    if plunger_travel_mm is None:
        why = "no ceiling: the plunger's travel is not known; see the lifter's sheet"
        return Ceiling(None, why)
    gain = max(0.0, hot_gain_mm)
    turns = max(0.0, max(0.0, plunger_travel_mm - gain) / largest_travel_mm - reserve_turns)
    words = "{} of plunger travel{} ÷ {} a turn − {} in reserve"
    hot = text(", less {} gained hot", Length(gain)) if gain else ""
    plunger, travel = Length(plunger_travel_mm), Length(largest_travel_mm)
    return Ceiling(turns, text(words, plunger, hot, travel, turns_text(reserve_turns)), turns)


def under_ceiling(window: Window, ceiling: Ceiling) -> Window:
    """End the window, with a note, at the turns never to pass, where some of it lies below them."""
    never = ceiling.turns
    if never is None or window.most_turns <= never + SLACK_TURNS or out_of_reach(window, ceiling):
        return window
    note = (
        f"The window reaches to {turns_text(window.most_turns)}, past the {turns_text(never)} "
        "never to pass: measure the travel with a second trial, or check the plunger's travel."
    )
    return Window(window.least_turns, never, window.source, (*window.notes, note))


def out_of_reach(window: Window, ceiling: Ceiling) -> Text | None:
    """Why no turns are inside: those never to pass come before the window begins; None if not."""
    if ceiling.turns is None or ceiling.turns > window.least_turns + SLACK_TURNS:
        return None
    words = "ends the count at {} ({}), before the window begins at {}"
    turns = turns_text(ceiling.turns), turns_text(window.least_turns)
    return text(words, turns[0], ceiling.source, turns[1])


def ceiling_of(
    window: Window,
    plunger_travel_mm: float | None,
    travel: TravelInPlay,
    reserve_turns: float,
    hot_gain_mm: float,
    step: float,
) -> Ceiling:
    """The turns never to pass by the largest travel in play, as they can be counted.

    No reading brings them below the window: where a measured travel moves a window in preload past
    them, they go by that travel and three times its uncertainty.
    """
    ceiling = never_past(plunger_travel_mm, travel.largest_mm, reserve_turns, hot_gain_mm)
    if travel.measured and out_of_reach(window, ceiling):
        measured = travel.used.mm + 3.0 * (travel.used.uncertainty_mm or 0.0)
        largest = min(measured, travel.largest_mm)
        ceiling = never_past(plunger_travel_mm, largest, reserve_turns, hot_gain_mm)
    return counted_down(ceiling, window, step)


def counted_down(ceiling: Ceiling, window: Window, step: float) -> Ceiling:
    """Bring the turns never to pass down to a multiple of the step, which can be counted.

    Where none of the window would be left under that, of a sixteenth or a hundredth, else as it is.
    """
    exact = ceiling.turns
    if exact is None or out_of_reach(window, ceiling):
        return ceiling
    # The slack is for 0.3 / 0.1; the ceiling is never lifted by it.
    steps = (step, *SHOWN_TURNS)
    tried = (min(floor(exact / each + SLACK_TURNS) * each, exact) for each in steps)
    down = next((turns for turns in tried if turns > window.least_turns + SLACK_TURNS), exact)
    if exact - down <= SLACK_TURNS:
        return ceiling
    source = Text(ceiling.source, f" = {exact:.2f}, rounded down")
    return replace(ceiling, turns=down, source=source)
