"""A small writer of SVG: shapes and text, everything escaped; no script, style sheet or link."""

from __future__ import annotations

import math
from collections.abc import Iterable
from html import escape

from heelwise.plain_text import one_line

FONT = "system-ui, sans-serif"
INK = "#1a1a1a"
FAINT = "#6b6b6b"
PAPER = "#ffffff"
INTAKE = "#0072b2"
EXHAUST = "#d55e00"
GOOD = "#00795a"
BAD = "#b3320a"
PALE = "#e4e4e4"
"""Of the Okabe-Ito colours, darkened where needed for 3 to 1 and more on white."""

Point = tuple[float, float]


def number(value: float) -> str:
    """A coordinate, to a hundredth.

    Args:
        value: any finite number.

    Returns:
        Such as "12.5"; never "-0".
    """
    return f"{round(value, 2) + 0.0:g}"


def on_circle(centre: Point, radius: float, clock_deg: float) -> Point:
    """A place on a circle.

    Args:
        centre: its centre.
        radius: its radius.
        clock_deg: degrees clockwise from the top, as seen.

    Returns:
        The place; y grows downwards.
    """
    angle = math.radians(clock_deg)
    return centre[0] + radius * math.sin(angle), centre[1] - radius * math.cos(angle)


class Svg:
    """A drawing under way. Every text is made plain and escaped before it is kept."""

    def __init__(self, width: float, height: float, says: str) -> None:
        self.width = width
        self.height = height
        self._says = says
        self._parts: list[str] = []

    def rect(
        self,
        corner: Point,
        size: Point,
        fill: str,
        stroke: str = "none",
        round_by: float = 0.0,
    ) -> None:
        """Draw a rectangle from its upper left corner."""
        x, y = map(number, corner)
        width, height = map(number, size)
        self._parts.append(
            f'<rect x="{x}" y="{y}" width="{width}" height="{height}" rx="{number(round_by)}" '
            f'fill="{escape(fill)}" stroke="{escape(stroke)}"/>'
        )

    def circle(
        self,
        centre: Point,
        radius: float,
        fill: str = "none",
        stroke: str = INK,
        stroke_width: float = 1.5,
    ) -> None:
        """Draw a circle."""
        x, y = map(number, centre)
        self._parts.append(
            f'<circle cx="{x}" cy="{y}" r="{number(radius)}" fill="{escape(fill)}" '
            f'stroke="{escape(stroke)}" stroke-width="{number(stroke_width)}"/>'
        )

    def polygon(self, points: Iterable[Point], fill: str, stroke: str = INK) -> None:
        """Draw a closed figure."""
        places = " ".join(f"{number(x)},{number(y)}" for x, y in points)
        self._parts.append(
            f'<polygon points="{places}" fill="{escape(fill)}" stroke="{escape(stroke)}" '
            'stroke-width="1.5" stroke-linejoin="round"/>'
        )

    def line(
        self, start: Point, end: Point, stroke: str = INK, stroke_width: float = 1.5, dash: str = ""
    ) -> None:
        """Draw a straight line."""
        (x1, y1), (x2, y2) = start, end
        dashes = f' stroke-dasharray="{escape(dash)}"' if dash else ""
        self._parts.append(
            f'<line x1="{number(x1)}" y1="{number(y1)}" x2="{number(x2)}" y2="{number(y2)}" '
            f'stroke="{escape(stroke)}" stroke-width="{number(stroke_width)}"{dashes}/>'
        )

    def arc(
        self,
        centre: Point,
        radius: float,
        from_deg: float,
        sweep_deg: float,
        stroke: str,
        stroke_width: float,
    ) -> None:
        """Draw part of a circle, by degrees clockwise from the top; negative runs the other way."""
        # An arc command can't draw 180 degrees or more reliably, so it is drawn in pieces.
        pieces = max(1, math.ceil(abs(sweep_deg) / 90.0))
        start = on_circle(centre, radius, from_deg)
        path = [f"M{number(start[0])} {number(start[1])}"]
        turns_right = 1 if sweep_deg > 0 else 0
        for piece in range(1, pieces + 1):
            x, y = on_circle(centre, radius, from_deg + sweep_deg * piece / pieces)
            path.append(
                f"A{number(radius)} {number(radius)} 0 0 {turns_right} {number(x)} {number(y)}"
            )
        self._parts.append(
            f'<path d="{" ".join(path)}" fill="none" stroke="{escape(stroke)}" '
            f'stroke-width="{number(stroke_width)}"/>'
        )

    def text(
        self,
        place: Point,
        text: str,
        size: float = 12.0,
        fill: str = INK,
        anchor: str = "middle",
        bold: bool = False,
    ) -> None:
        """Write a line of text, its baseline at a place."""
        weight = ' font-weight="bold"' if bold else ""
        self._parts.append(
            f'<text x="{number(place[0])}" y="{number(place[1])}" font-family="{FONT}" '
            f'font-size="{number(size)}" fill="{escape(fill)}" text-anchor="{escape(anchor)}"'
            f"{weight}>{escape(one_line(text))}</text>"
        )

    def done(self) -> str:
        """The whole drawing.

        Returns:
            One `<svg>` element with a title for those who can't see it.
        """
        width, height = number(self.width), number(self.height)
        says = escape(one_line(self._says, 2000))
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
            f'width="{width}" height="{height}" role="img"><title>{says}</title>'
            + "".join(self._parts)
            + "</svg>"
        )
