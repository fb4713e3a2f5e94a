"""The engine from above: which valve is where, front to rear, bank by bank, and its state.

Where a card gives a bank's valve row, its valves lie in one lane in that order. Otherwise each
cylinder shows its intake beside its exhaust, and nothing is claimed about their order.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import NamedTuple

from heelwise.documents.entries import Gauged, NoClick, Read
from heelwise.pictures.cells import Grid, blank, columns, in_ascii, put, words_in
from heelwise.pictures.roles import Role, ValveSign, glyph, legend
from heelwise.pictures.svg import BAD, FAINT, GOOD, INK, PALE, PAPER, Point, Svg
from heelwise.plain_text import one_line
from heelwise.valvetrain.engine import Engine, Valve, ValveKind
from heelwise.walk.state import BuildState, ValveState

States = Mapping[Valve, ValveSign]

LEAST_WIDTH = 26
"""Columns a legend entry or a title needs; below it the engine is said in words."""
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


class BankView(NamedTuple):
    """A bank as seen, its valves front to rear.

    `lanes`: one where the valve row is known, else one of intakes and one of exhausts.
    """

    name: str
    lanes: tuple[tuple[Valve, ...], ...]


def top_view(engine: Engine) -> tuple[BankView, ...]:
    """Banks from left to right, the front at the top."""
    banks = engine.banks
    if [bank.name.strip().lower() for bank in banks] == ["right", "left"]:
        banks = banks[::-1]
    views = []
    for bank in banks:
        pairs = (tuple(Valve(c, kind) for c in bank.cylinders) for kind in ValveKind)
        views.append(BankView(bank.name, (bank.valve_row,) if bank.valve_row else tuple(pairs)))
    return tuple(views)


def shown(states: States, valve: Valve, next_valve: Valve | None) -> ValveSign:
    """A valve's sign as drawn: the next one shows as next until something is known of it."""
    sign = states.get(valve, ValveSign.NOT_DONE)
    if valve == next_valve and sign is ValveSign.NOT_DONE:
        return ValveSign.NEXT
    return sign


def engine_words(engine: Engine, states: States, next_valve: Valve | None = None) -> str:
    """Say what the picture shows, for those who can't see it and where it has no room."""
    sentences = [
        f"Next {next_valve}, bank {bank.name}, {'' if len(bank.lanes) == 1 else 'cylinder '}"
        f"{lane.index(next_valve) + 1} of {len(lane)} from the front."
        for bank in top_view(engine)
        for lane in bank.lanes
        if next_valve in lane
    ]
    for sign in ValveSign:
        valves = [v for v in engine.valves if shown(states, v, next_valve) is sign]
        if valves and sign is not ValveSign.NEXT:
            names = "all" if len(valves) == len(engine.valves) else ", ".join(map(str, valves))
            sentences.append(f"{sign.value.capitalize()}: {names}.")
    return " ".join(sentences)


# ------------------------------------------------------------------ in cells


class _Layout(NamedTuple):
    """Rows of banks' names; row and column of each valve's name, its sign under the name's end."""

    height: int
    titles: dict[int, str]
    places: dict[Valve, tuple[int, int]]
    wide: int


@lru_cache(maxsize=64)
def _layout(engine: Engine, width: int) -> _Layout:
    wide = max(len(str(valve)) for valve in engine.valves) + 1
    fit = max((width - 1) // wide, 1)
    titles: dict[int, str] = {}
    places: dict[Valve, tuple[int, int]] = {}
    row = 1
    for bank in reversed(top_view(engine)):
        titles[row], row = "".join(columns(bank.name)[:BANK_NAME_MOST]), row + 1
        for lane in bank.lanes:
            for start in range(0, len(lane), fit):
                places |= {v: (row, at * wide) for at, v in enumerate(lane[start : start + fit])}
                row += 2
    return _Layout(row, titles, places, wide)


def engine_height(engine: Engine, width: int) -> int:
    """Rows it takes in a width, 0 where that is too small; a legend comes on top."""
    return _layout(engine, width).height if width >= LEAST_WIDTH else 0


def engine_cells(
    engine: Engine,
    states: States,
    next_valve: Valve | None,
    width: int,
    height: int,
    ascii_only: bool = False,
) -> Grid:
    """Draw the engine from above, its front at the left; what has no room in a row goes under it.

    Where there is no room at all the same is said in words.
    """
    layout = _layout(engine, width)
    if width < LEAST_WIDTH or height < layout.height:
        return words_in(engine_words(engine, states, next_valve), width, height, ascii_only)
    grid = blank(width, height)
    put(grid, 0, 0, "◄ front, from above", Role.LABEL)
    for row, name in layout.titles.items():
        put(grid, row, 0, name, Role.LABEL)
    for valve, (row, col) in layout.places.items():
        sign, pointed = shown(states, valve, next_valve), valve == next_valve
        name = f"{glyph(ValveSign.NEXT) if pointed else ''}{valve}"
        put(grid, row, col, f"{name:>{layout.wide}}", ValveSign.NEXT if pointed else sign)
        put(grid, row + 1, col + layout.wide - 1, glyph(sign), sign)
    row, col = layout.height, 0
    for mark, key, word in legend(shown(states, v, next_valve) for v in engine.valves):
        text = f"{mark} {word}" if len(word) + 2 <= width else f"{mark} {key}"
        if col and col + len(text) > width:
            row, col = row + 1, 0
        put(grid, row, col, text, key)
        col += len(text) + 3
    return in_ascii(grid) if ascii_only else grid


# ------------------------------------------------------------------ as SVG

PITCH = 46.0
"""Between two valves of a row."""
LANE = 58.0
"""Between two lanes, and the height of one."""
RADIUS = 12.0
HEAD = 30.0
"""Above the first bank, and for each bank's name."""
LEFT = 24.0
LEGEND_COLUMN = 260.0
LEGEND_ROW = 24.0


def engine_svg(engine: Engine, states: States) -> str:
    """Draw the engine from above, every state a shape of its own."""
    banks = top_view(engine)
    drawn = {shown(states, valve, None) for valve in engine.valves}
    explained = [sign for sign in ValveSign if sign in drawn]
    width = max(LEFT * 2 + PITCH * max(len(bank.lanes[0]) for bank in banks), LEFT + LEGEND_COLUMN)
    across = max(1, int((width - LEFT) // LEGEND_COLUMN))
    legend_height = LEGEND_ROW * -(-len(explained) // across)
    height = HEAD + sum(HEAD + LANE * len(bank.lanes) for bank in banks) + legend_height + 8
    svg = Svg(width, height, f"The engine from above. {engine_words(engine, states)}")
    svg.text((LEFT, 20), "◂ front", 13, FAINT, "start")
    top = HEAD
    for name, lanes in reversed(banks):
        svg.text((LEFT, top + 16), one_line(name, 30), 13, INK, "start", bold=True)
        top += HEAD
        size = PITCH * len(lanes[0]) + 8, LANE * len(lanes) - 1
        svg.rect((LEFT - 4, top - 4), size, PAPER, FAINT, 8)
        for valves in lanes:
            for slot, valve in enumerate(valves):
                x, y = LEFT + PITCH * (slot + 0.5), top + RADIUS + 6
                _shape(svg, (x, y), shown(states, valve, None), RADIUS)
                svg.text((x, y + RADIUS + 15), str(valve), 13, INK)
            top += LANE
    for place, sign in enumerate(explained):
        x = LEFT + LEGEND_COLUMN * (place % across)
        y = top + LEGEND_ROW * (place // across) + 12
        _shape(svg, (x + 10, y), sign, 8.0)
        svg.text((x + 26, y + 4), sign.meaning, 12, INK, "start")
    return svg.done()


_RINGS = {
    ValveSign.NOT_DONE: (FAINT, 1.0),
    ValveSign.NEXT: (INK, 3.0),
    ValveSign.INSIDE: (GOOD, 4.0),
    ValveSign.NEAR: (GOOD, 3.0),
}
_OUTLINES = {
    ValveSign.SHORT: (BAD, ((-1, -0.8), (1, -0.8), (0, 1))),
    ValveSign.LONG: (BAD, ((-1, 0.8), (1, 0.8), (0, -1))),
    ValveSign.ACCEPTED: ("#8f5a86", ((0, -1), (1, 0), (0, 1), (-1, 0))),
}


def _shape(svg: Svg, center: Point, sign: ValveSign, radius: float) -> None:
    x, y = center
    if sign in _RINGS:
        svg.circle(center, radius - 1, PAPER, *_RINGS[sign])
        if sign is ValveSign.NEAR:
            svg.half_disc(center, radius - 1, GOOD)
    elif sign in _OUTLINES:
        color, corners = _OUTLINES[sign]
        svg.polygon([(x + radius * dx, y + radius * dy) for dx, dy in corners], color)
    elif sign is ValveSign.PROVED:
        svg.circle(center, radius, GOOD, INK, 1)
        bottom = x - radius * 0.1, y + radius * 0.4
        svg.line((x - radius * 0.45, y), bottom, PAPER, 2.5)
        svg.line(bottom, (x + radius * 0.5, y - radius * 0.4), PAPER, 2.5)
    else:
        svg.circle(center, radius, PALE, INK, 1)
        svg.text((x, y + radius * 0.4), sign.letter, radius * 1.3, INK)
