"""The engine from above, as SVG: front at the left, every state a shape of its own."""

from __future__ import annotations

from collections.abc import Callable

from heelwise.pictures.roles import ValveState, legend
from heelwise.pictures.svg import BAD, FAINT, GOOD, INK, PALE, PAPER, Point, Svg
from heelwise.pictures.top_view import (
    BankView,
    Place,
    States,
    engine_words,
    shown,
    top_view,
)
from heelwise.plain_text import one_line
from heelwise.valvetrain.engine import Engine
from heelwise.valvetrain.valves import Valve

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
    """Draw the engine from above.

    Args:
        engine: the engine.
        states: states of valves; one not named is not done.
        next_valve: the one pointed at.

    Returns:
        An `<svg>` element, legible in black and white.
    """
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
        _shape(svg, (x + 10, y), ValveState(role), 8.0)
        svg.text((x + 26, y + 4), word, 12, INK, "start")
    return svg.done()


def _bank(svg: Svg, bank: BankView, top: float, states: States, next_valve: Valve | None) -> None:
    svg.text((LEFT, top + 16), one_line(bank.name, 30), 13, INK, "start", bold=True)
    under = top + HEAD
    long, high = PITCH * bank.slots, LANE * bank.lanes - 1
    svg.rect((LEFT - 4, under - 4), (long + 8, high), PAPER, FAINT, 8)
    for place in bank.places:
        centre = _centre(place, under)
        if place.valve == next_valve:
            _point_at(svg, centre)
        _shape(svg, centre, shown(states, place.valve, next_valve), RADIUS)
        bold = place.valve == next_valve
        svg.text((centre[0], centre[1] + RADIUS + 15), str(place.valve), 13, INK, bold=bold)


def _centre(place: Place, under: float) -> Point:
    return LEFT + PITCH * (place.slot + 0.5), under + LANE * place.lane + RADIUS + 6


def _point_at(svg: Svg, centre: Point) -> None:
    x, y = centre
    svg.rect((x - PITCH / 2 + 2, y - RADIUS - 5), (PITCH - 4, LANE - 10), "#fff3c4", INK, 6)
    svg.polygon([(x - 9, y - RADIUS - 20), (x + 9, y - RADIUS - 20), (x, y - RADIUS - 7)], INK)


def _shape(svg: Svg, centre: Point, state: ValveState, radius: float) -> None:
    _SHAPES[state](svg, centre, radius)


def _empty(svg: Svg, centre: Point, radius: float) -> None:
    svg.circle(centre, radius, PAPER, FAINT, 1)


def _thick(svg: Svg, centre: Point, radius: float) -> None:
    svg.circle(centre, radius, PAPER, INK, 3)


def _letter(letter: str) -> Callable[[Svg, Point, float], None]:
    def draw(svg: Svg, centre: Point, radius: float) -> None:
        svg.circle(centre, radius, PALE, INK, 1)
        svg.text((centre[0], centre[1] + radius * 0.4), letter, radius * 1.3, INK)

    return draw


def _ring(svg: Svg, centre: Point, radius: float) -> None:
    svg.circle(centre, radius - 1, PAPER, GOOD, 4)


def _half(svg: Svg, centre: Point, radius: float) -> None:
    x, y = centre
    svg.circle(centre, radius - 1, PAPER, GOOD, 3)
    svg.arc((x, y), (radius - 1) / 2, 180, 180, GOOD, radius - 1)


def _full(svg: Svg, centre: Point, radius: float) -> None:
    x, y = centre
    svg.circle(centre, radius, GOOD, INK, 1)
    tick = [(x - radius * 0.45, y), (x - radius * 0.1, y + radius * 0.4)]
    svg.line(tick[0], tick[1], PAPER, 2.5)
    svg.line(tick[1], (x + radius * 0.5, y - radius * 0.4), PAPER, 2.5)


def _short(svg: Svg, centre: Point, radius: float) -> None:
    x, y = centre
    svg.polygon(
        [(x - radius, y - radius * 0.8), (x + radius, y - radius * 0.8), (x, y + radius)], BAD
    )


def _long(svg: Svg, centre: Point, radius: float) -> None:
    x, y = centre
    svg.polygon(
        [(x - radius, y + radius * 0.8), (x + radius, y + radius * 0.8), (x, y - radius)], BAD
    )


def _diamond(svg: Svg, centre: Point, radius: float) -> None:
    x, y = centre
    svg.polygon([(x, y - radius), (x + radius, y), (x, y + radius), (x - radius, y)], "#8f5a86")


_SHAPES: dict[ValveState, Callable[[Svg, Point, float], None]] = {
    ValveState.NOT_DONE: _empty,
    ValveState.NEXT: _thick,
    ValveState.TRIAL: _letter("t"),
    ValveState.COUNTED: _letter("c"),
    ValveState.INSIDE: _ring,
    ValveState.NEAR: _half,
    ValveState.SHORT: _short,
    ValveState.LONG: _long,
    ValveState.ACCEPTED: _diamond,
    ValveState.PROVED: _full,
    ValveState.BACKED_OFF: _letter("b"),
}
