"""The cam cycle: when each lobe can lift its lifter, in firing order, and where the crank is.

One row a cylinder: a bar of upper half blocks where its intake lobe is, of lower half blocks where
its exhaust lobe is, whole blocks where both are, hatched where a lifter on the heel has less than
the margin asked for.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from heelwise.pictures.cells import Grid, Size, blank, no_room, put
from heelwise.valvetrain.cam import Arc, Cam, margin, open_arc
from heelwise.valvetrain.engine import CYCLE, Engine, Valve, ValveKind, wrap

LEFT = 6
"""Columns before the strip: the cylinder's number and which of its valves are free here."""
SMALLEST_STRIP_WIDTH = LEFT + 48
"""At 48 columns a cell is 15 degrees."""
ROWS_BESIDE = 3
"""Rows besides one for each cylinder: positions, degrees, and what the bars mean."""
PRINTED_WIDTH = LEFT + 72
GRID_DEG = 30
"""A faint dot stands so often along a heel."""


@dataclass(frozen=True)
class Strip:
    """What one cycle of the crank shows; without a cam only each TDC on compression.

    `positions`: crank angles, numbered from 1. `ranges`: where the crank may be, as far as lifters
    felt say. `ghost_deg`: a crank angle only imagined, for which free valves are then marked.
    """

    engine: Engine
    cam: Cam | None
    margin_deg: float
    at_deg: float | None = None
    positions: tuple[float, ...] = ()
    ranges: tuple[Arc, ...] = ()
    ghost_deg: float | None = None

    @property
    def size(self) -> Size:
        """The smallest size at which the cycle is drawn."""
        return Size(SMALLEST_STRIP_WIDTH, self.engine.cylinders + ROWS_BESIDE + bool(self.ranges))

    def lobes(self, cylinder: int) -> dict[ValveKind, Arc]:
        """Where each of a cylinder's lobes can lift its lifter."""
        if self.cam is None:
            return {}
        return {kind: open_arc(self.engine, self.cam, Valve(cylinder, kind)) for kind in ValveKind}

    def free(self, cylinder: int) -> list[ValveKind]:
        """Which of a cylinder's valves have the margin asked for where the crank is."""
        here = self.at_deg if self.ghost_deg is None else self.ghost_deg
        if self.cam is None or here is None:
            return []
        margins = {k: margin(self.engine, self.cam, Valve(cylinder, k), here) for k in ValveKind}
        return [kind for kind, degrees in margins.items() if degrees >= self.margin_deg - 1e-9]


def strip_cells(view: Strip, width: int, height: int) -> Grid:
    """Draw the cycle, cylinders in firing order from cylinder 1.

    A cell shows a lobe if any part of it is on the lobe, so what looks free is free.
    """
    if width < view.size.width or height < view.size.height:
        return no_room(width, height)
    grid = blank(width, height)
    many = min((width - LEFT) // 12 * 12, 144)
    engine = view.engine
    order = sorted(range(1, engine.cylinders + 1), key=lambda c: (engine.phase(c), c))
    for at, cylinder in enumerate(order, start=1):
        _row(grid, at, view, cylinder, many)
    under = 1 + len(order)
    if view.ranges:
        put(grid, under, 0, "may", "next")
        for col in range(many):
            if _shares(view.ranges, col, CYCLE / many):
                put(grid, under, LEFT + col, "█", "next")
        under += 1
    _axis(grid, under, many)
    _crank(grid, view, many, under)
    return grid


_BARS = {ValveKind.INTAKE: ("▀", "intake"), ValveKind.EXHAUST: ("▄", "exhaust")}


def _row(grid: Grid, at: int, view: Strip, cylinder: int, many: int) -> None:
    step, lobes = CYCLE / many, view.lobes(cylinder)
    wider = view.margin_deg
    near = [
        Arc(wrap(lobe.start - wider), min(lobe.length + 2 * wider, CYCLE))
        for lobe in lobes.values()
    ]
    put(grid, at, 0, f"{cylinder:>2}", "plain")
    for kind in view.free(cylinder):
        put(grid, at, 3 if kind is ValveKind.INTAKE else 4, kind.value, "good")
    alone: dict[ValveKind, list[int]] = {kind: [] for kind in ValveKind}
    for col in range(many):
        char, tone = "·" if (col * step) % GRID_DEG < 1e-6 else " ", "line"
        on = [kind for kind, lobe in lobes.items() if _shares([lobe], col, step)]
        if len(on) == 2:
            char, tone = "█", "strong"
        elif on:
            char, tone = _BARS[on[0]]
            alone[on[0]].append(col)
        elif _shares(near, col, step):
            char, tone = "░", "line"
        put(grid, at, LEFT + col, char, tone)
    for kind, lobe in lobes.items():
        middle = int(lobe.middle / step)
        if middle in alone[kind]:
            put(grid, at, LEFT + middle, kind.value, _BARS[kind][1])
    put(grid, at, _column(view.engine.phase(cylinder), many), "T", "strong")


def _column(deg: float, many: int) -> int:
    return LEFT + int(wrap(deg) / (CYCLE / many) + 1e-9)


def _shares(arcs: Iterable[Arc], col: int, step: float) -> bool:
    return any(arc.shared(col * step, step) > 1e-6 for arc in arcs)


def _axis(grid: Grid, row: int, many: int) -> None:
    for deg in range(0, 720, 90):
        put(grid, row, _column(deg, many), str(deg), "line")
    parts = [
        ("▀", "intake", "I intake"),
        ("▄", "exhaust", "E exhaust"),
        ("█", "strong", "both"),
        ("░", "line", "margin"),
        ("T", "strong", "TDC comp."),
    ]
    col = 0
    for char, tone, words in parts:
        put(grid, row + 1, col, char, tone)
        put(grid, row + 1, col + 2, words, "line")
        col += len(words) + 4


def _crank(grid: Grid, view: Strip, many: int, under: int) -> None:
    """The crank's line on top of everything, and a dashed one where it is only imagined."""
    lines = [(view.ghost_deg, "┆", "▽", "next"), (view.at_deg, "│", "▼", "strong")]
    taken = {_column(deg, many) for deg, *_ in lines if deg is not None}
    for number, position in enumerate(view.positions, start=1):
        col = _column(position, many)
        put(grid, 0, col + 1 if col in taken else col, str(number), "strong")
    for deg, line, pointer, tone in lines:
        for row in range(under) if deg is not None else ():
            put(grid, row, _column(deg or 0.0, many), line if row else pointer, tone)
