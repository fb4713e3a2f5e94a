"""The 720° strip, as SVG: one unit a crank degree."""

from __future__ import annotations

from heelwise.pictures.strip import Row, Strip
from heelwise.pictures.svg import EXHAUST, FAINT, GOOD, INK, INTAKE, PALE, PAPER, Svg
from heelwise.valvetrain.arcs import CYCLE, Arc, wrap
from heelwise.valvetrain.valves import Kind

ROW = 24.0
HEAD = 40.0
SIDE = 44.0
LONG = 720.0
NEAR_COLOUR = "#b0b0b0"


def strip_svg(view: Strip) -> str:
    """Draw the strip.

    Args:
        view: the strip.

    Returns:
        An `<svg>` element.
    """
    foot = HEAD + ROW * (len(view.rows) + (1 if view.ranges else 0))
    svg = Svg(LONG + SIDE + 20, foot + 46, f"One cycle of the crank. {view.said}")
    for place, one in enumerate(view.rows):
        _svg_row(svg, HEAD + ROW * place, one)
    if view.ranges:
        svg.text((SIDE - 10, foot - 8), "may", 12, INK, "end")
    for span in view.ranges:
        length = (span.to_deg - span.from_deg) % CYCLE or CYCLE
        _svg_arc(svg, Arc(wrap(span.from_deg), length), foot - ROW + 5, 14, GOOD)
    for deg in range(0, 721, 90):
        svg.line((SIDE + deg, HEAD), (SIDE + deg, foot + 4), FAINT, 0.5)
        svg.text((SIDE + deg, foot + 18), f"{deg}°", 11, FAINT)
    for number, position in view.positions:
        x = SIDE + position
        svg.line((x, 18), (x, foot), INK, 1.5, "4 3")
        svg.text((x, 14), str(number), 14, INK, bold=True)
    if view.at_deg is not None:
        x = SIDE + view.at_deg
        svg.line((x, 22), (x, foot), INK, 3)
        svg.polygon([(x - 7, 19), (x + 7, 19), (x, 34)], INK)
    _svg_legend(svg, foot + 34)
    return svg.done()


def _svg_row(svg: Svg, top: float, one: Row) -> None:
    svg.text((SIDE - 10, top + 16), str(one.cylinder), 14, INK, "end", bold=True)
    svg.line((SIDE, top + ROW - 0.5), (SIDE + LONG, top + ROW - 0.5), PALE, 1)
    for lobe in one.lobes:
        upper = lobe.valve.kind is Kind.INTAKE
        y, colour = (top + 1, INTAKE) if upper else (top + 12, EXHAUST)
        _svg_arc(svg, lobe.near, y + 2, 6, NEAR_COLOUR)
        _svg_arc(svg, lobe.open, y, 10, colour)
        middle = (SIDE + lobe.open.middle, y + 8.5)
        svg.text(middle, lobe.valve.kind.value, 9.5, PAPER, bold=True)
    _svg_tdc(svg, SIDE + one.tdc_deg, top + ROW / 2)


def _svg_tdc(svg: Svg, x: float, y: float) -> None:
    svg.polygon([(x - 4, y), (x, y - 5), (x + 4, y), (x, y + 5)], INK)


def _svg_arc(svg: Svg, arc: Arc, top: float, high: float, colour: str) -> None:
    first = min(arc.length, CYCLE - arc.start)
    svg.rect((SIDE + arc.start, top), (first, high), colour)
    if arc.length > first:
        svg.rect((SIDE, top), (arc.length - first, high), colour)


def _svg_legend(svg: Svg, y: float) -> None:
    for x, colour, said in (
        (0.0, INTAKE, "I intake lobe"),
        (120.0, EXHAUST, "E exhaust lobe"),
        (250.0, NEAR_COLOUR, "less than the margin asked for"),
    ):
        svg.rect((SIDE + x, y - 6), (16, 8), colour)
        svg.text((SIDE + x + 22, y + 2), said, 11, INK, "start")
    _svg_tdc(svg, SIDE + 477, y - 2)
    svg.text((SIDE + 488, y + 2), "TDC on compression", 11, INK, "start")
