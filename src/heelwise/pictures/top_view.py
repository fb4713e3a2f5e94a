"""The engine from above: which valve is where, front to rear, bank by bank, and its state.

Where a card gives a bank's valve row, its valves lie in one lane in that order. Otherwise each
cylinder shows its intake beside its exhaust, and nothing is claimed about their order.
"""

from collections.abc import Mapping
from typing import NamedTuple

from heelwise.documents.entries import Gauged, NoClick, Read
from heelwise.pictures import cells
from heelwise.pictures.cells import Grid, ValveSign, put
from heelwise.valvetrain.engine import Engine, Valve, ValveKind
from heelwise.walk.state import BuildState, ValveState

States = Mapping[Valve, ValveSign]

LEAST_WIDTH = 26
"""Columns a legend entry or a title needs."""
BANK_NAME_MOST = 12
"""Columns of a bank's name that are shown."""


def states_of(state: BuildState) -> dict[Valve, ValveSign]:
    """A sign for every valve of the engine, in its order, from a record's folded entries."""
    return {valve: _sign(state, of_it) for valve, of_it in sorted(state.valves.items())}


def _sign(state: BuildState, of_it: ValveState) -> ValveSign:
    if of_it.proof is not None:
        return ValveSign.PROVED
    if of_it.loosened_for and of_it.loosened_for != "trial over":
        return ValveSign.BACKED_OFF
    if of_it.last_count is None or of_it.last_count.number < of_it.touched:
        if of_it.valve in state.trial_loaded:
            return ValveSign.TRIAL
        return ValveSign.NOT_DONE if of_it.last_count is None else ValveSign.COUNTED
    return _counted(of_it, of_it.last_count.body)


def _counted(of_it: ValveState, body: Read | Gauged | NoClick) -> ValveSign:
    if isinstance(body, NoClick):
        # The turns never to pass were reached without a click: more preload than allowed.
        return ValveSign.LONG
    if body.verdict == "inside":
        return ValveSign.NEAR if body.near else ValveSign.INSIDE
    if of_it.acceptance:
        return ValveSign.ACCEPTED
    return ValveSign.LONG if body.verdict in ("tight", "long") else ValveSign.SHORT


# ------------------------------------------------------------------ in cells


class _Layout(NamedTuple):
    """Rows of banks' names; row and column of each valve's name, its sign under the name's end."""

    height: int
    titles: dict[int, str]
    places: dict[Valve, tuple[int, int]]
    wide: int


def _layout(engine: Engine, width: int) -> _Layout:
    wide = max(len(str(valve)) for valve in engine.valves) + 1
    fit = max((width - 1) // wide, 1)
    titles: dict[int, str] = {}
    places: dict[Valve, tuple[int, int]] = {}
    row, banks = 1, engine.banks
    if [bank.name.strip().lower() for bank in banks] != ["right", "left"]:
        banks = banks[::-1]  # the front is at the left, so the right bank is above
    for bank in banks:
        titles[row], row = "".join(cells.columns(bank.name)[:BANK_NAME_MOST]), row + 1
        pairs = (tuple(Valve(c, kind) for c in bank.cylinders) for kind in ValveKind)
        for lane in (bank.valve_row,) if bank.valve_row else pairs:
            for start in range(0, len(lane), fit):
                places |= {v: (row, at * wide) for at, v in enumerate(lane[start : start + fit])}
                row += 2
    return _Layout(row, titles, places, wide)


def engine_height(engine: Engine, width: int) -> int:
    """Rows it takes in a width, 0 where that is too small; a legend comes on top."""
    return _layout(engine, width).height if width >= LEAST_WIDTH else 0


def engine_cells(
    engine: Engine, states: States, next_valve: Valve | None, width: int, height: int
) -> Grid:
    """Draw the engine from above, its front at the left; what has no room in a row goes under it.

    The next valve shows as next until something is known of it.
    """
    layout = _layout(engine, width)
    if width < LEAST_WIDTH or height < layout.height:
        return cells.no_room(width, height)
    grid = cells.blank(width, height)
    put(grid, 0, 0, "◄ front, from above", "plain")
    for row, name in layout.titles.items():
        put(grid, row, 0, name, "plain")
    signs = {valve: states.get(valve, ValveSign.NOT_DONE) for valve in engine.valves}
    if next_valve and signs[next_valve] is ValveSign.NOT_DONE:
        signs[next_valve] = ValveSign.NEXT
    for valve, (row, col) in layout.places.items():
        pointed = valve == next_valve
        name = f"{ValveSign.NEXT.shape if pointed else ''}{valve}"
        put(grid, row, col, f"{name:>{layout.wide}}", ValveSign.NEXT if pointed else signs[valve])
        put(grid, row + 1, col + layout.wide - 1, signs[valve].shape, signs[valve])
    row, col = layout.height, 0
    for mark, key, word in cells.legend(signs.values()):
        text = f"{mark} {word}" if len(word) + 2 <= width else f"{mark} {key}"
        if col and col + len(text) > width:
            row, col = row + 1, 0
        put(grid, row, col, text, key)
        col += len(text) + 3
    return grid
