"""The engine from above, in character cells."""

from __future__ import annotations

from heelwise.pictures.cells import (
    Grid,
    ascii_text,
    blank,
    columns,
    in_ascii,
    put,
    words_in,
)
from heelwise.pictures.roles import Role, ValveState, glyph, legend
from heelwise.pictures.top_view import (
    BANK_NAME_MOST,
    BankView,
    Place,
    States,
    along_size,
    down_size,
    down_width,
    engine_words,
    shown,
    top_view,
)
from heelwise.valvetrain.engine import Engine
from heelwise.valvetrain.valves import Valve

WORD_WIDTH = 11
"""Columns a state's word takes behind its glyph, where there is room for it."""


def engine_cells(
    engine: Engine,
    states: States,
    next_valve: Valve | None,
    width: int,
    height: int,
    ascii_only: bool = False,
) -> Grid:
    """Draw the engine from above.

    The front is at the top if there is room for the states' words or too little along, else at
    the left. Below `along_size` and `down_size` the same is said in words.

    Args:
        engine: the engine.
        states: states of valves; one not named is not done.
        next_valve: the one pointed at.
        width: columns.
        height: rows.
        ascii_only: use no glyph outside ASCII.

    Returns:
        A grid of exactly that size, the legend in it if there is room.
    """
    along, down = along_size(engine), down_size(engine)
    lanes = sum(bank.lanes for bank in top_view(engine).banks)
    fits_down = width >= down.width and height >= down.height
    fits_along = width >= along.width and height >= along.height
    worded = fits_down and width >= down.width + lanes * WORD_WIDTH
    if not (fits_down or fits_along):
        return words_in(engine_words(engine, states, next_valve), width, height, ascii_only)
    grid = blank(width, height)
    drawn = _Drawing(grid, engine, states, next_valve, ascii_only)
    if worded:
        _down(drawn, WORD_WIDTH)
    elif fits_along:
        _along(drawn)
    else:
        _down(drawn, 0)
    used = along.height if fits_along and not worded else down.height
    if not worded:
        _legend(drawn, used)
    return in_ascii(grid) if ascii_only else grid


class _Drawing:
    def __init__(
        self,
        grid: Grid,
        engine: Engine,
        states: States,
        next_valve: Valve | None,
        ascii_only: bool,
    ) -> None:
        self.grid = grid
        self.view = top_view(engine)
        self.engine = engine
        self.states = states
        self.next_valve = next_valve
        self.ascii_only = ascii_only

    def name(self, row: int, col: int, place: Place) -> None:
        """A valve's name, a pointer before the next one's; takes one column more than names do."""
        name = f"{place.valve!s:>{self.view.name_width + 1}}"
        if place.valve != self.next_valve:
            put(self.grid, row, col, name, shown(self.states, place.valve, None))
            return
        pointer = glyph(ValveState.NEXT, self.ascii_only)
        at = len(name) - len(name.lstrip()) - 1
        put(self.grid, row, col, name[:at] + pointer + name[at + 1 :], ValveState.NEXT)

    def state(self, row: int, col: int, place: Place, worded: bool = False) -> None:
        state = shown(self.states, place.valve, self.next_valve)
        word = f" {state.value}" if worded else ""
        put(self.grid, row, col, glyph(state, self.ascii_only) + word, state)

    def title(self, row: int, col: int, text: str, most: int) -> None:
        said = ascii_text(text) if self.ascii_only else text
        put(self.grid, row, col, "".join(columns(said)[:most]), Role.LABEL)


def _along(drawn: _Drawing) -> None:
    """The front at the left; the bank that lies on the right is the upper one."""
    put(drawn.grid, 0, 0, "◄ front, from above", Role.LABEL)
    row, step = 1, drawn.view.name_width + 1
    for bank in reversed(drawn.view.banks):
        drawn.title(row, 0, bank.name, BANK_NAME_MOST)
        for place in bank.places:
            top = row + 1 + 2 * place.lane
            drawn.name(top, place.slot * step, place)
            drawn.state(top + 1, place.slot * step + drawn.view.name_width, place)
        row += 1 + 2 * bank.lanes


def _down(drawn: _Drawing, spare: int) -> None:
    """The front at the top, banks side by side."""
    put(drawn.grid, 0, 0, "▲ front, from above", Role.LABEL)
    left = 0
    for bank in drawn.view.banks:
        drawn.title(1, left + 1, bank.name, BANK_NAME_MOST)
        _bank_down(drawn, bank, left, spare)
        left += down_width(bank, drawn.view.name_width, spare)


def _bank_down(drawn: _Drawing, bank: BankView, left: int, spare: int) -> None:
    name_width = drawn.view.name_width
    for place in bank.places:
        row, col = 2 + place.slot, left + place.lane * (name_width + 4 + spare)
        drawn.name(row, col, place)
        drawn.state(row, col + name_width + 2, place, worded=spare > 0)


def _legend(drawn: _Drawing, row: int) -> None:
    """What the glyphs shown mean, in as many rows as are left, side by side where they fit."""
    shown_now = [shown(drawn.states, v, drawn.next_valve) for v in drawn.engine.valves]
    col, width = 0, len(drawn.grid[0])
    for mark, role, word in legend(shown_now, drawn.ascii_only):
        text = f"{mark} {word}" if len(word) + 2 <= width else f"{mark} {role}"
        if col and col + len(text) > width:
            row, col = row + 1, 0
        put(drawn.grid, row, col, text, role)
        col += len(text) + 3
