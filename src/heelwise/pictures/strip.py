"""The cam cycle: when each lobe can lift its lifter, in firing order, and where the crank is.

One row a cylinder: a bar of upper half blocks where its intake lobe is, of lower half blocks where
its exhaust lobe is, hatched where a lifter on the heel has less than the margin asked for.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from heelwise.pictures.cells import Grid, Size, blank, in_ascii, put, words_in
from heelwise.pictures.roles import Role
from heelwise.pictures.svg import EXHAUST, FAINT, GOOD, INK, INTAKE, PALE, PAPER, Svg
from heelwise.valvetrain.arcs import CYCLE, Arc, wrap
from heelwise.valvetrain.cam import Cam, margin, open_arc
from heelwise.valvetrain.engine import Engine, Valve, ValveKind
from heelwise.valvetrain.positions import Plan
from heelwise.valvetrain.turn import degrees, landmark
from heelwise.valvetrain.where import Span
from heelwise.wording import listed

LEFT = 6
"""Columns before the strip: the cylinder's number and which of its valves are free here."""
SMALLEST_STRIP_WIDTH = LEFT + 48
"""At 48 columns a cell is 15 degrees."""
ROWS_BESIDE = 3
"""Rows besides one for each cylinder: positions, degrees, and what the bars mean."""
GRID_DEG = 30
"""A faint dot stands so often along a heel."""


@dataclass(frozen=True)
class Lobe:
    """Where a valve's lobe can lift its lifter, and that with the margin asked for at each end."""

    valve: Valve
    open: Arc
    near: Arc


@dataclass(frozen=True)
class Row:
    """One cylinder: its TDC on compression, its lobes, which valves are free where the crank is."""

    cylinder: int
    tdc_deg: float
    lobes: tuple[Lobe, ...]
    free: tuple[ValveKind, ...] = ()


@dataclass(frozen=True)
class Strip:
    """One cycle of the crank, cylinders in firing order from cylinder 1.

    `positions`: number and crank angle. `ranges`: where the crank may be, as far as lifters felt
    say. `ghost_deg`: a crank angle only imagined.
    """

    rows: tuple[Row, ...]
    at_deg: float | None
    positions: tuple[tuple[int, float], ...]
    ranges: tuple[Span, ...]
    words: str
    ghost_deg: float | None = None


def strip(
    engine: Engine,
    cam: Cam | None,
    margin_deg: float,
    at_deg: float | None = None,
    plan: Plan | None = None,
    ranges: Sequence[Span] = (),
    ghost_deg: float | None = None,
) -> Strip:
    """Lay out the cycle; without a cam only each TDC on compression.

    `ghost_deg`: a crank angle imagined, for which free valves are then marked.
    """
    order = sorted(range(1, engine.cylinders + 1), key=lambda c: (engine.phase(c), c))
    at = None if at_deg is None else wrap(at_deg)
    ghost = None if ghost_deg is None else wrap(ghost_deg)
    here = at if ghost is None else ghost
    rows = tuple(_row(engine, cam, margin_deg, cylinder, here) for cylinder in order)
    positions = tuple((p.number, p.crank_deg) for p in plan.positions) if plan else ()
    words = ["The crank position isn't known."]
    if at is not None:
        words = [f"Crank at {degrees(at)}: {landmark(engine, at)}."]
    if cam is None:
        words.append("The cam isn't known.")
    elif here is not None:
        free = [f"{row.cylinder}{kind.value}" for row in rows for kind in row.free]
        words.append(f"On their heels there by {degrees(margin_deg)}: {listed(free) or 'none'}.")
    if ranges:
        places = [f"{degrees(r.from_deg)} to {degrees(r.to_deg)}" for r in ranges]
        words.append(f"It may be at {listed(places, 'or')}.")
    if plan:
        places = [f"{number} at {degrees(deg)}" for number, deg in positions]
        words.append(f"Positions: {listed(places)}.")
    return Strip(rows, at, positions, tuple(ranges), " ".join(words), ghost)


def _row(
    engine: Engine, cam: Cam | None, margin_deg: float, cylinder: int, here: float | None
) -> Row:
    lobes, free = [], []
    for kind in (ValveKind.EXHAUST, ValveKind.INTAKE) if cam else ():
        assert cam is not None
        valve = Valve(cylinder, kind)
        lobe = open_arc(engine, cam, valve)
        length = min(lobe.length + 2 * margin_deg, CYCLE)
        start = lobe.middle - length / 2
        lobes.append(Lobe(valve, lobe, Arc(wrap(start), length)))
        if here is not None and margin(engine, cam, valve, here) >= margin_deg - 1e-9:
            free.append(kind)
    return Row(cylinder, engine.phase(cylinder), tuple(lobes), tuple(free))


def strip_size(view: Strip) -> Size:
    """The smallest size at which the cycle is drawn; below it, it is said in words."""
    return Size(SMALLEST_STRIP_WIDTH, len(view.rows) + ROWS_BESIDE + (1 if view.ranges else 0))


def strip_cells(
    view: Strip, width: int, height: int, ascii_only: bool = False, color: bool = True
) -> Grid:
    """Draw the cycle.

    A cell shows a lobe if any part of it is on the lobe, so what looks free is free. `color`:
    whether an upper half block on a colored ground can tell the overlap; else both halves fill.
    """
    least = strip_size(view)
    if width < least.width or height < least.height:
        return words_in(view.words, width, height, ascii_only)
    grid = blank(width, height)
    many = min((width - LEFT) // 12 * 12, 144)
    overlap = "▀" if color and not ascii_only else "█"
    for row, one in enumerate(view.rows, start=1):
        _cells_head(grid, row, one)
        _cells_row(grid, row, one, many, overlap)
    under = 1 + len(view.rows)
    if view.ranges:
        put(grid, under, 0, "may", Role.RANGE)
        arcs = [_arc_of(span) for span in view.ranges]
        for col in range(many):
            if any(_shares(arc, col * CYCLE / many, CYCLE / many) for arc in arcs):
                put(grid, under, LEFT + col, "█", Role.RANGE)
        under += 1
    _cells_axis(grid, under, many, overlap)
    _cells_crank(grid, view, many, under)
    return in_ascii(grid) if ascii_only else grid


def _cells_head(grid: Grid, row: int, one: Row) -> None:
    put(grid, row, 0, f"{one.cylinder:>2}", Role.LABEL)
    for kind in one.free:
        put(grid, row, 3 if kind is ValveKind.INTAKE else 4, kind.value, Role.FREE)


def _cells_row(grid: Grid, row: int, one: Row, many: int, overlap: str) -> None:
    step = CYCLE / many
    alone: dict[ValveKind, list[int]] = {kind: [] for kind in ValveKind}
    for col in range(many):
        char, role = " ", str(Role.HEEL)
        on = [lobe.valve.kind for lobe in one.lobes if _shares(lobe.open, col * step, step)]
        if len(on) == 2:
            char, role = overlap, Role.OVERLAP
        elif on:
            char, role = _BARS[on[0]]
            alone[on[0]].append(col)
        elif any(_shares(lobe.near, col * step, step) for lobe in one.lobes):
            char, role = "░", Role.MARGIN
        elif (col * step) % GRID_DEG < 1e-6:
            char = "·"
        put(grid, row, LEFT + col, char, role)
    for lobe in one.lobes:
        _cells_letter(grid, row, lobe, alone[lobe.valve.kind], step)
    put(grid, row, LEFT + int(one.tdc_deg / step + 1e-9), "T", Role.MARK)


_BARS = {ValveKind.INTAKE: ("▀", Role.LOBE_INTAKE), ValveKind.EXHAUST: ("▄", Role.LOBE_EXHAUST)}


def _cells_letter(grid: Grid, row: int, lobe: Lobe, alone: list[int], step: float) -> None:
    """One letter a lobe, near its middle, where it is the only one."""
    if alone:
        middle = lobe.open.middle / step
        many = CYCLE / step
        col = min(alone, key=lambda at: abs((at + 0.5 - middle + many / 2) % many - many / 2))
        put(grid, row, LEFT + col, lobe.valve.kind.value, _BARS[lobe.valve.kind][1])


def _arc_of(span: Span) -> Arc:
    return Arc(wrap(span.from_deg), (span.to_deg - span.from_deg) % CYCLE or CYCLE)


def _shares(arc: Arc, start_deg: float, length_deg: float) -> bool:
    return arc.shared(start_deg, length_deg) > 1e-6


def _cells_axis(grid: Grid, row: int, many: int, overlap: str) -> None:
    step = CYCLE / many
    for deg in range(0, 720, 90):
        put(grid, row, LEFT + int(deg / step), str(deg), Role.FAINT)
    parts = [
        ("▀", Role.LOBE_INTAKE, "I intake"),
        ("▄", Role.LOBE_EXHAUST, "E exhaust"),
        (overlap, Role.OVERLAP, "both"),
        ("░", Role.MARGIN, "margin"),
        ("T", Role.MARK, "TDC comp."),
    ]
    col = 0
    for char, role, words in parts:
        put(grid, row + 1, col, char, role)
        put(grid, row + 1, col + 2, words, Role.FAINT)
        col += len(words) + 4


def _cells_crank(grid: Grid, view: Strip, many: int, under: int) -> None:
    """The crank's line on top of everything, and a dashed one where it is only imagined."""
    step = CYCLE / many
    lines = [(view.ghost_deg, "┆", "▽", Role.GHOST), (view.at_deg, "│", "▼", Role.CRANK)]
    taken = {LEFT + int(deg / step + 1e-9) for deg, *_ in lines if deg is not None}
    for number, position in view.positions:
        col = LEFT + int(position / step + 1e-9)
        put(grid, 0, col + 1 if col in taken else col, str(number), Role.POSITION)
    for at, line, pointer, role in lines:
        if at is None:
            continue
        col = LEFT + int(at / step + 1e-9)
        put(grid, 0, col, pointer, role)
        for row in range(1, under):
            put(grid, row, col, line, role)


# ------------------------------------------------------------------ as SVG: one unit a degree

ROW = 24.0
HEAD = 40.0
SIDE = 44.0
LONG = 720.0
NEAR_COLOR = "#b0b0b0"


def strip_svg(view: Strip) -> str:
    """Draw the cycle as an `<svg>` element."""
    foot = HEAD + ROW * (len(view.rows) + (1 if view.ranges else 0))
    svg = Svg(LONG + SIDE + 20, foot + 46, f"One cycle of the crank. {view.words}")
    for place, one in enumerate(view.rows):
        _svg_row(svg, HEAD + ROW * place, one)
    if view.ranges:
        svg.text((SIDE - 10, foot - 8), "may", 12, INK, "end")
    for span in view.ranges:
        _svg_arc(svg, _arc_of(span), foot - ROW + 5, 14, GOOD)
    for deg in range(0, 721, 90):
        svg.line((SIDE + deg, HEAD), (SIDE + deg, foot + 4), FAINT, 0.5)
        svg.text((SIDE + deg, foot + 18), f"{deg}°", 11, FAINT)
    for number, position in view.positions:
        x = SIDE + position
        svg.line((x, 18), (x, foot), INK, 1.5, "4 3")
        svg.text((x, 14), str(number), 14, INK, bold=True)
    if view.at_deg is not None:
        x = SIDE + view.at_deg
        svg.line((x, 22), (x, foot), INK, 3)
        svg.polygon([(x - 7, 19), (x + 7, 19), (x, 34)], INK)
    _svg_legend(svg, foot + 34)
    return svg.done()


def _svg_row(svg: Svg, top: float, one: Row) -> None:
    svg.text((SIDE - 10, top + 16), str(one.cylinder), 14, INK, "end", bold=True)
    svg.line((SIDE, top + ROW - 0.5), (SIDE + LONG, top + ROW - 0.5), PALE, 1)
    for lobe in one.lobes:
        upper = lobe.valve.kind is ValveKind.INTAKE
        y, color = (top + 1, INTAKE) if upper else (top + 12, EXHAUST)
        _svg_arc(svg, lobe.near, y + 2, 6, NEAR_COLOR)
        _svg_arc(svg, lobe.open, y, 10, color)
        middle = (SIDE + lobe.open.middle, y + 8.5)
        svg.text(middle, lobe.valve.kind.value, 9.5, PAPER, bold=True)
    _svg_tdc(svg, SIDE + one.tdc_deg, top + ROW / 2)


def _svg_tdc(svg: Svg, x: float, y: float) -> None:
    svg.polygon([(x - 4, y), (x, y - 5), (x + 4, y), (x, y + 5)], INK)


def _svg_arc(svg: Svg, arc: Arc, top: float, high: float, color: str) -> None:
    first = min(arc.length, CYCLE - arc.start)
    svg.rect((SIDE + arc.start, top), (first, high), color)
    if arc.length > first:
        svg.rect((SIDE, top), (arc.length - first, high), color)


def _svg_legend(svg: Svg, y: float) -> None:
    for x, color, words in (
        (0.0, INTAKE, "I intake lobe"),
        (120.0, EXHAUST, "E exhaust lobe"),
        (250.0, NEAR_COLOR, "less than the margin asked for"),
    ):
        svg.rect((SIDE + x, y - 6), (16, 8), color)
        svg.text((SIDE + x + 22, y + 2), words, 11, INK, "start")
    _svg_tdc(svg, SIDE + 477, y - 2)
    svg.text((SIDE + 488, y + 2), "TDC on compression", 11, INK, "start")
