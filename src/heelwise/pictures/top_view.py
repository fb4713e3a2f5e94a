"""The engine from above: which valve is where, front to rear, bank by bank.

Where a card gives a bank's valve row, its valves lie in one lane in that order. Otherwise each
cylinder shows its intake beside its exhaust, and nothing is claimed about their order.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from heelwise.pictures.cells import Grid, Size, blank, columns, in_ascii, put, words_in
from heelwise.pictures.roles import Role, ValveSign, glyph, legend
from heelwise.pictures.svg import BAD, FAINT, GOOD, INK, PALE, PAPER, Point, Svg
from heelwise.plain_text import one_line
from heelwise.valvetrain.engine import Bank, Engine, Valve, ValveKind

States = Mapping[Valve, ValveSign]

LEGEND_WIDTH = 26
"""Columns a legend entry or a title needs; no layout is narrower."""
BANK_NAME_MOST = 12
"""Columns of a bank's name that are shown."""


@dataclass(frozen=True)
class Place:
    """Where a valve is seen: its place from the front, from 0.

    `lane`: 0, or 1 for the exhausts of a bank whose valve row is not known.
    """

    valve: Valve
    slot: int
    lane: int


@dataclass(frozen=True)
class BankView:
    """A bank as seen: so many places front to rear; one lane where the valve row is known."""

    name: str
    slots: int
    lanes: int
    places: tuple[Place, ...]


@lru_cache(maxsize=64)
def top_view(engine: Engine) -> tuple[BankView, ...]:
    """Banks from left to right, the front at the top."""
    banks = engine.banks
    if [bank.name.strip().lower() for bank in banks] == ["right", "left"]:
        banks = banks[::-1]
    return tuple(_bank_view(bank) for bank in banks)


def _bank_view(bank: Bank) -> BankView:
    if bank.valve_row:
        places = tuple(Place(valve, slot, 0) for slot, valve in enumerate(bank.valve_row))
        return BankView(bank.name, len(places), 1, places)
    places = tuple(
        Place(Valve(cylinder, kind), slot, lane)
        for slot, cylinder in enumerate(bank.cylinders)
        for lane, kind in enumerate(ValveKind)
    )
    return BankView(bank.name, len(bank.cylinders), 2, places)


def shown(states: States, valve: Valve, next_valve: Valve | None) -> ValveSign:
    """A valve's sign as drawn: the next one shows as next until something is known of it."""
    sign = states.get(valve, ValveSign.NOT_DONE)
    if valve == next_valve and sign is ValveSign.NOT_DONE:
        return ValveSign.NEXT
    return sign


def engine_words(engine: Engine, states: States, next_valve: Valve | None = None) -> str:
    """Say what the picture shows, for those who can't see it and where it has no room."""
    sentences = [
        f"Next {place.valve}, bank {bank.name}, {'' if bank.lanes == 1 else 'cylinder '}"
        f"{place.slot + 1} of {bank.slots} from the front."
        for bank in top_view(engine)
        for place in bank.places
        if place.valve == next_valve
    ]
    for sign in ValveSign:
        valves = [v for v in engine.valves if shown(states, v, next_valve) is sign]
        if valves and sign is not ValveSign.NEXT:
            names = "all" if len(valves) == len(engine.valves) else ", ".join(map(str, valves))
            sentences.append(f"{sign.value.capitalize()}: {names}.")
    return " ".join(sentences)


# ------------------------------------------------------------------ in cells


@dataclass(frozen=True)
class _Layout:
    """Rows and columns of titles, of valves' names (a column for a pointer first) and signs."""

    size: Size
    name_width: int
    titles: tuple[tuple[str, int, int], ...]
    names: Mapping[Valve, tuple[int, int]]
    signs: Mapping[Valve, tuple[int, int]]


@lru_cache(maxsize=64)
def _layout(engine: Engine, along: bool) -> _Layout:
    wide = max(len(str(valve)) for valve in engine.valves)
    titles, names, signs = [], {}, {}
    at = 1 if along else 0
    for bank in reversed(top_view(engine)) if along else top_view(engine):
        titles.append((bank.name, at if along else 1, 0 if along else at + 1))
        for place in bank.places:
            row, col = 2 + place.slot, at + place.lane * (wide + 4)
            if along:
                row, col = at + 1 + 2 * place.lane, place.slot * (wide + 1)
            names[place.valve] = row, col
            signs[place.valve] = (row + 1, col + wide) if along else (row, col + wide + 2)
        lanes = bank.lanes * (wide + 4)
        at += 1 + 2 * bank.lanes if along else max(lanes, min(len(bank.name), BANK_NAME_MOST) + 1)
    slots = max(bank.slots for bank in top_view(engine))
    size = Size(slots * (wide + 1) + 1, at) if along else Size(at, 2 + slots)
    size = Size(max(size.width, LEGEND_WIDTH), size.height)
    return _Layout(size, wide, tuple(titles), names, signs)


def along_size(engine: Engine) -> Size:
    """The smallest size with the front at the left, each bank a row; a legend comes on top."""
    return _layout(engine, True).size


def down_size(engine: Engine) -> Size:
    """The smallest size with the front at the top, each bank a column; a legend comes on top."""
    return _layout(engine, False).size


def engine_cells(
    engine: Engine,
    states: States,
    next_valve: Valve | None,
    width: int,
    height: int,
    ascii_only: bool = False,
) -> Grid:
    """Draw the engine from above, its front at the left, or at the top where that has no room.

    Below `along_size` and `down_size` the same is said in words.
    """
    layouts = (_layout(engine, True), _layout(engine, False))
    fit = [each for each in layouts if width >= each.size.width and height >= each.size.height]
    if not fit:
        return words_in(engine_words(engine, states, next_valve), width, height, ascii_only)
    layout, grid = fit[0], blank(width, height)
    front = "◄" if layout is layouts[0] else "▲"
    put(grid, 0, 0, f"{front} front, from above", Role.LABEL)
    for name, row, col in layout.titles:
        put(grid, row, col, "".join(columns(name)[:BANK_NAME_MOST]), Role.LABEL)
    for valve in engine.valves:
        sign = shown(states, valve, next_valve)
        put(grid, *layout.signs[valve], glyph(sign), sign)
        pointed = valve == next_valve
        name = f"{glyph(ValveSign.NEXT) if pointed else ''}{valve}"
        role = ValveSign.NEXT if pointed else sign
        put(grid, *layout.names[valve], f"{name:>{layout.name_width + 1}}", role)
    signs = [shown(states, valve, next_valve) for valve in engine.valves]
    _legend(grid, layout.size.height, signs)
    return in_ascii(grid) if ascii_only else grid


def _legend(grid: Grid, row: int, signs: list[ValveSign]) -> None:
    col, width = 0, len(grid[0])
    for mark, role, word in legend(signs):
        text = f"{mark} {word}" if len(word) + 2 <= width else f"{mark} {role}"
        if col and col + len(text) > width:
            row, col = row + 1, 0
        put(grid, row, col, text, role)
        col += len(text) + 3


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
    explained = legend(shown(states, valve, None) for valve in engine.valves)
    width = max(LEFT * 2 + PITCH * max(bank.slots for bank in banks), LEFT + LEGEND_COLUMN)
    across = max(1, int((width - LEFT) // LEGEND_COLUMN))
    legend_height = LEGEND_ROW * -(-len(explained) // across)
    height = HEAD + sum(HEAD + LANE * bank.lanes for bank in banks) + legend_height + 8
    svg = Svg(width, height, f"The engine from above. {engine_words(engine, states)}")
    svg.text((LEFT, 20), "◂ front", 13, FAINT, "start")
    top = HEAD
    for bank in reversed(banks):
        _bank(svg, bank, top, states)
        top += HEAD + LANE * bank.lanes
    for place, (_, role, word) in enumerate(explained):
        x = LEFT + LEGEND_COLUMN * (place % across)
        y = top + LEGEND_ROW * (place // across) + 12
        _shape(svg, (x + 10, y), ValveSign(role), 8.0)
        svg.text((x + 26, y + 4), word, 12, INK, "start")
    return svg.done()


def _bank(svg: Svg, bank: BankView, top: float, states: States) -> None:
    svg.text((LEFT, top + 16), one_line(bank.name, 30), 13, INK, "start", bold=True)
    under = top + HEAD
    svg.rect(
        (LEFT - 4, under - 4), (PITCH * bank.slots + 8, LANE * bank.lanes - 1), PAPER, FAINT, 8
    )
    for place in bank.places:
        x, y = LEFT + PITCH * (place.slot + 0.5), under + LANE * place.lane + RADIUS + 6
        _shape(svg, (x, y), shown(states, place.valve, None), RADIUS)
        svg.text((x, y + RADIUS + 15), str(place.valve), 13, INK)


_RINGS = {
    ValveSign.NOT_DONE: (FAINT, 1.0),
    ValveSign.NEXT: (INK, 3.0),
    ValveSign.INSIDE: (GOOD, 4.0),
    ValveSign.NEAR: (GOOD, 3.0),
}
_LETTERS = {ValveSign.TRIAL: "t", ValveSign.COUNTED: "c", ValveSign.BACKED_OFF: "b"}
_OUTLINES = {
    ValveSign.SHORT: ((-1, -0.8), (1, -0.8), (0, 1)),
    ValveSign.LONG: ((-1, 0.8), (1, 0.8), (0, -1)),
    ValveSign.ACCEPTED: ((0, -1), (1, 0), (0, 1), (-1, 0)),
}


def _shape(svg: Svg, center: Point, sign: ValveSign, radius: float) -> None:
    x, y = center
    if sign in _RINGS:
        svg.circle(center, radius - 1, PAPER, *_RINGS[sign])
    elif sign in _LETTERS:
        svg.circle(center, radius, PALE, INK, 1)
        svg.text((x, y + radius * 0.4), _LETTERS[sign], radius * 1.3, INK)
    elif sign in _OUTLINES:
        color = "#8f5a86" if sign is ValveSign.ACCEPTED else BAD
        svg.polygon([(x + radius * dx, y + radius * dy) for dx, dy in _OUTLINES[sign]], color)
    else:
        svg.circle(center, radius, GOOD, INK, 1)
        svg.line((x - radius * 0.45, y), (x - radius * 0.1, y + radius * 0.4), PAPER, 2.5)
        svg.line(
            (x - radius * 0.1, y + radius * 0.4), (x + radius * 0.5, y - radius * 0.4), PAPER, 2.5
        )
    if sign is ValveSign.NEAR:
        svg.half_disc(center, radius - 1, GOOD)
