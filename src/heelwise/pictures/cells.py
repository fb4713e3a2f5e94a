"""Grids of character cells: what a picture is drawn on before a screen or a sheet shows it."""

from __future__ import annotations

import textwrap
import unicodedata
from typing import NamedTuple

from heelwise.pictures.roles import ValveSign
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
    "─━═–—−│┃┊┆·∙█▓░▒►▶◄◀▲△▼▽▀▄●○◇◆…’×π",
    "------||||..##::>><<^^vvIE*o*@~'xp",
)
_ASCII_SIGNS = {(sign.shape, sign.value): sign.letter for sign in ValveSign}


def blank(width: int, height: int) -> Grid:
    """Make a grid of spaces."""
    return [[EMPTY] * width for _ in range(height)]


def put(grid: Grid, row: int, col: int, text: str, role: str = "") -> None:
    """Write a line of text into a grid from a column on; what falls outside is left out."""
    if not 0 <= row < len(grid):
        return
    for at, char in enumerate(columns(text), start=col):
        if 0 <= at < len(grid[row]):
            grid[row][at] = Cell(char, role)


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


def centered(grid: Grid, row: int, middle: int, text: str, role: str = "") -> None:
    """Write a text so that its middle is at a column."""
    put(grid, row, middle - len(columns(text)) // 2, text, role)


def text_of(grid: Grid) -> str:
    """A grid's characters without their roles, no spaces at the ends of lines."""
    return "\n".join("".join(cell.char for cell in row).rstrip() for row in grid)


def words_in(text: str, width: int, height: int, ascii_only: bool = False) -> Grid:
    """Lay words out in place of a picture that has no room; what doesn't fit is cut with a sign."""
    grid = blank(width, height)
    if width < 1 or height < 1:
        return grid
    words = one_line(ascii_text(text) if ascii_only else text, 2000)
    cut = "~" if ascii_only else "…"
    for row, line in enumerate(textwrap.wrap(words, width, max_lines=height, placeholder=cut)):
        put(grid, row, 0, line)
    return grid


def ascii_text(text: str) -> str:
    """Say a text in ASCII: "deg" for °, plain signs, bare letters, "?" for what is left."""
    spelled = text.replace("°", " deg").replace("±", "+/-").translate(_PLAIN)
    bare = (c for c in unicodedata.normalize("NFKD", spelled) if not unicodedata.combining(c))
    return "".join(c if c.isascii() else "?" for c in bare)


def in_ascii(grid: Grid) -> Grid:
    """Replace every glyph outside ASCII, cell by cell; a valve's state by the letter for it."""
    return [[Cell(_ascii_cell(cell), cell.role) for cell in row] for row in grid]


def _ascii_cell(cell: Cell) -> str:
    if cell.char.isascii() and cell.char:
        return cell.char
    if cell.char == "°":
        return " "
    return _ASCII_SIGNS.get((cell.char, cell.role)) or (ascii_text(cell.char).strip() or "?")[0]
