"""The fewest positions: valves and crank degrees turned into arcs and ticks, and back."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from heelwise.valvetrain.arcs import CYCLE
from heelwise.valvetrain.cam import Cam
from heelwise.valvetrain.centring import Wanted, deepest_points, most_of_all
from heelwise.valvetrain.engine import Engine
from heelwise.valvetrain.engine_checks import divides_cycle
from heelwise.valvetrain.lobes import lobe
from heelwise.valvetrain.piercing import Circle
from heelwise.valvetrain.plan import FEWEST, NoPlan, Plan, lay_out
from heelwise.valvetrain.valves import Kind, Valve

DEFAULT_MARGIN_DEG = 10.0
_PER_DEGREE = 1_000_000_000  # a billionth of a degree counts
_SLACK_DEG = 2e-9  # what rounding the ends of an arc can cost


@dataclass(frozen=True)
class Zone:
    """Crank angles where a valve may be worked on, for a reason other than its lobe.

    Attributes:
        start_deg: where they begin.
        length_deg: how many degrees.
    """

    start_deg: float
    length_deg: float


Zones = Mapping[Valve, tuple[Zone, ...]]


@dataclass(frozen=True)
class _Scale:
    """Degrees as ticks: even at every billionth of a degree, and whole at every mark."""

    marks: int | None

    @property
    def circle(self) -> Circle:
        ticks = self.ticks(CYCLE)
        return Circle(ticks) if self.marks is None else Circle(ticks, ticks // self.marks)

    def ticks(self, deg: float) -> int:
        return round(deg * _PER_DEGREE) * self._each

    def degrees(self, ticks: int) -> float:
        return round(ticks / (self._each * _PER_DEGREE), 9)

    @cached_property
    def _each(self) -> int:
        return 2 * (self.marks or 1)


def fewest_positions(
    engine: Engine,
    cam: Cam,
    margin_deg: float = DEFAULT_MARGIN_DEG,
    marks_deg: float | None = None,
    pistons_down_deg: float = 0.0,
) -> Plan:
    """The fewest positions that put every valve on its heel, and of those the safest.

    Exact: among all plans with the fewest positions at the margin asked for, the one whose
    least margin is largest. Each valve's free places are one arc of the cycle, so the fewest
    positions are the fewest points that pierce circular arcs.

    Args:
        engine: the engine.
        cam: the cam.
        margin_deg: crank degrees every valve must keep from its lobe's ends, 0 or more.
        marks_deg: only multiples of so many degrees; must divide 720.
        pistons_down_deg: a valve is worked on only with its piston at least so many crank
            degrees from TDC, 0 to 180.

    Returns:
        The plan; each valve where its margin is largest, ties to the earlier position.

    Raises:
        NoPlan: some valve has no such place; tells the most margin that can be had.
        ValueError: the margin is negative, the marks do not divide 720, or the pistons are
            asked to be further from TDC than BDC is.
    """
    if not 0.0 <= pistons_down_deg <= 180.0:
        raise ValueError(f"pistons {pistons_down_deg:g}° from TDC: it must be 0 to 180")
    asked = engine.valves if pistons_down_deg else ()
    zones = {valve: _pistons_down(engine, valve, pistons_down_deg) for valve in asked}
    return fewest_for(engine, cam, engine.valves, margin_deg, marks_deg, zones)


def fewest_for(
    engine: Engine,
    cam: Cam,
    valves: Iterable[Valve],
    margin_deg: float,
    marks_deg: float | None,
    zones: Zones,
) -> Plan:
    """The fewest positions for some of the valves, each within its own zones.

    Args:
        engine: the engine.
        cam: the cam.
        valves: valves of the engine, at least one.
        margin_deg: crank degrees every valve must keep from its lobe's ends, 0 or more.
        marks_deg: only multiples of so many degrees; must divide 720.
        zones: crank angles where a valve may be worked on; any for a valve not named.

    Returns:
        The plan; each valve where its margin is largest within its zones.

    Raises:
        NoPlan: some valve has no such place.
        ValueError: the margin is negative or the marks do not divide 720.
    """
    check_margin(margin_deg)
    scale = _Scale(_marks(marks_deg))
    chosen = sorted(valves, key=Valve.rank)
    lobes = {kind: lobe(cam, kind) for kind in Kind}
    wanted = [
        _wanted(engine.phase(valve.cylinder), lobes[valve.kind], scale, zones.get(valve))
        for valve in chosen
    ]
    circle = scale.circle
    deepest = most_of_all(circle, wanted)
    most = None if deepest is None else scale.degrees(deepest)
    if deepest is None or most is None or most < margin_deg - _SLACK_DEG:
        raise _no_plan(margin_deg, most)
    asked = max(scale.ticks(min(margin_deg, most) - _SLACK_DEG), 0)
    found = deepest_points(circle, wanted, asked, deepest)
    groups = [
        (
            scale.degrees(point),
            [valve for valve, mine in zip(chosen, found.owner, strict=True) if mine == place],
        )
        for place, point in enumerate(found.points)
    ]
    return lay_out(engine, cam, FEWEST, groups)


def check_margin(margin_deg: float) -> None:
    """Refuse a margin that can't be asked for.

    Args:
        margin_deg: crank degrees.

    Raises:
        ValueError: it is negative or no number.
    """
    if not 0.0 <= margin_deg < math.inf:
        raise ValueError(f"a margin of {margin_deg:g}° was asked for: it must be 0 or more")


def _wanted(
    tdc_deg: float, own_lobe: tuple[float, float], scale: _Scale, zones: tuple[Zone, ...] | None
) -> Wanted:
    start, length = own_lobe
    begins = tdc_deg + start
    return Wanted(
        scale.ticks(begins + length),
        scale.ticks(begins + CYCLE),
        None if zones is None else tuple(_zone_ticks(zone, scale) for zone in zones),
    )


def _zone_ticks(zone: Zone, scale: _Scale) -> tuple[int, int]:
    return scale.ticks(zone.start_deg), scale.ticks(zone.start_deg + zone.length_deg)


def _pistons_down(engine: Engine, valve: Valve, deg: float) -> tuple[Zone, ...]:
    tdc = engine.phase(valve.cylinder)
    return tuple(Zone(tdc + turn + deg, 360.0 - 2.0 * deg) for turn in (0.0, 360.0))


def _marks(marks_deg: float | None) -> int | None:
    if marks_deg is None:
        return None
    if not divides_cycle(marks_deg):
        raise ValueError(f"marks every {marks_deg:g}°: they must divide 720, as 10, 60 or 90 do")
    return round(CYCLE / marks_deg)


def _no_plan(margin_deg: float, most: float | None) -> NoPlan:
    if most is None:
        return NoPlan("no crank angle is left for some valve, whatever its margin", None)
    if most < 0.0:
        return NoPlan("some valve would have to be worked on while on its lobe", most)
    return NoPlan(
        f"not every valve can keep {margin_deg:g}° from its lobe's ends: "
        f"the most that can be had is {most:g}°",
        most,
    )
