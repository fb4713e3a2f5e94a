"""The window a count will be judged by, drawn before the bolt is tightened."""

from __future__ import annotations

from heelwise.documents import quantities
from heelwise.pictures.window_bar import bar, bar_cells
from heelwise.screens.glyphs import glyphs
from heelwise.screens.tones import ROLE_TONES, Part
from heelwise.walk.prompts import Prompt
from heelwise.walk.scene import Scene

WIDEST = 76


def count_bar(prompt: Prompt, scene: Scene, typed: str, width: int) -> list[list[Part]]:
    """The window, the turns never to pass, and the count as far as it is typed.

    Args:
        prompt: The prompt; only one that asks for a count has a bar.
        scene: The moment.
        typed: The reading as typed so far; what is no number yet is left out.
        width: Cells there are.

    Returns:
        Two lines and an empty one, or none.
    """
    if prompt.fills != "count":
        return []
    window = scene.window
    drawn = bar(window.least_turns, window.most_turns, scene.never_past, _turns(typed))
    cells = bar_cells(drawn, min(width, WIDEST), 2, not glyphs().blocks)
    rows = [[(cell.char, ROLE_TONES.get(cell.role, "plain")) for cell in row] for row in cells]
    return [*rows, [("", "plain")]]


def _turns(typed: str) -> float | None:
    try:
        return quantities.turns(typed) if typed else None
    except quantities.QuantityFault:
        return None
