"""The crank from the front: the damper under its pointer, and the turn to the next position.

The pointer stands still at the top. Every mark is drawn where it is now; the turn is the path of
the mark that is to come under the pointer. Any angle can be drawn, and what every lifter does
there told, so that a crank can be turned in thought.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from heelwise.pictures.cells import Grid, Size, blank, centred, in_ascii, put, words_in
from heelwise.pictures.roles import Role
from heelwise.valvetrain.arcs import CYCLE, SLACK, wrap
from heelwise.valvetrain.cam import Cam, margin, open_arc
from heelwise.valvetrain.engine import Engine, Valve
from heelwise.valvetrain.turn import SHOWN_DEG, degrees, landmark, turns_in_words

SMALLEST_CRANK = Size(27, 11)
"""Below it the turn is said in words."""
BESIDE_WIDTH = 24
"""Columns for what is seen on the way, to the right of the dial where there is room."""
USUAL_MARKS_DEG = 90.0
"""Drawn where the damper's own marks aren't known, or lie too close to be told from each other."""
CLOSEST_MARKS_DEG = 15.0


@dataclass(frozen=True)
class Mark:
    """A mark on the damper: the crank angle within a turn that brings it under the pointer, and
    where it is now, degrees clockwise from the pointer as seen.
    """

    deg: float
    clock_deg: float

    @property
    def label(self) -> str:
        """What is written beside it."""
        return "TDC" if self.deg < SHOWN_DEG else degrees(self.deg)


@dataclass(frozen=True)
class Crank:
    """The damper as seen: where the crank is and, for a turn, where to and by how many degrees.

    `landmark`: where the turn ends, or else where the crank is, in words.
    """

    clockwise: bool
    at_deg: float | None
    to_deg: float | None = None
    turn_deg: float | None = None
    marks: tuple[Mark, ...] = ()
    target: Mark | None = None
    landmark: str = "not known"

    @property
    def whole_turns(self) -> int:
        """Whole turns in the turn."""
        return 0 if self.turn_deg is None else int((self.turn_deg + SHOWN_DEG) // 360.0)

    @property
    def arc_deg(self) -> float:
        """What is left of the turn after whole turns, in degrees; the arc that is drawn."""
        if self.turn_deg is None:
            return 0.0
        return max(self.turn_deg - 360.0 * self.whole_turns, 0.0)

    @property
    def sign(self) -> int:
        """1 for clockwise as seen, -1 for counterclockwise."""
        return 1 if self.clockwise else -1

    @property
    def rotation(self) -> str:
        """The direction in words."""
        return "clockwise" if self.clockwise else "counterclockwise"


def crank_view(
    engine: Engine,
    at_deg: float | None,
    to_deg: float | None = None,
    turn_deg: float | None = None,
) -> Crank:
    """Work out where the damper's marks are and which is to come under the pointer.

    `turn_deg`: where it is not the shortest way on (two whole turns, say).
    """
    if at_deg is None:
        return Crank(engine.clockwise, None, to_deg)
    every = engine.damper_marks_deg or USUAL_MARKS_DEG
    if every < CLOSEST_MARKS_DEG or every > 360.0:
        every = USUAL_MARKS_DEG
    sign = 1 if engine.clockwise else -1
    marks = tuple(_mark(every * step, at_deg, sign) for step in range(max(1, round(360.0 / every))))
    at, here = wrap(at_deg), landmark(engine, at_deg)
    if to_deg is None:
        return Crank(engine.clockwise, at, marks=marks, landmark=here)
    turn = wrap(to_deg - at_deg) if turn_deg is None else turn_deg
    target, there = _mark(to_deg, at_deg, sign), landmark(engine, to_deg)
    return Crank(engine.clockwise, at, wrap(to_deg), turn, marks, target, there)


def _mark(deg: float, at_deg: float, sign: int) -> Mark:
    return Mark(wrap(deg) % 360.0, wrap(sign * (at_deg - deg)) % 360.0)


def crank_words(view: Crank) -> str:
    """Say what the picture shows: "Crank at 0°. Turn 1 turn and 90° (450°) clockwise, ..."."""
    if view.at_deg is None:
        return f"The crank position isn't known. It turns {view.rotation}, seen from the front."
    if view.to_deg is None or view.turn_deg is None:
        return f"Crank at {degrees(view.at_deg)}: {view.landmark}. It turns {view.rotation}."
    turn = f"{turns_in_words(view.turn_deg)} ({degrees(view.turn_deg)})"
    if view.turn_deg >= 720.0 - SHOWN_DEG:
        turn = "2 turns (720°)"
    return (
        f"Crank at {degrees(view.at_deg)}. Turn {turn} {view.rotation}, "
        f"seen from the front, to {degrees(view.to_deg)}: {view.landmark}."
    )


# ------------------------------------------------------------------ what the lifters do


@dataclass(frozen=True)
class LifterNow:
    """One lifter at a crank angle, in words for a hand on the bar.

    `margin_deg`: to the nearer end of its lobe, negative on it. `share_up`: of its full lift, by a
    cosine lobe.
    """

    valve: Valve
    margin_deg: float
    share_up: float
    words: str


def lifters_at(engine: Engine, cam: Cam, crank_deg: float) -> tuple[LifterNow, ...]:
    """What every lifter does at a crank angle, in the engine's order."""
    return tuple(_lifter(engine, cam, valve, crank_deg) for valve in engine.valves)


def _lifter(engine: Engine, cam: Cam, valve: Valve, crank_deg: float) -> LifterNow:
    lobe, clear = open_arc(engine, cam, valve), margin(engine, cam, valve, crank_deg)
    into = wrap(crank_deg - lobe.start)
    if clear >= 0:
        words = f"on its heel, its lobe in {degrees(CYCLE - into)}"
        return LifterNow(valve, clear, 0.0, words)
    share = (1 - math.cos(2 * math.pi * into / lobe.length)) / 2
    up = f"about {share:.0%} up"
    if share > 0.995:
        return LifterNow(valve, clear, share, "fully up")
    word = "rising" if into < lobe.length / 2 else "falling"
    return LifterNow(valve, clear, share, f"{word}, {up}")


def seen_on_the_way(engine: Engine, cam: Cam, from_deg: float, turn_deg: float) -> tuple[str, ...]:
    """What rises and what comes down during a turn, in order: "after 38°: 4I starts to rise"."""
    seen = []
    for valve in engine.valves:
        lobe = open_arc(engine, cam, valve)
        rise = wrap(lobe.start - from_deg)
        down = wrap(lobe.end - from_deg)
        if SLACK < rise < turn_deg - SLACK:
            seen.append((rise, f"{valve} rises"))
        if SLACK < down <= turn_deg + SLACK:
            seen.append((down, f"{valve} is down"))
    return tuple(f"{deg:>3.0f}°  {words}" for deg, words in sorted(seen))


# ------------------------------------------------------------------ the dial in cells


def crank_cells(
    view: Crank, width: int, height: int, ascii_only: bool = False, beside: Sequence[str] = ()
) -> Grid:
    """Draw the crank from the front, in words below `SMALLEST_CRANK`.

    `beside`: lines to the right of the dial, such as `seen_on_the_way`, where there is room.
    """
    if width < SMALLEST_CRANK.width or height < SMALLEST_CRANK.height:
        return words_in(crank_words(view), width, height, ascii_only)
    dial = width
    if beside and width >= SMALLEST_CRANK.width + BESIDE_WIDTH:
        dial = min(width - BESIDE_WIDTH, 4 * height)
    rim = _Rim(blank(width, height), dial, height)
    for clock in range(360):
        rim.put(clock, "·", Role.FAINT)
    _arc(rim, view)
    _marks(rim, view)
    centred(rim.grid, 0, rim.middle, "▼", Role.CRANK)
    _center(rim, view)
    whole = f"{view.rotation}, from the front"
    rotation = whole if len(whole) <= dial else view.rotation
    centred(rim.grid, height - 1, rim.middle, rotation, Role.LABEL)
    if dial < width:
        _beside(rim.grid, dial + 1, beside)
    return in_ascii(rim.grid) if ascii_only else rim.grid


def _beside(grid: Grid, col: int, lines: Sequence[str]) -> None:
    room = len(grid) - 2
    shown = list(lines) if len(lines) <= room else [*lines[: room - 1], "…"]
    put(grid, 0, col, "on the way", Role.FAINT)
    for row, line in enumerate(shown, start=1):
        put(grid, row, col, line, Role.LABEL)


def _center(rim: _Rim, view: Crank) -> None:
    lines = [("crank", Role.LABEL), ("not known", Role.LABEL)]
    if view.at_deg is not None:
        lines = [("at", Role.LABEL), (degrees(view.at_deg), Role.LABEL)]
        if view.to_deg is not None and view.turn_deg is not None:
            lines = [
                (f"at {degrees(view.at_deg)}", Role.LABEL),
                (f"turn {degrees(view.turn_deg)}", Role.TARGET),
                (f"to {degrees(view.to_deg)}", Role.LABEL),
            ]
    for row, (line, role) in enumerate(lines, start=rim.center - (len(lines) - 1) // 2):
        centred(rim.grid, row, rim.middle, line, role)


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

    def put(self, clock_deg: float, char: str, role: str) -> None:
        row, col = self.cell(clock_deg)
        put(self.grid, row, col, char, role)


def _arc(rim: _Rim, view: Crank) -> None:
    if view.whole_turns:
        for clock in range(360):
            rim.put(clock, "▒", Role.ARC)
    if view.target is None:
        return
    for step in range(int(view.arc_deg) + 1 if view.arc_deg >= 1.0 else 0):
        rim.put(view.target.clock_deg + view.sign * step, "█", Role.ARC)
    if view.turn_deg:
        row, col = rim.cell(0.0)
        put(rim.grid, row, col - view.sign, "►" if view.clockwise else "◄", Role.ARC)


def _marks(rim: _Rim, view: Crank) -> None:
    for mark in view.marks:
        rim.put(mark.clock_deg, "+", Role.MARK)
    for mark in view.marks:
        if mark.deg % 90.0 < SHOWN_DEG and mark.clock_deg > SHOWN_DEG:
            _label(rim, mark, Role.MARK)
    if view.target is not None and view.target.clock_deg > SHOWN_DEG:
        rim.put(view.target.clock_deg, "◆", Role.TARGET)
        _label(rim, view.target, Role.TARGET)


def _label(rim: _Rim, mark: Mark, role: str) -> None:
    text = mark.label
    row, col = rim.cell(mark.clock_deg, 1.0)
    left = col - len(text) + 1 if mark.clock_deg > 180.0 else col
    if row == rim.cell(180.0, 1.0)[0]:
        left = col - len(text) // 2
    elif row <= 1:
        left = rim.middle - 1 - len(text) if mark.clock_deg > 180.0 else rim.middle + 2
        row = 0
    put(rim.grid, row, left, text, role)
