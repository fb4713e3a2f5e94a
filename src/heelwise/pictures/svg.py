"""A small writer of SVG: shapes and text, everything escaped; no script, style sheet or link."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Iterable

from heelwise.plain_text import one_line

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
    """A drawing being made, with a title for those who can't see it."""

    def __init__(self, width: float, height: float, title: str) -> None:
        wide, high = number(width), number(height)
        self._root = ET.Element("svg", xmlns="http://www.w3.org/2000/svg", role="img")
        self._root.attrib |= {"viewBox": f"0 0 {wide} {high}", "width": wide, "height": high}
        ET.SubElement(self._root, "title").text = one_line(title, 2000)

    def _add(self, name: str, **attributes: float | str) -> ET.Element:
        written = {
            key.replace("_", "-"): value if isinstance(value, str) else number(value)
            for key, value in attributes.items()
        }
        return ET.SubElement(self._root, name, written)

    def rect(
        self, corner: Point, size: Point, fill: str, stroke: str = "none", round_by: float = 0.0
    ) -> None:
        """Draw a rectangle from its upper left corner."""
        (x, y), (width, height) = corner, size
        rect = self._add("rect", x=x, y=y, width=width, height=height, rx=round_by, fill=fill)
        rect.set("stroke", stroke)

    def circle(self, center: Point, radius: float, fill: str, stroke: str, wide: float) -> None:
        """Draw a circle."""
        x, y = center
        self._add("circle", cx=x, cy=y, r=radius, fill=fill, stroke=stroke, stroke_width=wide)

    def polygon(self, points: Iterable[Point], fill: str) -> None:
        """Draw a closed figure, outlined in ink."""
        corners = " ".join(f"{number(x)},{number(y)}" for x, y in points)
        self._add("polygon", points=corners, fill=fill, stroke=INK, stroke_width=1.5)

    def line(self, start: Point, end: Point, stroke: str, wide: float, dash: str = "") -> None:
        """Draw a straight line."""
        (x1, y1), (x2, y2) = start, end
        line = self._add("line", x1=x1, y1=y1, x2=x2, y2=y2, stroke=stroke, stroke_width=wide)
        if dash:
            line.set("stroke-dasharray", dash)

    def half_disc(self, center: Point, radius: float, fill: str) -> None:
        """Draw the left half of a disc."""
        (x, y), r = center, number(radius)
        top, bottom = f"{number(x)} {number(y - radius)}", f"{number(x)} {number(y + radius)}"
        self._add("path", d=f"M{top}A{r} {r} 0 0 0 {bottom}Z", fill=fill)

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
        x, y = place
        written = self._add("text", x=x, y=y, font_size=size, fill=fill, text_anchor=anchor)
        written.set("font-family", "system-ui, sans-serif")
        if bold:
            written.set("font-weight", "bold")
        written.text = one_line(text)

    def done(self) -> str:
        """The whole drawing: one `<svg>` element."""
        return ET.tostring(self._root, encoding="unicode")
