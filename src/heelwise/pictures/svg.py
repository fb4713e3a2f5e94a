"""A small writer of SVG: shapes and text, everything escaped; no script, style sheet or link."""

from __future__ import annotations

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
"""Of the Okabe-Ito colors, darkened where needed for 3 to 1 and more on white."""

Point = tuple[float, float]


def number(value: float) -> str:
    """A coordinate, to a hundredth: "12.5"; never "-0"."""
    return f"{round(value, 2) + 0.0:g}"


class Svg:
    """A drawing being made. Every text is made plain and escaped before it is kept."""

    def __init__(self, width: float, height: float, says: str) -> None:
        self.width = width
        self.height = height
        self._says = says
        self._parts: list[str] = []

    def rect(
        self, corner: Point, size: Point, fill: str, stroke: str = "none", round_by: float = 0.0
    ) -> None:
        """Draw a rectangle from its upper left corner."""
        (x, y), (width, height) = corner, size
        self._add("rect", x=x, y=y, width=width, height=height, rx=round_by)
        self._paint(fill, stroke)

    def circle(
        self,
        center: Point,
        radius: float,
        fill: str = "none",
        stroke: str = INK,
        stroke_width: float = 1.5,
    ) -> None:
        """Draw a circle."""
        self._add("circle", cx=center[0], cy=center[1], r=radius)
        self._paint(fill, stroke, stroke_width)

    def polygon(self, points: Iterable[Point], fill: str, stroke: str = INK) -> None:
        """Draw a closed figure."""
        self._add("polygon", points=" ".join(f"{number(x)},{number(y)}" for x, y in points))
        self._paint(fill, stroke, 1.5)

    def line(
        self, start: Point, end: Point, stroke: str = INK, stroke_width: float = 1.5, dash: str = ""
    ) -> None:
        """Draw a straight line."""
        (x1, y1), (x2, y2) = start, end
        self._add(
            "line", x1=x1, y1=y1, x2=x2, y2=y2, **({"stroke-dasharray": dash} if dash else {})
        )
        self._paint("none", stroke, stroke_width)

    def half_disc(self, center: Point, radius: float, fill: str) -> None:
        """Draw the left half of a disc."""
        (x, y), r = center, number(radius)
        top, bottom = f"{number(x)} {number(y - radius)}", f"{number(x)} {number(y + radius)}"
        self._add("path", d=f"M{top}A{r} {r} 0 0 0 {bottom}Z")
        self._paint(fill, "none")

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
        """The whole drawing: one `<svg>` element with a title for those who can't see it."""
        width, height = number(self.width), number(self.height)
        says = escape(one_line(self._says, 2000))
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
            f'width="{width}" height="{height}" role="img"><title>{says}</title>'
            + "".join(self._parts)
            + "</svg>"
        )

    def _add(self, name: str, **attributes: float | str) -> None:
        written = (
            f' {key}="{escape(value) if isinstance(value, str) else number(value)}"'
            for key, value in attributes.items()
        )
        self._parts.append(f"<{name}{''.join(written)}")

    def _paint(self, fill: str, stroke: str, stroke_width: float = 1.5) -> None:
        self._parts.append(
            f' fill="{escape(fill)}" stroke="{escape(stroke)}" '
            f'stroke-width="{number(stroke_width)}"/>'
        )
