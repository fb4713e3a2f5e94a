"""The engine from above: which valve is where, front to rear, bank by bank.

Where a card gives a bank's valve row, its valves lie in one lane in that order. Otherwise each
cylinder shows its intake beside its exhaust, and nothing is claimed about their order.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from heelwise.pictures.cells import (
    Grid,
    Size,
    blank,
    columns,
    in_ascii,
    put,
    words_in,
)
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


@dataclass(frozen=True)
class TopView:
    """The engine from above, its front at the top: banks from left to right."""

    banks: tuple[BankView, ...]

    @property
    def slots(self) -> int:
        """Places of the longest bank."""
        return max(bank.slots for bank in self.banks)

    @property
    def name_width(self) -> int:
        """Characters of the longest valve name."""
        return max(len(str(place.valve)) for bank in self.banks for place in bank.places)


@lru_cache(maxsize=64)
def top_view(engine: Engine) -> TopView:
    """Work out where each valve is seen."""
    banks = engine.banks
    if [bank.name.strip().lower() for bank in banks] == ["right", "left"]:
        banks = banks[::-1]
    return TopView(tuple(_bank_view(bank) for bank in banks))


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


def along_size(engine: Engine) -> Size:
    """The smallest size with the front at the left, each bank a row; a legend comes on top."""
    view = top_view(engine)
    width = max(view.slots * (view.name_width + 1) + 1, LEGEND_WIDTH)
    return Size(width, 1 + sum(1 + 2 * bank.lanes for bank in view.banks))


def down_size(engine: Engine) -> Size:
    """The smallest size with the front at the top, each bank a column; a legend comes on top."""
    view = top_view(engine)
    width = max(sum(down_width(bank, view.name_width) for bank in view.banks), LEGEND_WIDTH)
    return Size(width, 2 + view.slots)


def down_width(bank: BankView, name_width: int, spare: int = 0) -> int:
    """Columns of one bank with the front at the top."""
    lanes = bank.lanes * (name_width + 4 + spare)
    return max(lanes, min(len(bank.name), BANK_NAME_MOST) + 1)


def shown(states: States, valve: Valve, next_valve: Valve | None) -> ValveSign:
    """A valve's state as drawn: the next one shows as next until something is known of it."""
    state = states.get(valve, ValveSign.NOT_DONE)
    if valve == next_valve and state is ValveSign.NOT_DONE:
        return ValveSign.NEXT
    return state


def engine_words(engine: Engine, states: States, next_valve: Valve | None = None) -> str:
    """Say what the picture shows, for those who can't see it and where it has no room."""
    sentences = [_next_words(engine, next_valve)] if next_valve in engine.valves else []
    for state in ValveSign:
        valves = [v for v in engine.valves if shown(states, v, next_valve) is state]
        if valves and state is not ValveSign.NEXT:
            sentences.append(f"{state.value.capitalize()}: {_listed(valves, engine)}.")
    return " ".join(sentences)


def _next_words(engine: Engine, valve: Valve | None) -> str:
    assert valve is not None
    for bank in top_view(engine).banks:
        for place in bank.places:
            if place.valve == valve:
                what = "" if bank.lanes == 1 else "cylinder "
                many = f"{what}{place.slot + 1} of {bank.slots} from the front"
                return f"Next {valve}, bank {bank.name}, {many}."
    raise AssertionError(f"{valve} is on no bank")


def _listed(valves: Iterable[Valve], engine: Engine) -> str:
    names = [str(valve) for valve in valves]
    return "all" if len(names) == 2 * engine.cylinders else ", ".join(names)


# ------------------------------------------------------------------ in cells

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
    """
    along, down = along_size(engine), down_size(engine)
    lanes = sum(bank.lanes for bank in top_view(engine).banks)
    fits_down = width >= down.width and height >= down.height
    fits_along = width >= along.width and height >= along.height
    worded = fits_down and width >= down.width + lanes * WORD_WIDTH
    if not (fits_down or fits_along):
        return words_in(engine_words(engine, states, next_valve), width, height, ascii_only)
    grid = blank(width, height)
    drawn = _Drawing(grid, engine, states, next_valve)
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
        self, grid: Grid, engine: Engine, states: States, next_valve: Valve | None
    ) -> None:
        self.grid = grid
        self.view = top_view(engine)
        self.engine = engine
        self.states = states
        self.next_valve = next_valve

    def name(self, row: int, col: int, place: Place) -> None:
        """A valve's name, a pointer before the next one's; takes one column more than names do."""
        name = f"{place.valve!s:>{self.view.name_width + 1}}"
        if place.valve != self.next_valve:
            put(self.grid, row, col, name, shown(self.states, place.valve, None))
            return
        pointer = glyph(ValveSign.NEXT)
        at = len(name) - len(name.lstrip()) - 1
        put(self.grid, row, col, name[:at] + pointer + name[at + 1 :], ValveSign.NEXT)

    def state(self, row: int, col: int, place: Place, worded: bool = False) -> None:
        state = shown(self.states, place.valve, self.next_valve)
        word = f" {state.value}" if worded else ""
        put(self.grid, row, col, glyph(state) + word, state)

    def title(self, row: int, col: int, text: str, most: int) -> None:
        put(self.grid, row, col, "".join(columns(text)[:most]), Role.LABEL)


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
    for mark, role, word in legend(shown_now):
        text = f"{mark} {word}" if len(word) + 2 <= width else f"{mark} {role}"
        if col and col + len(text) > width:
            row, col = row + 1, 0
        put(drawn.grid, row, col, text, role)
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


def engine_svg(engine: Engine, states: States, next_valve: Valve | None = None) -> str:
    """Draw the engine from above."""
    view = top_view(engine)
    seen = [shown(states, valve, next_valve) for valve in engine.valves]
    explained = legend(seen)
    width = max(LEFT * 2 + PITCH * view.slots, LEFT + LEGEND_COLUMN)
    columns = max(1, int((width - LEFT) // LEGEND_COLUMN))
    rows = -(-len(explained) // columns)
    banks = sum(HEAD + LANE * bank.lanes for bank in view.banks)
    svg = Svg(
        width,
        HEAD + banks + LEGEND_ROW * rows + 8,
        f"The engine from above. {engine_words(engine, states, next_valve)}",
    )
    svg.text((LEFT, 20), "◂ front", 13, FAINT, "start")
    top = HEAD
    for bank in reversed(view.banks):
        _bank(svg, bank, top, states, next_valve)
        top += HEAD + LANE * bank.lanes
    for place, (_, role, word) in enumerate(explained):
        x = LEFT + LEGEND_COLUMN * (place % columns)
        y = top + LEGEND_ROW * (place // columns) + 12
        _shape(svg, (x + 10, y), ValveSign(role), 8.0)
        svg.text((x + 26, y + 4), word, 12, INK, "start")
    return svg.done()


def _bank(svg: Svg, bank: BankView, top: float, states: States, next_valve: Valve | None) -> None:
    svg.text((LEFT, top + 16), one_line(bank.name, 30), 13, INK, "start", bold=True)
    under = top + HEAD
    long, high = PITCH * bank.slots, LANE * bank.lanes - 1
    svg.rect((LEFT - 4, under - 4), (long + 8, high), PAPER, FAINT, 8)
    for place in bank.places:
        center = _center(place, under)
        if place.valve == next_valve:
            _point_at(svg, center)
        _shape(svg, center, shown(states, place.valve, next_valve), RADIUS)
        bold = place.valve == next_valve
        svg.text((center[0], center[1] + RADIUS + 15), str(place.valve), 13, INK, bold=bold)


def _center(place: Place, under: float) -> Point:
    return LEFT + PITCH * (place.slot + 0.5), under + LANE * place.lane + RADIUS + 6


def _point_at(svg: Svg, center: Point) -> None:
    x, y = center
    svg.rect((x - PITCH / 2 + 2, y - RADIUS - 5), (PITCH - 4, LANE - 10), "#fff3c4", INK, 6)
    svg.polygon([(x - 9, y - RADIUS - 20), (x + 9, y - RADIUS - 20), (x, y - RADIUS - 7)], INK)


def _shape(svg: Svg, center: Point, state: ValveSign, radius: float) -> None:
    _SHAPES[state](svg, center, radius)


def _empty(svg: Svg, center: Point, radius: float) -> None:
    svg.circle(center, radius, PAPER, FAINT, 1)


def _thick(svg: Svg, center: Point, radius: float) -> None:
    svg.circle(center, radius, PAPER, INK, 3)


def _letter(letter: str) -> Callable[[Svg, Point, float], None]:
    def draw(svg: Svg, center: Point, radius: float) -> None:
        svg.circle(center, radius, PALE, INK, 1)
        svg.text((center[0], center[1] + radius * 0.4), letter, radius * 1.3, INK)

    return draw


def _ring(svg: Svg, center: Point, radius: float) -> None:
    svg.circle(center, radius - 1, PAPER, GOOD, 4)


def _half(svg: Svg, center: Point, radius: float) -> None:
    x, y = center
    svg.circle(center, radius - 1, PAPER, GOOD, 3)
    svg.half_disc((x, y), radius - 1, GOOD)


def _full(svg: Svg, center: Point, radius: float) -> None:
    x, y = center
    svg.circle(center, radius, GOOD, INK, 1)
    tick = [(x - radius * 0.45, y), (x - radius * 0.1, y + radius * 0.4)]
    svg.line(tick[0], tick[1], PAPER, 2.5)
    svg.line(tick[1], (x + radius * 0.5, y - radius * 0.4), PAPER, 2.5)


def _short(svg: Svg, center: Point, radius: float) -> None:
    x, y = center
    svg.polygon(
        [(x - radius, y - radius * 0.8), (x + radius, y - radius * 0.8), (x, y + radius)], BAD
    )


def _long(svg: Svg, center: Point, radius: float) -> None:
    x, y = center
    svg.polygon(
        [(x - radius, y + radius * 0.8), (x + radius, y + radius * 0.8), (x, y - radius)], BAD
    )


def _diamond(svg: Svg, center: Point, radius: float) -> None:
    x, y = center
    svg.polygon([(x, y - radius), (x + radius, y), (x, y + radius), (x - radius, y)], "#8f5a86")


_SHAPES: dict[ValveSign, Callable[[Svg, Point, float], None]] = {
    ValveSign.NOT_DONE: _empty,
    ValveSign.NEXT: _thick,
    ValveSign.TRIAL: _letter("t"),
    ValveSign.COUNTED: _letter("c"),
    ValveSign.INSIDE: _ring,
    ValveSign.NEAR: _half,
    ValveSign.SHORT: _short,
    ValveSign.LONG: _long,
    ValveSign.ACCEPTED: _diamond,
    ValveSign.PROVED: _full,
    ValveSign.BACKED_OFF: _letter("b"),
}
