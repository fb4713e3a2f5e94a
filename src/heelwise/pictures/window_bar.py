"""One valve's turns against its window and the turns never to pass."""

from dataclasses import dataclass

from heelwise.pictures.cells import Grid, ValveSign, blank, put
from heelwise.valvetrain.figures import SLACK_TURNS
from heelwise.valvetrain.window import Word

SMALLEST_BAR = 16
"""Columns from which every mark has its place."""
BEYOND_TURNS = 0.25
"""How far the scale goes on past the largest figure on it."""


@dataclass(frozen=True)
class Bar:
    """A scale of turns from 0: the window, and what is known of never-past, reading, expectation.

    `near`: whether a limit is near the reading.
    """

    least_turns: float
    most_turns: float
    never_past_turns: float | None = None
    turns: float | None = None
    near: bool = False
    expect_turns: float | None = None

    @property
    def end_turns(self) -> float:
        """Where the scale ends: a little past the largest figure on it."""
        figures = (self.most_turns, self.never_past_turns, self.turns, self.expect_turns)
        return max(figure or 0.0 for figure in figures) + BEYOND_TURNS

    def word_of(self, turns: float) -> Word:
        """Turns against the window, limits inside."""
        if turns < self.least_turns - SLACK_TURNS:
            return Word.SHORT
        return Word.LONG if turns > self.most_turns + SLACK_TURNS else Word.INSIDE

    @property
    def state(self) -> ValveSign:
        """The state its reading is drawn with."""
        if self.turns is None:
            return ValveSign.NOT_DONE
        word = self.word_of(self.turns)
        return ValveSign.NEAR if word is Word.INSIDE and self.near else ValveSign(word.value)


def bar_cells(bar: Bar, width: int) -> Grid:
    """Draw a bar in one row: `[` and `]` enclose the window, `◇` is expected, `!` is never-past.

    From `SMALLEST_BAR` columns on a short reading is always left of the window and a long one
    right of it, however coarse the scale.
    """

    def column(turns: float) -> int:
        return round(max(turns, 0.0) / bar.end_turns * (width - 1))

    low = min(max(column(bar.least_turns), 2), width - 6)
    high = min(max(column(bar.most_turns), low), width - 5)
    never = bar.never_past_turns
    stop = width if never is None else min(max(column(never), high + 3), width - 2)

    def reading(turns: float) -> int:
        word, at = bar.word_of(turns), column(turns)
        if word is Word.SHORT:
            return min(at, low - 2)
        if word is Word.INSIDE:
            return min(max(at, low), high)
        if never is not None and turns >= never:
            return min(max(at, stop + 1), width - 1)
        return min(max(at, high + 2), stop - 1)

    grid = blank(width, 1)
    put(grid, 0, 0, "─" * width, "line")
    put(grid, 0, low - 1, f"[{'═' * (high - low + 1)}]", "good")
    if never is not None:
        put(grid, 0, stop, "!", "bad")
    if bar.expect_turns is not None:
        put(grid, 0, reading(bar.expect_turns), "◇", "next")
    if bar.turns is not None:
        put(grid, 0, reading(bar.turns), bar.state.shape, bar.state)
    return grid
