"""The crank from the front: the damper under its pointer, and the turn to the next position.

The pointer stands still at the top. Every mark is drawn where it is now; the turn is the way of
the mark that is to come under the pointer.
"""

from __future__ import annotations

from dataclasses import dataclass

from heelwise.pictures.cells import (
    Grid,
    Size,
    blank,
    centred,
    in_ascii,
    put,
    words_in,
)
from heelwise.pictures.roles import Role
from heelwise.pictures.svg import on_circle
from heelwise.valvetrain.arcs import wrap
from heelwise.valvetrain.engine import Engine
from heelwise.valvetrain.landmarks import SHOWN_DEG, degrees, landmark
from heelwise.valvetrain.turning import turns_in_words

SMALLEST_CRANK = Size(27, 11)
"""Below it the turn is said in words."""
USUAL_MARKS_DEG = 90.0
"""Drawn where the damper's own marks aren't known, or lie too close to be told apart."""
CLOSEST_MARKS_DEG = 15.0


@dataclass(frozen=True)
class Mark:
    """A mark on the damper.

    Attributes:
        deg: crank angle within a turn at which it is under the pointer, in [0, 360).
        clock_deg: where it is now, degrees clockwise from the pointer as seen, in [0, 360).
    """

    deg: float
    clock_deg: float

    @property
    def label(self) -> str:
        """What is written beside it."""
        return "TDC" if self.deg < SHOWN_DEG else degrees(self.deg)


@dataclass(frozen=True)
class CrankFront:
    """The damper as seen.

    Attributes:
        clockwise: direction of rotation.
        at_deg: crank angle now; None if not known.
        to_deg: crank angle to go to; None if there is no turn to make.
        turn_deg: degrees of that turn, 0 to 720; None with either angle.
        marks: its marks; none while the crank's place is not known.
        target: the mark to bring under the pointer.
        landmark: where the turn ends, or else where the crank is, in words.
    """

    clockwise: bool
    at_deg: float | None
    to_deg: float | None
    turn_deg: float | None
    marks: tuple[Mark, ...]
    target: Mark | None
    landmark: str

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


def crank_front(
    engine: Engine,
    at_deg: float | None,
    to_deg: float | None = None,
    turn_deg: float | None = None,
) -> CrankFront:
    """Work out where the damper's marks are and which is to come under the pointer.

    Args:
        engine: the engine.
        at_deg: crank angle now, in degrees; None if not known.
        to_deg: crank angle to go to, in degrees; None for none.
        turn_deg: degrees to turn, where it is not the shortest way on (two whole turns, say).

    Returns:
        The damper as seen.
    """
    if at_deg is None:
        return CrankFront(engine.clockwise, None, to_deg, None, (), None, "not known")
    every = engine.damper_marks_deg or USUAL_MARKS_DEG
    if every < CLOSEST_MARKS_DEG or every > 360.0:
        every = USUAL_MARKS_DEG
    sign = 1 if engine.clockwise else -1
    marks = tuple(_mark(every * step, at_deg, sign) for step in range(max(1, round(360.0 / every))))
    if to_deg is None:
        said = landmark(engine, at_deg)
        return CrankFront(engine.clockwise, wrap(at_deg), None, None, marks, None, said)
    turn = wrap(to_deg - at_deg) if turn_deg is None else turn_deg
    target = _mark(to_deg, at_deg, sign)
    return CrankFront(
        engine.clockwise, wrap(at_deg), wrap(to_deg), turn, marks, target, landmark(engine, to_deg)
    )


def _mark(deg: float, at_deg: float, sign: int) -> Mark:
    return Mark(wrap(deg) % 360.0, wrap(sign * (at_deg - deg)) % 360.0)


def crank_words(view: CrankFront) -> str:
    """Say what the picture shows.

    Args:
        view: the damper as seen.

    Returns:
        Such as "Crank at 0°. Turn 1 turn and 90° (450°) clockwise, to 450°: cylinder 4 ...".
    """
    if view.at_deg is None:
        return f"The crank's place is not known. It turns {view.rotation}, seen from the front."
    if view.to_deg is None or view.turn_deg is None:
        return f"Crank at {degrees(view.at_deg)}: {view.landmark}. It turns {view.rotation}."
    return (
        f"Crank at {degrees(view.at_deg)}. Turn {_turn_words(view)} {view.rotation}, "
        f"seen from the front, to {degrees(view.to_deg)}: {view.landmark}."
    )


def _turn_words(view: CrankFront) -> str:
    assert view.turn_deg is not None
    if view.turn_deg >= 720.0 - SHOWN_DEG:
        return "2 turns (720°)"
    return f"{turns_in_words(view.turn_deg)} ({degrees(view.turn_deg)})"


def centre_lines(view: CrankFront) -> list[str]:
    """The figures written in the middle of the picture.

    Args:
        view: the damper as seen.

    Returns:
        Two or three short lines; the turn's begins with "turn".
    """
    if view.at_deg is None:
        return ["crank", "not known"]
    if view.to_deg is None or view.turn_deg is None:
        return ["at", degrees(view.at_deg)]
    return [f"at {degrees(view.at_deg)}", f"turn {degrees(view.turn_deg)}", _way(view)]


def _way(view: CrankFront) -> str:
    assert view.to_deg is not None
    return f"to {degrees(view.to_deg)}"


def crank_cells(view: CrankFront, width: int, height: int, ascii_only: bool = False) -> Grid:
    """Draw the crank from the front.

    Args:
        view: the damper as seen.
        width: columns.
        height: rows.
        ascii_only: use no glyph outside ASCII.

    Returns:
        A grid of exactly that size; words in it below `SMALLEST_CRANK`.
    """
    if width < SMALLEST_CRANK.width or height < SMALLEST_CRANK.height:
        return words_in(crank_words(view), width, height, ascii_only)
    rim = _Rim(blank(width, height), width, height)
    for clock in range(360):
        rim.put(clock, "·", Role.FAINT)
    _cells_arc(rim, view)
    _cells_marks(rim, view, ascii_only)
    centred(rim.grid, 0, rim.middle, "▼", Role.CRANK)
    lines = centre_lines(view)
    for row, line in enumerate(lines, start=rim.centre - (len(lines) - 1) // 2):
        said = line.replace("°", "") if ascii_only else line
        role = Role.TARGET if line.startswith("turn") else Role.LABEL
        centred(rim.grid, row, rim.middle, said, role)
    whole = f"{view.rotation}, from the front"
    said = whole if len(whole) <= width else view.rotation
    centred(rim.grid, height - 1, rim.middle, said, Role.LABEL)
    return in_ascii(rim.grid) if ascii_only else rim.grid


class _Rim:
    """A circle of cells; a cell is about twice as high as wide."""

    def __init__(self, grid: Grid, width: int, height: int) -> None:
        self.grid = grid
        self.middle = width // 2
        # One row above for the pointer, one below for a mark's label, one for the direction.
        self.rows = min((height - 4) // 2, (width - 11) // 4)
        self.centre = 1 + self.rows

    def cell(self, clock_deg: float, further: float = 0.0) -> tuple[int, int]:
        x, y = on_circle((0.0, 0.0), 1.0, clock_deg)
        col = self.middle + round(x * (2 * self.rows + 2 * further))
        return self.centre + round(y * (self.rows + further)), col

    def put(self, clock_deg: float, char: str, role: str) -> None:
        row, col = self.cell(clock_deg)
        put(self.grid, row, col, char, role)


def _cells_arc(rim: _Rim, view: CrankFront) -> None:
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


def _cells_marks(rim: _Rim, view: CrankFront, ascii_only: bool) -> None:
    for mark in view.marks:
        rim.put(mark.clock_deg, "+", Role.MARK)
    for mark in view.marks:
        if mark.deg % 90.0 < SHOWN_DEG and mark.clock_deg > SHOWN_DEG:
            _label(rim, mark, mark.label, Role.MARK, ascii_only)
    if view.target is not None and view.target.clock_deg > SHOWN_DEG:
        rim.put(view.target.clock_deg, "◆" if not ascii_only else "@", Role.TARGET)
        _label(rim, view.target, view.target.label, Role.TARGET, ascii_only)


def _label(rim: _Rim, mark: Mark, text: str, role: str, ascii_only: bool) -> None:
    """A mark's name outside the rim, clear of the pointer."""
    said = text.replace("°", "") if ascii_only else text
    row, col = rim.cell(mark.clock_deg, 1.0)
    left = col - len(said) + 1 if mark.clock_deg > 180.0 else col
    if row == rim.cell(180.0, 1.0)[0]:
        left = col - len(said) // 2
    elif row <= 1:
        left = rim.middle - 1 - len(said) if mark.clock_deg > 180.0 else rim.middle + 2
        row = 0
    put(rim.grid, row, left, said, role)
