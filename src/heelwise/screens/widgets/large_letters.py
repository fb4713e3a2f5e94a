"""Letters three rows tall, drawn in half blocks: what must be read from two metres."""

from __future__ import annotations

from heelwise.screens.glyphs import glyphs

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
    """Draw a text large.

    Args:
        text: Letters, digits, space and / ° . : - +; anything else is left out.
        scale: 1 or 2.

    Returns:
        Three rows of equal width, six at scale 2; a single row of the text itself on a console
        without blocks.
    """
    if not glyphs().blocks:
        return (text,)
    drawn = [_LETTERS[c] for c in text.upper() if c in _LETTERS]
    pixels = [" ".join(rows).replace(" ", ".") for rows in zip(*drawn, strict=True)]
    if scale > 1:
        return tuple("".join("██" if p == "#" else "  " for p in row) for row in pixels)
    pairs = zip(pixels[::2], pixels[1::2], strict=True)
    return tuple("".join(_HALVES[a + b] for a, b in zip(*pair, strict=True)) for pair in pairs)
