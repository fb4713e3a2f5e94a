"""One valve's turns against its window and the turns never to pass."""

from __future__ import annotations

from dataclasses import dataclass

from heelwise.pictures.cells import Grid, blank, in_ascii, put, words_in
from heelwise.pictures.roles import Role, ValveSign, glyph
from heelwise.pictures.svg import FAINT, GOOD, INK, PALE, PAPER, Svg
from heelwise.valvetrain.figures import SLACK_TURNS, turns_text
from heelwise.valvetrain.window import Word

SMALLEST_BAR = 16
"""Columns; below them the bar is said in words."""
BEYOND_TURNS = 0.25
"""How far the scale goes on past the largest figure on it."""


@dataclass(frozen=True)
class Bar:
    """A scale of turns from 0: the window, and what is known of never-past, reading, expectation.

    `near`: whether a limit is near the reading. `scale_turns`: where the scale ends at the least;
    give bars under each other the same.
    """

    least_turns: float
    most_turns: float
    never_past_turns: float | None = None
    turns: float | None = None
    near: bool = False
    scale_turns: float = 0.0
    expect_turns: float | None = None

    @property
    def end_turns(self) -> float:
        """Where the scale ends: a little past the largest figure on it."""
        figures = (self.most_turns, self.never_past_turns, self.turns, self.expect_turns)
        largest = max(figure or 0.0 for figure in figures)
        return max(self.scale_turns, largest) if self.scale_turns else largest + BEYOND_TURNS

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


def bar_words(bar: Bar) -> str:
    """Say a bar: "5/8 turn: inside; window 3/8 to 7/8 turn; never past 2 turns"."""
    least = turns_text(bar.least_turns).rpartition(" ")[0]
    parts = [f"window {least} to {turns_text(bar.most_turns)}"]
    if bar.turns is not None:
        near = ", near a limit" if bar.state is ValveSign.NEAR else ""
        parts.insert(0, f"{turns_text(bar.turns)}: {bar.word_of(bar.turns).value}{near}")
    if bar.expect_turns is not None:
        parts.append(f"expect about {turns_text(bar.expect_turns)}")
    if bar.never_past_turns is not None:
        parts.append(f"never past {turns_text(bar.never_past_turns)}")
    return "; ".join(parts)


def bar_cells(bar: Bar, width: int, ascii_only: bool = False) -> Grid:
    """Draw a bar in one row: `[` and `]` enclose the window, `◇` is expected, `!` is never-past.

    A short reading is always left of the window and a long one right of it, however coarse
    the scale.
    """
    if width < SMALLEST_BAR:
        return words_in(bar_words(bar), width, 1, ascii_only)

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
    put(grid, 0, 0, "─" * width, Role.FAINT)
    put(grid, 0, low - 1, f"[{'═' * (high - low + 1)}]", Role.WINDOW)
    if never is not None:
        put(grid, 0, stop, "!", Role.NEVER_PAST)
    if bar.expect_turns is not None:
        put(grid, 0, reading(bar.expect_turns), "◇", Role.TARGET)
    if bar.turns is not None:
        put(grid, 0, reading(bar.turns), glyph(bar.state), bar.state)
    return in_ascii(grid) if ascii_only else grid


def bar_svg(bar: Bar, width: float = 220.0) -> str:
    """Draw a bar as SVG."""
    svg = Svg(width, 22, bar_words(bar))
    left, right = 8.0, width - 8.0

    def at(turns: float) -> float:
        return left + (right - left) * max(turns, 0.0) / bar.end_turns

    svg.line((left, 11), (right, 11), FAINT, 1)
    svg.rect((at(bar.least_turns), 5), (at(bar.most_turns) - at(bar.least_turns), 12), PALE, INK)
    if bar.never_past_turns is not None:
        x = at(bar.never_past_turns)
        svg.line((x, 2), (x, 20), INK, 3)
    if bar.turns is not None and bar.word_of(bar.turns) is Word.INSIDE:
        svg.circle((at(bar.turns), 11), 5.5, GOOD, INK, 1)
    elif bar.turns is not None:
        x, tip = at(bar.turns), 16.5 if bar.state is ValveSign.SHORT else 5.5
        svg.polygon([(x - 6, 22 - tip), (x + 6, 22 - tip), (x, tip)], PAPER)
    return svg.done()
