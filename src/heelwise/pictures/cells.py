"""Pictures as grids of character cells, each in a tone, and a grid as SVG.

A tone is a name; screens give it a style and SVG a color. No meaning hangs on color: every state
has a shape of its own.
"""

from __future__ import annotations

import unicodedata
import xml.etree.ElementTree as ET
from collections.abc import Iterable, Sequence
from enum import StrEnum
from itertools import groupby
from operator import itemgetter
from typing import NamedTuple

from heelwise.plain_text import Part, one_line, plain


class ValveSign(StrEnum):
    """How a valve stands, in the order of its progress.

    The value is the word for it and the tone of its cells; `shape` fills one cell; `meaning` is for
    a legend.
    """

    _value_: str
    shape: str
    meaning: str

    def __new__(cls, word: str, shape: str = "", meaning: str = "") -> ValveSign:
        """Keep what stands for a state with it."""
        sign = str.__new__(cls, word)
        sign._value_, sign.shape, sign.meaning = word, shape, meaning or word
        return sign

    NOT_DONE = "not done", "·"
    NEXT = "next", "►"
    TRIAL = "trial", "t", "trial pushrod in, rocker tight"
    COUNTED = "counted", "c", "counted, touched since: count again"
    INSIDE = "inside", "○"
    NEAR = "near", "◐", "inside, near a limit"
    SHORT = "short", "▼", "short: too little preload"
    LONG = "long", "▲", "long: too much preload"
    ACCEPTED = "accepted", "◆", "accepted as is"
    PROVED = "proved", "●"
    BACKED_OFF = "backed off", "↑", "rocker backed off"


def legend(states: Iterable[ValveSign]) -> list[tuple[str, str, str]]:
    """Shape, tone and meaning of each state shown, in the order of a valve's progress."""
    shown = set(states)
    return [(sign.shape, sign.value, sign.meaning) for sign in ValveSign if sign in shown]


class Cell(NamedTuple):
    """One cell: what it shows (empty beside a wide character) and its tone."""

    char: str
    tone: str


class Size(NamedTuple):
    """Columns and rows."""

    width: int
    height: int


Grid = list[list[Cell]]
"""Rows of cells, all of one length."""

EMPTY = Cell(" ", "")


def blank(width: int, height: int) -> Grid:
    """Make a grid of spaces."""
    return [[EMPTY] * width for _ in range(height)]


def no_room(width: int, height: int) -> Grid:
    """What stands in place of a picture where it has no room."""
    grid = blank(width, height)
    put(grid, 0, 0, "no room to draw it")
    return grid


def put(grid: Grid, row: int, col: int, text: str, tone: str = "") -> None:
    """Write a line of text into a grid from a column on; what falls outside is left out."""
    if not 0 <= row < len(grid):
        return
    for at, char in enumerate(columns(text), start=col):
        if 0 <= at < len(grid[row]):
            grid[row][at] = Cell(char, tone)


def columns(text: str) -> list[str]:
    """Split a text into cells, one string a column, control characters made visible.

    A wide character is followed by an empty one; a combining mark stays with its letter.
    """
    cells: list[str] = []
    for char in plain(text):
        if unicodedata.combining(char) and cells:
            cells[-1] += char
        else:
            cells += [char, ""] if unicodedata.east_asian_width(char) in "WF" else [char]
    return cells


def runs(row: Sequence[Cell]) -> list[Part]:
    """A row in pieces of one tone each."""
    return [
        ("".join(cell.char for cell in run), tone)
        for tone, run in groupby(row, key=lambda cell: cell.tone)
    ]


# ------------------------------------------------------------------ SVG

UNIT = Size(10, 22)
"""A cell's width and height in an SVG."""
_INK = "#1a1a1a"
_COLORS: dict[str, str] = {
    "intake": "#0072b2",
    "exhaust": "#d55e00",
    "line": "#8a8a8a",
    **dict.fromkeys(("good", ValveSign.INSIDE, ValveSign.NEAR, ValveSign.PROVED), "#00795a"),
    **dict.fromkeys(("bad", ValveSign.SHORT, ValveSign.LONG), "#b3320a"),
}
"""By tone, of the Okabe-Ito colors, darkened where needed for 3 to 1 and more on white."""
_SHAPES = {
    "█": (0.0, 0.0, 1.0, 1.0),
    "▀": (0.0, 0.0, 1.0, 0.5),
    "▄": (0.0, 0.5, 1.0, 0.5),
    "░": (0.0, 0.3, 1.0, 0.4),
    "─": (0.0, 0.48, 1.0, 0.05),
    "═": (0.0, 0.38, 1.0, 0.24),
    "│": (0.4, 0.0, 0.2, 1.0),
}
"""Characters drawn as rectangles: left, top, width and height as shares of a cell."""


def grid_svg(grid: Grid, title: str) -> str:
    """Draw a grid as one `<svg>` element, with a title for those who can't see it."""
    filled = [[at for at, cell in enumerate(row, start=1) if cell.char.strip()] for row in grid]
    wide = UNIT.width * max((row[-1] for row in filled if row), default=1)
    high = UNIT.height * max((at for at, row in enumerate(filled, start=1) if row), default=1)
    root = ET.Element("svg", xmlns="http://www.w3.org/2000/svg", role="img")
    root.attrib |= {"viewBox": f"0 0 {wide} {high}", "width": str(wide), "height": str(high)}
    ET.SubElement(root, "title").text = one_line(title)
    for row, cells in enumerate(grid):
        col = 0
        kinds = ((c.char if c.char in (" ", *_SHAPES) else "", c.tone) for c in cells)
        for (kind, tone), run in groupby(zip(kinds, cells, strict=True), key=itemgetter(0)):
            text = [cell.char for _, cell in run]
            if kind != " ":  # like rectangles beside each other, or the cells of a word
                _draw_run(root, (col, row), kind, text, _COLORS.get(tone, _INK))
            col += len(text)
    return ET.tostring(root, encoding="unicode")


def _draw_run(
    root: ET.Element, place: tuple[int, int], shape: str, text: list[str], color: str
) -> None:
    x, y = place[0] * UNIT.width, place[1] * UNIT.height
    if shape:
        left, top, wide, high = _SHAPES[shape]
        numbers = {
            "x": x + left * UNIT.width,
            "y": y + top * UNIT.height,
            "width": len(text) * wide * UNIT.width,
            "height": high * UNIT.height,
        }
        ET.SubElement(root, "rect", {k: f"{v:g}" for k, v in numbers.items()}, fill=color)
        return
    style = {"font-family": "ui-monospace, 'Liberation Mono', monospace", "font-size": "16"}
    written = ET.SubElement(root, "text", style, x=str(x), y=str(y + 16), fill=color)
    written.set("textLength", str(len(text) * UNIT.width))
    written.text = "".join(text)
