"""Figures shown large in half blocks, each with a word or two of what it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from textual.content import Content
from textual.geometry import Size
from textual.widget import Widget

from heelwise.screens.styled_text import Part, lines
from heelwise.screens.theme import glyphs

ROWS = 3
"""Rows a large text takes where block signs can be shown."""

_DRAWN = """
0  .##. #..# #..# #..# #..# .##.
1  .#. ##. .#. .#. .#. ###
2  .##. #..# ...# ..#. .#.. ####
3  ###. ...# .##. ...# ...# ###.
4  ..## .#.# #..# #### ...# ...#
5  #### #... ###. ...# ...# ###.
6  .##. #... ###. #..# #..# .##.
7  #### ...# ..#. ..#. .#.. .#..
8  .##. #..# .##. #..# #..# .##.
9  .##. #..# #..# .### ...# .##.
A  .##. #..# #..# #### #..# #..#
B  ###. #..# ###. #..# #..# ###.
C  .### #... #... #... #... .###
D  ###. #..# #..# #..# #..# ###.
E  #### #... ###. #... #... ####
F  #### #... ###. #... #... #...
G  .### #... #.## #..# #..# .###
H  #..# #..# #### #..# #..# #..#
I  ### .#. .#. .#. .#. ###
J  ..## ...# ...# ...# #..# .##.
K  #..# #.#. ##.. #.#. #..# #..#
L  #... #... #... #... #... ####
M  #...# ##.## #.#.# #...# #...# #...#
N  #...# ##..# #.#.# #..## #...# #...#
O  .##. #..# #..# #..# #..# .##.
P  ###. #..# #..# ###. #... #...
Q  .##. #..# #..# #..# #.#. .#.#
R  ###. #..# #..# ###. #.#. #..#
S  .### #... .##. ...# ...# ###.
T  ##### ..#.. ..#.. ..#.. ..#.. ..#..
U  #..# #..# #..# #..# #..# .##.
V  #...# #...# #...# .#.#. .#.#. ..#..
W  #...# #...# #...# #.#.# ##.## #...#
X  #..# #..# .##. .##. #..# #..#
Y  #...# #...# .#.#. ..#.. ..#.. ..#..
Z  #### ...# ..#. .#.. #... ####
/  ...# ...# ..#. .#.. #... #...
°  .#. #.# .#. ... ... ...
.  . . . . . #
:  . # . . # .
-  ... ... ### ... ... ...
–  ... ... ### ... ... ...
+  ... .#. ### .#. ... ...
"""


def _letters() -> dict[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {" ": (".",) * 6}
    for line in _DRAWN.strip().splitlines():
        letter, *rows = line.split()
        found[letter] = tuple(rows)
    return found


_LETTERS = _letters()
_HALVES = {"..": " ", "#.": "▀", ".#": "▄", "##": "█"}


def drawable(text: str) -> bool:
    """Whether every character of a text can be drawn large, so that none would be missing."""
    return all(character in _LETTERS for character in text.upper())


def large(text: str, scale: int = 1) -> tuple[str, ...]:
    """Draw a text large."""
    if not glyphs().blocks:
        return (text,)
    drawn = [_LETTERS[c] for c in text.upper() if c in _LETTERS]
    pixels = [" ".join(rows).replace(" ", ".") for rows in zip(*drawn, strict=True)]
    if scale > 1:
        return tuple("".join("██" if p == "#" else "  " for p in row) for row in pixels)
    pairs = zip(pixels[::2], pixels[1::2], strict=True)
    return tuple("".join(_HALVES[a + b] for a, b in zip(*pair, strict=True)) for pair in pairs)


GAP = 3
ROOMY = 40
"""Rows of a console on which figures are drawn twice as large."""


@dataclass(frozen=True)
class Figure:
    """One figure: up to three short lines of words before it, the figure, its tone.

    A spare one is left out sooner than the others are drawn smaller.
    """

    words: str
    large: str
    tone: str = "strong"
    spare: bool = False


class Placard(Widget):
    """A row of figures; those that don't fit are left out, the last first."""

    DEFAULT_CSS = "Placard { height: auto; width: 1fr; text-wrap: nowrap; text-overflow: clip; }"

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._figures: tuple[Figure, ...] = ()

    def show(self, figures: Sequence[Figure]) -> None:
        """Show these from now on."""
        self._figures = tuple(figures)
        self.display = bool(figures)
        self.refresh(layout=True)

    def rows(self, width: int) -> int:
        """The rows it would take in a width if it were shown; none without figures."""
        return self._high(width) if self._figures else 0

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """Three rows; six where there is much room; one on a console without block signs."""
        return self._high(width)

    def _high(self, width: int) -> int:
        return ROWS * self._scale(width) if glyphs().blocks else 1

    def render(self) -> Content:
        """The figures that fit, side by side."""
        width = self.content_size.width
        return placard(self._figures, width, self._scale(width))

    def _scale(self, width: int) -> int:
        """Twice as large on a console of many rows, whose cells are small, if all of it fits."""
        roomy = self.app.size.height >= ROOMY and glyphs().blocks
        needed = [figure for figure in self._figures if not figure.spare]
        return 2 if roomy and _wide(needed, 2) <= width else 1


def placard(figures: Sequence[Figure], width: int, scale: int = 1) -> Content:
    """Figures side by side."""
    needed = [figure for figure in figures if not figure.spare]
    figures = figures if _wide(figures, scale) <= width else needed
    if _wide(figures, scale) > width:
        figures = [replace(figure, words="") for figure in figures[:1]] + list(figures[1:])
    rows: list[list[Part]] = [[] for _ in range(ROWS * scale if glyphs().blocks else 1)]
    for count, figure in enumerate(figures):
        if count and _wide(figures[: count + 1], scale) > width:
            break
        drawn = _drawn(figure, len(rows), scale)
        for row, parts in zip(rows, drawn, strict=True):
            row += [(" " * GAP, "plain"), *parts] if row else parts
    return lines(rows)


def _wide(figures: Sequence[Figure], scale: int) -> int:
    each = [sum(len(text) for text, _ in _drawn(f, ROWS * scale, scale)[0]) for f in figures]
    return sum(each) + GAP * (len(each) - 1)


def _drawn(figure: Figure, height: int, scale: int) -> list[list[Part]]:
    words = figure.words.split("\n")
    big = large(figure.large, scale)
    words = [" ".join(words)] if len(big) == 1 else words[:height]
    words += [""] * (len(big) - len(words))
    wide = max(map(len, words))
    return [
        [(word.ljust(wide) + (" " if wide else ""), "quiet"), (row, figure.tone)]
        for word, row in zip(words, big, strict=True)
    ]
