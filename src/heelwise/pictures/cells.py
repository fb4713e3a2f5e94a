"""Grids of character cells: what a picture is drawn on before a screen or a sheet shows it."""

from __future__ import annotations

import textwrap
import unicodedata
from typing import NamedTuple

from heelwise.plain_text import one_line, plain


class Cell(NamedTuple):
    """One cell: what it shows (empty beside a wide character) and the role it plays."""

    char: str
    role: str


class Size(NamedTuple):
    """Columns and rows."""

    width: int
    height: int


Grid = list[list[Cell]]
"""Rows of cells, all of one length."""

EMPTY = Cell(" ", "")

_PLAIN = str.maketrans(
    {
        **dict.fromkeys("─━═–—−", "-"),
        **dict.fromkeys("│┃", "|"),
        **dict.fromkeys("·∙", "."),
        **dict.fromkeys("█▓", "#"),
        **dict.fromkeys("░▒", ":"),
        **dict.fromkeys("►▶", ">"),
        **dict.fromkeys("◄◀", "<"),
        **dict.fromkeys("▲△", "^"),
        **dict.fromkeys("▼▽", "v"),
        "●": "*",
        "○": "o",
        "…": "~",
        "’": "'",
        "×": "x",
        "π": "p",
    }
)


def blank(width: int, height: int) -> Grid:
    """Make an empty grid.

    Args:
        width: columns, 0 or more.
        height: rows, 0 or more.

    Returns:
        `height` rows of `width` spaces.
    """
    return [[EMPTY] * width for _ in range(height)]


def put(grid: Grid, row: int, col: int, text: str, role: str = "") -> None:
    """Write a text into a grid; what falls outside is left out.

    Args:
        grid: the grid, changed in place.
        row: row from 0.
        col: column of the first character, from 0; may be negative.
        text: one line; control characters are made visible.
        role: the role of its cells.
    """
    if not 0 <= row < len(grid):
        return
    for at, char in enumerate(columns(text), start=col):
        if 0 <= at < len(grid[row]):
            grid[row][at] = Cell(char, role)


def columns(text: str) -> list[str]:
    """Split a text into cells.

    Args:
        text: anything; control characters are made visible.

    Returns:
        One string a column: a wide character is followed by an empty one, a combining mark
        stays with what it combines with.
    """
    found: list[str] = []
    for char in plain(text):
        if unicodedata.combining(char) and found:
            found[-1] += char
        else:
            found += [char, ""] if unicodedata.east_asian_width(char) in "WF" else [char]
    return found


def centred(grid: Grid, row: int, middle: int, text: str, role: str = "") -> None:
    """Write a text so that its middle is at a column.

    Args:
        grid: the grid, changed in place.
        row: row from 0.
        middle: the column.
        text: one line.
        role: the role of its cells.
    """
    put(grid, row, middle - len(columns(text)) // 2, text, role)


def text_of(grid: Grid) -> str:
    """Give a grid's characters without their roles.

    Args:
        grid: the grid.

    Returns:
        Lines without spaces at their ends.
    """
    return "\n".join("".join(cell.char for cell in row).rstrip() for row in grid)


def words_in(text: str, width: int, height: int, ascii_only: bool = False, role: str = "") -> Grid:
    """Lay words out in place of a picture that has no room.

    Args:
        text: the words.
        width: columns.
        height: rows.
        ascii_only: use no glyph outside ASCII.
        role: the role of its cells.

    Returns:
        A grid of that size; what doesn't fit is cut, and the cut shown.
    """
    grid = blank(width, height)
    if width < 1 or height < 1:
        return grid
    said = one_line(ascii_text(text) if ascii_only else text, 2000)
    cut = "~" if ascii_only else "…"
    lines = textwrap.wrap(said, width, max_lines=height, placeholder=cut)
    for row, line in enumerate(lines):
        put(grid, row, 0, line, role)
    return grid


def ascii_text(text: str) -> str:
    """Say a text without glyphs outside ASCII.

    Args:
        text: any text.

    Returns:
        Degrees written "deg", drawing glyphs replaced, letters without their accents, "?" for
        what is left.
    """
    spelled = text.replace("°", " deg").replace("±", "+/-").translate(_PLAIN)
    bare = (c for c in unicodedata.normalize("NFKD", spelled) if not unicodedata.combining(c))
    return "".join(c if c.isascii() else "?" for c in bare)


def in_ascii(grid: Grid) -> Grid:
    """Replace every glyph outside ASCII, cell by cell.

    Args:
        grid: the grid; its state glyphs are expected in ASCII already.

    Returns:
        A grid of the same size.
    """
    return [[Cell(_ascii_cell(cell.char), cell.role) for cell in row] for row in grid]


def _ascii_cell(char: str) -> str:
    if char.isascii() and char:
        return char
    return (ascii_text(char).strip() or "?")[0]
