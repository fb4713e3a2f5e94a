"""The crank from the front, as SVG."""

from __future__ import annotations

from heelwise.pictures.crank_front import CrankFront, Mark, centre_lines, crank_words
from heelwise.pictures.svg import FAINT, INK, INTAKE, PALE, PAPER, Point, Svg, on_circle
from heelwise.valvetrain.landmarks import SHOWN_DEG

RADIUS = 78.0
CENTRE: Point = (130.0, 128.0)


def crank_svg(view: CrankFront) -> str:
    """Draw the crank from the front.

    Args:
        view: the damper as seen.

    Returns:
        An `<svg>` element.
    """
    svg = Svg(260, 262, f"The crank from the front. {crank_words(view)}")
    svg.circle(CENTRE, RADIUS, PAPER, INK, 2)
    _svg_arc(svg, view)
    for mark in view.marks:
        _svg_mark(svg, mark, INK, 6.0)
    if view.target is not None:
        _svg_mark(svg, view.target, INTAKE, 12.0)
    x, top = CENTRE[0], CENTRE[1] - RADIUS
    svg.polygon([(x - 8, top - 20), (x + 8, top - 20), (x, top - 3)], INK)
    lines = centre_lines(view)
    for place, line in enumerate(lines):
        bold = len(lines) == 1 or line.startswith("turn")
        y = CENTRE[1] + 6 + 20 * (place - (len(lines) - 1) / 2)
        svg.text((x, y), line, 17 if bold else 13, INK, bold=bold)
    svg.text((x, 252), f"turns {view.rotation}, seen from the front", 12, FAINT)
    return svg.done()


def _svg_arc(svg: Svg, view: CrankFront) -> None:
    ring = RADIUS - 12
    if view.whole_turns:
        svg.circle(CENTRE, ring, "none", PALE, 12)
        svg.circle(CENTRE, ring - 6, "none", INTAKE, 1)
        svg.circle(CENTRE, ring + 6, "none", INTAKE, 1)
    if view.target is not None and view.arc_deg > SHOWN_DEG:
        sweep = view.sign * view.arc_deg
        svg.arc(CENTRE, ring, view.target.clock_deg, sweep, INTAKE, 9)
    if view.turn_deg:
        x, y = CENTRE[0], CENTRE[1] - ring
        ahead = 14 * view.sign
        svg.polygon([(x, y), (x - ahead, y - 9), (x - ahead, y + 9)], INTAKE, INTAKE)


def _svg_mark(svg: Svg, mark: Mark, colour: str, long: float) -> None:
    inner = on_circle(CENTRE, RADIUS - long, mark.clock_deg)
    svg.line(inner, on_circle(CENTRE, RADIUS, mark.clock_deg), colour, 2.5)
    x, y = on_circle(CENTRE, RADIUS + 20, mark.clock_deg)
    if mark.clock_deg > SHOWN_DEG and mark.clock_deg < 360.0 - SHOWN_DEG:
        svg.text((x, y + 4), mark.label, 12, colour, bold=colour != INK)
