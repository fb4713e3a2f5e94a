"""The cam cycle: when each lobe can lift its lifter, in firing order, and where the crank is.

One row a cylinder: a bar of upper half blocks where its intake lobe is, of lower half blocks where
its exhaust lobe is, hatched where a lifter on the heel has less than the margin asked for.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from heelwise.pictures.cells import Grid, Size, blank, in_ascii, put, words_in
from heelwise.pictures.roles import Role
from heelwise.pictures.svg import EXHAUST, FAINT, GOOD, INK, INTAKE, PALE, PAPER, Svg
from heelwise.valvetrain.cam import Arc, Cam, margin, open_arc
from heelwise.valvetrain.engine import CYCLE, Engine, Valve, ValveKind, wrap
from heelwise.valvetrain.positions import Plan
from heelwise.valvetrain.turn import degrees, landmark
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
class Row:
    """One cylinder: its TDC on compression, its lobes, which valves are free where the crank is.

    `lobes`: where each can lift its lifter. `near`: that with the margin asked for at each end.
    """

    cylinder: int
    tdc_deg: float
    lobes: dict[ValveKind, Arc]
    near: dict[ValveKind, Arc]
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
    ranges: tuple[Arc, ...]
    words: str
    ghost_deg: float | None = None


def strip(
    engine: Engine,
    cam: Cam | None,
    margin_deg: float,
    at_deg: float | None = None,
    plan: Plan | None = None,
    ranges: Sequence[Arc] = (),
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
        places = [f"{degrees(r.start)} to {degrees(r.last)}" for r in ranges]
        words.append(f"It may be at {listed(places, 'or')}.")
    if plan:
        places = [f"{number} at {degrees(deg)}" for number, deg in positions]
        words.append(f"Positions: {listed(places)}.")
    return Strip(rows, at, positions, tuple(ranges), " ".join(words), ghost)


def _row(
    engine: Engine, cam: Cam | None, margin_deg: float, cylinder: int, here: float | None
) -> Row:
    row, free = Row(cylinder, engine.phase(cylinder), {}, {}), []
    if cam is None:
        return row
    for kind in (ValveKind.EXHAUST, ValveKind.INTAKE):
        valve = Valve(cylinder, kind)
        lobe = open_arc(engine, cam, valve)
        length = min(lobe.length + 2 * margin_deg, CYCLE)
        row.lobes[kind], row.near[kind] = lobe, Arc(wrap(lobe.middle - length / 2), length)
        if here is not None and margin(engine, cam, valve, here) >= margin_deg - 1e-9:
            free.append(kind)
    return Row(cylinder, row.tdc_deg, row.lobes, row.near, tuple(free))


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
    for at, row in enumerate(view.rows, start=1):
        _cells_row(grid, at, row, many, overlap)
    under = 1 + len(view.rows)
    if view.ranges:
        put(grid, under, 0, "may", Role.RANGE)
        for col in range(many):
            if _shares(view.ranges, col, CYCLE / many):
                put(grid, under, LEFT + col, "█", Role.RANGE)
        under += 1
    _cells_axis(grid, under, many, overlap)
    _cells_crank(grid, view, many, under)
    return in_ascii(grid) if ascii_only else grid


_BARS = {ValveKind.INTAKE: ("▀", Role.LOBE_INTAKE), ValveKind.EXHAUST: ("▄", Role.LOBE_EXHAUST)}


def _cells_row(grid: Grid, at: int, row: Row, many: int, overlap: str) -> None:
    step = CYCLE / many
    put(grid, at, 0, f"{row.cylinder:>2}", Role.LABEL)
    for kind in row.free:
        put(grid, at, 3 if kind is ValveKind.INTAKE else 4, kind.value, Role.FREE)
    alone: dict[ValveKind, list[int]] = {kind: [] for kind in ValveKind}
    for col in range(many):
        char, role = "·" if (col * step) % GRID_DEG < 1e-6 else " ", Role.HEEL
        on = [kind for kind, lobe in row.lobes.items() if _shares([lobe], col, step)]
        if len(on) == 2:
            char, role = overlap, Role.OVERLAP
        elif on:
            char, role = _BARS[on[0]]
            alone[on[0]].append(col)
        elif _shares(row.near.values(), col, step):
            char, role = "░", Role.MARGIN
        put(grid, at, LEFT + col, char, role)
    for kind, lobe in row.lobes.items():
        if alone[kind]:  # one letter a lobe, near its middle, where it is the only one
            off = lobe.middle / step - 0.5
            col = min(alone[kind], key=lambda c: abs((c - off + many / 2) % many - many / 2))
            put(grid, at, LEFT + col, kind.value, _BARS[kind][1])
    put(grid, at, _column(row.tdc_deg, many), "T", Role.MARK)


def _column(deg: float, many: int) -> int:
    return LEFT + int(deg / (CYCLE / many) + 1e-9)


def _shares(arcs: Iterable[Arc], col: int, step: float) -> bool:
    return any(arc.shared(col * step, step) > 1e-6 for arc in arcs)


def _cells_axis(grid: Grid, row: int, many: int, overlap: str) -> None:
    for deg in range(0, 720, 90):
        put(grid, row, _column(deg, many), str(deg), Role.FAINT)
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
    lines = [(view.ghost_deg, "┆", "▽", Role.GHOST), (view.at_deg, "│", "▼", Role.CRANK)]
    taken = {_column(deg, many) for deg, *_ in lines if deg is not None}
    for number, position in view.positions:
        col = _column(position, many)
        put(grid, 0, col + 1 if col in taken else col, str(number), Role.POSITION)
    for deg, line, pointer, role in lines:
        for row in range(under) if deg is not None else ():
            put(grid, row, _column(deg or 0.0, many), line if row else pointer, role)


# ------------------------------------------------------------------ as SVG: one unit a degree

ROW = 24.0
HEAD = 40.0
SIDE = 44.0
NEAR_COLOR = "#b0b0b0"


def strip_svg(view: Strip) -> str:
    """Draw the cycle as an `<svg>` element."""
    foot = HEAD + ROW * (len(view.rows) + (1 if view.ranges else 0))
    svg = Svg(SIDE + CYCLE + 20, foot + 46, f"One cycle of the crank. {view.words}")
    for place, row in enumerate(view.rows):
        _svg_row(svg, HEAD + ROW * place, row)
    if view.ranges:
        svg.text((SIDE - 10, foot - 8), "may", 12, INK, "end")
    for arc in view.ranges:
        _svg_arc(svg, arc, foot - ROW + 5, 14, GOOD)
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
    for x, color, words in (
        (SIDE, INTAKE, "I intake lobe"),
        (SIDE + 120, EXHAUST, "E exhaust lobe"),
        (SIDE + 250, NEAR_COLOR, "less than the margin asked for"),
    ):
        svg.rect((x, foot + 28), (16, 8), color)
        svg.text((x + 22, foot + 36), words, 11, INK, "start")
    _svg_tdc(svg, SIDE + 477, foot + 32)
    svg.text((SIDE + 488, foot + 36), "TDC on compression", 11, INK, "start")
    return svg.done()


def _svg_row(svg: Svg, top: float, row: Row) -> None:
    svg.text((SIDE - 10, top + 16), str(row.cylinder), 14, INK, "end", bold=True)
    svg.line((SIDE, top + ROW - 0.5), (SIDE + CYCLE, top + ROW - 0.5), PALE, 1)
    for kind, lobe in row.lobes.items():
        y, color = (top + 1, INTAKE) if kind is ValveKind.INTAKE else (top + 12, EXHAUST)
        _svg_arc(svg, row.near[kind], y + 2, 6, NEAR_COLOR)
        _svg_arc(svg, lobe, y, 10, color)
        svg.text((SIDE + lobe.middle, y + 8.5), kind.value, 9.5, PAPER, bold=True)
    _svg_tdc(svg, SIDE + row.tdc_deg, top + ROW / 2)


def _svg_tdc(svg: Svg, x: float, y: float) -> None:
    svg.polygon([(x - 4, y), (x, y - 5), (x + 4, y), (x, y + 5)], INK)


def _svg_arc(svg: Svg, arc: Arc, top: float, high: float, color: str) -> None:
    first = min(arc.length, CYCLE - arc.start)
    svg.rect((SIDE + arc.start, top), (first, high), color)
    if arc.length > first:
        svg.rect((SIDE, top), (arc.length - first, high), color)
