"""The crank from the front: the damper under its pointer, and the turn to the next position.

The pointer stands still at the top. Every mark is drawn where it is now; the turn is the path of
the mark that is to come under the pointer.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from heelwise.pictures.cells import Grid, Size, blank, no_room, put
from heelwise.valvetrain.cam import SLACK, Cam, open_arc
from heelwise.valvetrain.engine import CYCLE, Engine, Valve, wrap
from heelwise.valvetrain.turn import SHOWN_DEG, degrees

SMALLEST_CRANK = Size(27, 11)
BESIDE_WIDTH = 24
"""Columns for what is seen on the way, to the right of the dial where there is room."""
MARKS = (0.0, 90.0, 180.0, 270.0)
"""Crank angles of the marks drawn on the damper."""


@dataclass(frozen=True)
class Crank:
    """The damper as seen: where the crank is and, for a turn, where to."""

    engine: Engine
    at_deg: float | None
    to_deg: float | None = None

    @property
    def turn_deg(self) -> float:
        """The turn the shortest way on; 0 where none is to be made."""
        if self.at_deg is None or self.to_deg is None:
            return 0.0
        return wrap(self.to_deg - self.at_deg)

    def clock(self, deg: float) -> float:
        """Where the mark of a crank angle is now, degrees clockwise from the pointer as seen."""
        behind = (self.at_deg or 0.0) - deg
        return wrap(behind if self.engine.clockwise else -behind) % 360.0


# ------------------------------------------------------------------ what the lifters do


def lifters_at(engine: Engine, cam: Cam, crank_deg: float) -> list[tuple[Valve, bool, str]]:
    """Of every lifter, in the engine's order: whether it is up, and what it does, in words."""
    found = []
    for valve in engine.valves:
        lobe = open_arc(engine, cam, valve)
        into = wrap(crank_deg - lobe.start)
        words = f"on its heel, its lobe in {degrees(CYCLE - into)}"
        if 0 < into < lobe.length / 2:
            words = f"rising, at its top in {degrees(lobe.length / 2 - into)}"
        elif lobe.length / 2 <= into < lobe.length:
            words = f"falling, on its heel in {degrees(lobe.length - into)}"
        found.append((valve, 0 < into < lobe.length, words))
    return found


def seen_on_the_way(engine: Engine, cam: Cam, from_deg: float, turn_deg: float) -> tuple[str, ...]:
    """What rises and what comes down during a turn, in order: " 38°  4I rises"."""
    seen = []
    for valve in engine.valves:
        lobe = open_arc(engine, cam, valve)
        rise, down = wrap(lobe.start - from_deg), wrap(lobe.end - from_deg)
        if SLACK < rise < turn_deg - SLACK:
            seen.append((rise, f"{valve} rises"))
        if SLACK < down <= turn_deg + SLACK:
            seen.append((down, f"{valve} is down"))
    return tuple(f"{deg:>3.0f}°  {words}" for deg, words in sorted(seen))


# ------------------------------------------------------------------ the dial in cells


def crank_cells(view: Crank, width: int, height: int, beside: Sequence[str] = ()) -> Grid:
    """Draw the crank from the front.

    `beside`: lines to the right of the dial, such as `seen_on_the_way`, where there is room.
    """
    if width < SMALLEST_CRANK.width or height < SMALLEST_CRANK.height:
        return no_room(width, height)
    dial = width
    if beside and width >= SMALLEST_CRANK.width + BESIDE_WIDTH:
        dial = min(width - BESIDE_WIDTH, 4 * height)
    rim = _Rim(blank(width, height), dial, height)
    for clock in range(360):
        rim.put(clock, "·", "line")
    if view.at_deg is not None:
        _turn(rim, view)
    rim.centered(0, "▼", "strong")
    figures = [("crank not known", "plain")]
    if view.at_deg is not None:
        figures = [(f"at {degrees(wrap(view.at_deg))}", "plain")]
        if view.to_deg is not None:
            figures.append((f"turn {degrees(view.turn_deg)}", "next"))
            figures.append((f"to {degrees(wrap(view.to_deg))}", "plain"))
    for row, (line, tone) in enumerate(figures, start=rim.center - (len(figures) - 1) // 2):
        rim.centered(row, line, tone)
    direction = "clockwise" if view.engine.clockwise else "counterclockwise"
    rim.centered(height - 1, f"front view, {direction}", "plain")
    if dial < width:
        room = height - 2
        shown = list(beside) if len(beside) <= room else [*beside[: room - 1], "…"]
        put(rim.grid, 0, dial + 1, "on the way", "line")
        for row, line in enumerate(shown, start=1):
            put(rim.grid, row, dial + 1, line, "plain")
    return rim.grid


class _Rim:
    """A circle of cells; a cell is about twice as high as wide."""

    def __init__(self, grid: Grid, width: int, height: int) -> None:
        self.grid = grid
        self.middle = width // 2
        # One row above for the pointer, one below for a mark's label, one for the direction.
        self.rows = min((height - 4) // 2, (width - 11) // 4)
        self.center = 1 + self.rows

    def cell(self, clock_deg: float, further: float = 0.0) -> tuple[int, int]:
        angle = math.radians(clock_deg)
        col = self.middle + round(math.sin(angle) * (2 * self.rows + 2 * further))
        return self.center + round(-math.cos(angle) * (self.rows + further)), col

    def put(self, clock_deg: float, char: str, tone: str) -> None:
        put(self.grid, *self.cell(clock_deg), char, tone)

    def centered(self, row: int, text: str, tone: str) -> None:
        put(self.grid, row, self.middle - len(text) // 2, text, tone)

    def mark(self, clock_deg: float, sign: str, deg: float, tone: str) -> None:
        """Draw a mark with its crank angle beside it."""
        self.put(clock_deg, sign, tone)
        text = "TDC" if deg % 360.0 < SHOWN_DEG else degrees(deg % 360.0)
        row, col = self.cell(clock_deg, 1.0)
        left = col - len(text) + 1 if clock_deg > 180.0 else col
        if row == self.cell(180.0, 1.0)[0]:
            left = col - len(text) // 2
        if row > 1:  # beside the pointer there is no room
            put(self.grid, row, left, text, tone)


def _turn(rim: _Rim, view: Crank) -> None:
    """Whole turns as a shade all round, what is left of the turn, and the marks."""
    whole, rest = divmod(view.turn_deg + SHOWN_DEG, 360.0)
    sign, arrow = (1, "►") if view.engine.clockwise else (-1, "◄")
    for clock in range(360 if whole else 0):
        rim.put(clock, "▒", "next")
    for step in range(int(rest) + 1 if rest >= 1.0 else 0):
        rim.put(view.clock(view.to_deg or 0.0) + sign * step, "█", "next")
    if view.turn_deg:
        row, col = rim.cell(0.0)
        put(rim.grid, row, col - sign, arrow, "next")
    for deg in MARKS:
        rim.mark(view.clock(deg), "+", deg, "strong")
    if view.to_deg is not None:
        rim.mark(view.clock(view.to_deg), "◆", view.to_deg, "next")
