"""The 720° strip: when each lobe can lift its lifter, in firing order, and where the crank is.

One row a cylinder: E where its exhaust lobe is, I where its intake lobe is, X where both are,
shaded where a lifter on the heel has less than the margin asked for.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from heelwise.pictures.cells import Grid, Size, blank, in_ascii, put, words_in
from heelwise.pictures.roles import Role
from heelwise.valvetrain.arcs import CYCLE, Arc, wrap
from heelwise.valvetrain.cam import Cam
from heelwise.valvetrain.engine import Engine
from heelwise.valvetrain.landmarks import degrees, landmark
from heelwise.valvetrain.lobes import margin, open_arc
from heelwise.valvetrain.plan import Plan
from heelwise.valvetrain.valves import Kind, Valve
from heelwise.valvetrain.where import Span

LEFT = 4
"""Columns before the strip, for the cylinder's number."""
SMALLEST_STRIP_WIDTH = LEFT + 48
"""At 48 columns a cell is 15 degrees."""
ROWS_BESIDE = 3
"""Rows besides one for each cylinder: positions, degrees, and what the letters mean."""


@dataclass(frozen=True)
class Lobe:
    """One valve's lobe on the strip.

    Attributes:
        valve: the valve.
        open: crank angles at which the lobe can lift its lifter.
        near: those with the margin asked for on either side.
    """

    valve: Valve
    open: Arc
    near: Arc


@dataclass(frozen=True)
class Row:
    """One cylinder on the strip.

    Attributes:
        cylinder: its number.
        tdc_deg: its TDC on compression.
        lobes: exhaust and intake; none with the cam not known.
    """

    cylinder: int
    tdc_deg: float
    lobes: tuple[Lobe, ...]


@dataclass(frozen=True)
class Strip:
    """One cycle of the crank.

    Attributes:
        rows: cylinders in firing order from cylinder 1.
        at_deg: crank angle now; None if not known.
        positions: number and crank angle of each position.
        ranges: crank angles the crank may be at, as far as lifters felt say.
        said: the picture in words.
    """

    rows: tuple[Row, ...]
    at_deg: float | None
    positions: tuple[tuple[int, float], ...]
    ranges: tuple[Span, ...]
    said: str


def strip(
    engine: Engine,
    cam: Cam | None,
    margin_deg: float,
    at_deg: float | None = None,
    plan: Plan | None = None,
    ranges: Sequence[Span] = (),
) -> Strip:
    """Lay out the strip.

    Args:
        engine: the engine.
        cam: the cam; None if not known, and then only each TDC on compression is shown.
        margin_deg: the margin asked for, in crank degrees, 0 or more.
        at_deg: crank angle now, in degrees; None if not known.
        plan: positions to mark.
        ranges: where the crank may be.

    Returns:
        The strip.
    """
    order = sorted(range(1, engine.cylinders + 1), key=lambda c: (engine.phase(c), c))
    at = None if at_deg is None else wrap(at_deg)
    return Strip(
        tuple(_row(engine, cam, margin_deg, cylinder) for cylinder in order),
        at,
        tuple((p.number, p.crank_deg) for p in plan.positions) if plan else (),
        tuple(ranges),
        _words(engine, cam, margin_deg, at, plan, ranges),
    )


def _row(engine: Engine, cam: Cam | None, margin_deg: float, cylinder: int) -> Row:
    lobes = []
    for kind in (Kind.EXHAUST, Kind.INTAKE) if cam else ():
        assert cam is not None
        valve = Valve(cylinder, kind)
        lobe = open_arc(engine, cam, valve)
        length = min(lobe.length + 2 * margin_deg, CYCLE)
        start = lobe.middle - length / 2
        lobes.append(Lobe(valve, lobe, Arc(wrap(start), length)))
    return Row(cylinder, engine.phase(cylinder), tuple(lobes))


def _words(
    engine: Engine,
    cam: Cam | None,
    margin_deg: float,
    at: float | None,
    plan: Plan | None,
    ranges: Sequence[Span],
) -> str:
    said = ["The crank's place is not known."]
    if at is not None:
        said = [f"Crank at {degrees(at)}: {landmark(engine, at)}."]
        if cam is not None:
            said.append(_free_words(engine, cam, margin_deg, at))
    if cam is None:
        said.append("The cam is not known.")
    if ranges:
        told = ", ".join(f"{degrees(r.from_deg)} to {degrees(r.to_deg)}" for r in ranges)
        said.append(f"It may be at {told}.")
    if plan is not None:
        told = ", ".join(f"{p.number} at {degrees(p.crank_deg)}" for p in plan.positions)
        said.append(f"Positions: {told}.")
    return " ".join(said)


def _free_words(engine: Engine, cam: Cam, margin_deg: float, at: float) -> str:
    margins = {valve: margin(engine, cam, valve, at) for valve in engine.valves}
    free = [str(v) for v, deg in margins.items() if deg >= margin_deg - 1e-9]
    lobes = [str(v) for v, deg in margins.items() if deg < 0]
    near = [str(v) for v, deg in margins.items() if 0 <= deg < margin_deg - 1e-9]
    said = f"On the heel with {degrees(margin_deg)} of margin: {', '.join(free) or 'none'}."
    if near:
        said += f" With less: {', '.join(near)}."
    return f"{said} On the lobe: {', '.join(lobes) or 'none'}."


def strip_size(view: Strip) -> Size:
    """The smallest size at which the strip is drawn; below it, it is said in words.

    Args:
        view: the strip.

    Returns:
        52 columns, and a row for each cylinder besides three.
    """
    return Size(SMALLEST_STRIP_WIDTH, len(view.rows) + ROWS_BESIDE + (1 if view.ranges else 0))


def strip_cells(view: Strip, width: int, height: int, ascii_only: bool = False) -> Grid:
    """Draw the strip.

    A cell shows a lobe if any part of it is on the lobe, so what looks free is free.

    Args:
        view: the strip.
        width: columns.
        height: rows.
        ascii_only: use no glyph outside ASCII.

    Returns:
        A grid of exactly that size; words in it below `strip_size`.
    """
    least = strip_size(view)
    if width < least.width or height < least.height:
        return words_in(view.said, width, height, ascii_only)
    grid = blank(width, height)
    many = min((width - LEFT) // 12 * 12, 144)
    for row, one in enumerate(view.rows, start=1):
        put(grid, row, 0, f"{one.cylinder:>2}", Role.LABEL)
        _cells_row(grid, row, one, many)
    under = 1 + len(view.rows)
    if view.ranges:
        put(grid, under, 0, "may", Role.RANGE)
        for col in range(many):
            if any(_meets(span, col, many) for span in view.ranges):
                put(grid, under, LEFT + col, "█", Role.RANGE)
        under += 1
    _cells_axis(grid, under, many)
    _cells_crank(grid, view, many, under)
    return in_ascii(grid) if ascii_only else grid


def _cells_row(grid: Grid, row: int, one: Row, many: int) -> None:
    step = CYCLE / many
    for col in range(many):
        char, role = "·", str(Role.HEEL)
        on = [lobe for lobe in one.lobes if _shares(lobe.open, col * step, step)]
        if len(on) == 2:
            char, role = "X", Role.OVERLAP
        elif on:
            kind = on[0].valve.kind
            char = kind.value
            role = Role.LOBE_INTAKE if kind is Kind.INTAKE else Role.LOBE_EXHAUST
        elif any(_shares(lobe.near, col * step, step) for lobe in one.lobes):
            char, role = "░", Role.MARGIN
        put(grid, row, LEFT + col, char, role)
    put(grid, row, LEFT + int(one.tdc_deg / step + 1e-9), "T", Role.MARK)


def _shares(arc: Arc, start_deg: float, length_deg: float) -> bool:
    return arc.shared(start_deg, length_deg) > 1e-6


def _meets(span: Span, col: int, many: int) -> bool:
    step = CYCLE / many
    length = span.to_deg - span.from_deg
    arc = Arc(wrap(span.from_deg), length if length > 0 else length + CYCLE)
    return _shares(arc, col * step, step)


def _cells_axis(grid: Grid, row: int, many: int) -> None:
    step = CYCLE / many
    for deg in range(0, 720, 90):
        put(grid, row, LEFT + int(deg / step), str(deg), Role.FAINT)
    said = "E exhaust lobe  I intake lobe  X both  ░ margin  T TDC on compression"
    if len(said) > len(grid[0]):
        said = "E I lobes  X both  ░ margin  T compression TDC"
    put(grid, row + 1, 0, said, Role.FAINT)


def _cells_crank(grid: Grid, view: Strip, many: int, under: int) -> None:
    step = CYCLE / many
    for number, deg in view.positions:
        col = LEFT + int(deg / step + 1e-9)
        here = view.at_deg is not None and col == LEFT + int(view.at_deg / step + 1e-9)
        put(grid, 0, col + 1 if here else col, str(number), Role.POSITION)
    if view.at_deg is None:
        return
    col = LEFT + int(view.at_deg / step + 1e-9)
    put(grid, 0, col, "▼", Role.CRANK)
    for row in range(1, under):
        if grid[row][col].char in ("·", "░"):
            put(grid, row, col, "│", Role.CRANK)
        else:
            # The letter stays: it is the very thing to be seen under the crank's line.
            put(grid, row, col, grid[row][col].char, Role.CRANK)
