"""One valve's turns against its window and the turns never to pass."""

from __future__ import annotations

from dataclasses import dataclass

from heelwise.pictures.cells import Grid, Size, blank, in_ascii, put, words_in
from heelwise.pictures.roles import Role, ValveSign, glyph
from heelwise.pictures.svg import FAINT, GOOD, INK, PALE, PAPER, Svg
from heelwise.valvetrain.figures import SLACK_TURNS, turns_text
from heelwise.valvetrain.window import Word

SMALLEST_BAR = Size(16, 1)
"""Below it the bar is said in words."""
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

    @property
    def word(self) -> Word | None:
        """The reading against the window, limits inside; None without a reading."""
        return None if self.turns is None else self.word_of(self.turns)

    def word_of(self, turns: float) -> Word:
        """Turns against the window, limits inside."""
        if turns < self.least_turns - SLACK_TURNS:
            return Word.SHORT
        return Word.LONG if turns > self.most_turns + SLACK_TURNS else Word.INSIDE

    @property
    def state(self) -> ValveSign:
        """The state its reading is drawn with."""
        if self.word is None:
            return ValveSign.NOT_DONE
        if self.word is Word.INSIDE and self.near:
            return ValveSign.NEAR
        return ValveSign(self.word.value)


def bar_words(one: Bar) -> str:
    """Say a bar: "5/8 turn: inside; window 3/8 to 7/8 turn; never past 2 turns"."""
    least = turns_text(one.least_turns).rpartition(" ")[0]
    parts = [f"window {least} to {turns_text(one.most_turns)}"]
    if one.turns is not None and one.word is not None:
        near = ", near a limit" if one.near and one.word is Word.INSIDE else ""
        parts.insert(0, f"{turns_text(one.turns)}: {one.word.value}{near}")
    if one.expect_turns is not None:
        parts.append(f"expect about {turns_text(one.expect_turns)}")
    if one.never_past_turns is not None:
        parts.append(f"never past {turns_text(one.never_past_turns)}")
    return "; ".join(parts)


def bar_cells(one: Bar, width: int, height: int = 1, ascii_only: bool = False) -> Grid:
    """Draw a bar: `[` and `]` enclose the window, `◇` is expected, `!` is never to be passed.

    A short reading is always left of the window and a long one right of it, however coarse
    the scale.
    """
    if width < SMALLEST_BAR.width or height < SMALLEST_BAR.height:
        return words_in(bar_words(one), width, height, ascii_only)
    grid = blank(width, height)
    put(grid, 0, 0, "─" * width, Role.FAINT)
    low, high = _window_columns(one, width)
    put(grid, 0, low, "═" * (high - low + 1), Role.WINDOW)
    put(grid, 0, low - 1, "[", Role.WINDOW)
    put(grid, 0, high + 1, "]", Role.WINDOW)
    if one.never_past_turns is not None:
        put(grid, 0, _never_column(one, width), "!", Role.NEVER_PAST)
    if one.expect_turns is not None:
        put(grid, 0, _reading_column(one, one.expect_turns, width), "◇", Role.TARGET)
    if one.turns is not None:
        put(grid, 0, _reading_column(one, one.turns, width), glyph(one.state), one.state)
    grid[1:] = words_in(bar_words(one), width, height - 1, role=Role.LABEL)
    return in_ascii(grid) if ascii_only else grid


def _column(one: Bar, turns: float, width: int) -> int:
    return round(max(turns, 0.0) / one.end_turns * (width - 1))


def _window_columns(one: Bar, width: int) -> tuple[int, int]:
    low = min(max(_column(one, one.least_turns, width), 2), width - 6)
    high = min(max(_column(one, one.most_turns, width), low), width - 5)
    return low, high


def _never_column(one: Bar, width: int) -> int:
    assert one.never_past_turns is not None
    beside = _window_columns(one, width)[1] + 3
    return min(max(_column(one, one.never_past_turns, width), beside), width - 2)


def _reading_column(one: Bar, turns: float, width: int) -> int:
    low, high = _window_columns(one, width)
    column, word = _column(one, turns, width), one.word_of(turns)
    if word is Word.SHORT:
        return min(column, low - 2)
    if word is Word.INSIDE:
        return min(max(column, low), high)
    if one.never_past_turns is None:
        return min(max(column, high + 2), width - 1)
    never = _never_column(one, width)
    if turns < one.never_past_turns:
        return min(max(column, high + 2), never - 1)
    return min(max(column, never + 1), width - 1)


def bar_svg(one: Bar, width: float = 220.0) -> str:
    """Draw a bar as SVG."""
    svg = Svg(width, 22, bar_words(one))
    left, right = 8.0, width - 8.0

    def at(turns: float) -> float:
        return left + (right - left) * max(turns, 0.0) / one.end_turns

    svg.line((left, 11), (right, 11), FAINT, 1)
    svg.rect((at(one.least_turns), 5), (at(one.most_turns) - at(one.least_turns), 12), PALE, INK)
    if one.never_past_turns is not None:
        x = at(one.never_past_turns)
        svg.line((x, 2), (x, 20), INK, 3)
    if one.turns is not None and one.word is Word.INSIDE:
        svg.circle((at(one.turns), 11), 5.5, GOOD, INK, 1)
    elif one.turns is not None:
        x, tip = at(one.turns), 16.5 if one.word is Word.SHORT else 5.5
        svg.polygon([(x - 6, 22 - tip), (x + 6, 22 - tip), (x, tip)], PAPER)
    return svg.done()
