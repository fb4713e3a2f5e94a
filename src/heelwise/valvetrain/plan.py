"""Plans: positions of the crank, and which valves are worked on at each."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from heelwise.valvetrain.arcs import SLACK, wrap
from heelwise.valvetrain.cam import Cam
from heelwise.valvetrain.engine import Engine
from heelwise.valvetrain.landmarks import landmark
from heelwise.valvetrain.lobes import margins, tdc_distance
from heelwise.valvetrain.valves import Valve

FEWEST = "fewest"
EACH = "each"


@dataclass(frozen=True)
class Placed:
    """A valve worked on at a position.

    Attributes:
        valve: the valve.
        margin_deg: its margin there, in crank degrees; None if the cam is not known.
        from_tdc_deg: its piston's distance from TDC, in crank degrees, 0 to 180.
    """

    valve: Valve
    margin_deg: float | None
    from_tdc_deg: float


@dataclass(frozen=True)
class AlsoFree:
    """A valve on its heel at a position where it is not worked on.

    Attributes:
        valve: the valve.
        margin_deg: its margin there, in crank degrees, 0 or more.
    """

    valve: Valve
    margin_deg: float | None


@dataclass(frozen=True)
class Position:
    """A crank angle at which work is done.

    Attributes:
        number: from 1.
        crank_deg: crank angle in [0, 720).
        turn_deg: degrees from the position before; the first from cylinder 1 on compression.
        landmark: where that is, in words.
        valves: valves worked on here.
        also_free: other valves on their heel here.
    """

    number: int
    crank_deg: float
    turn_deg: float
    landmark: str
    valves: tuple[Placed, ...]
    also_free: tuple[AlsoFree, ...]


@dataclass(frozen=True)
class Plan:
    """Positions in the direction of rotation.

    Attributes:
        method: "fewest" or "each" (one cylinder at a time).
        least_margin_deg: the least margin of any valve where it is worked on, in crank degrees;
            None if the cam is not known.
        positions: by growing crank angle.
    """

    method: str
    least_margin_deg: float | None
    positions: tuple[Position, ...]


class NoPlan(ValueError):
    """No plan gives every valve the margin asked for.

    Attributes:
        most_margin_deg: the largest margin at which every valve still has a place under the
            same restrictions, in crank degrees, negative if one must stay on its lobe; None if
            the restrictions leave a valve no crank angle at all.
    """

    def __init__(self, message: str, most_margin_deg: float | None) -> None:
        super().__init__(message)
        self.most_margin_deg = most_margin_deg


def place_valves(
    engine: Engine, cam: Cam | None, valves: Iterable[Valve], crank_deg: float
) -> tuple[Placed, ...]:
    """Margins and piston distances of valves at a crank angle.

    Args:
        engine: the engine.
        cam: the cam; None if not known.
        valves: valves of the engine.
        crank_deg: crank angle, in degrees.

    Returns:
        One for each, sorted by valve.
    """
    found = {} if cam is None else margins(engine, cam, crank_deg)
    return _placed(engine, found, valves, crank_deg)


def _placed(
    engine: Engine, found: Mapping[Valve, float], valves: Iterable[Valve], crank_deg: float
) -> tuple[Placed, ...]:
    return tuple(
        Placed(valve, found.get(valve), tdc_distance(engine, valve.cylinder, crank_deg))
        for valve in sorted(valves, key=Valve.rank)
    )


def replace_at(
    engine: Engine, cam: Cam | None, position: Position, crank_deg: float
) -> tuple[Placed, ...]:
    """Margins anew at the place actually reached.

    Args:
        engine: the engine.
        cam: the cam; None if not known.
        position: the position that was meant.
        crank_deg: the crank angle reached, in degrees.

    Returns:
        The position's valves as they stand there; a margin below 0 is on the lobe.
    """
    return place_valves(engine, cam, (placed.valve for placed in position.valves), crank_deg)


def lay_out(
    engine: Engine,
    cam: Cam | None,
    method: str,
    groups: Sequence[tuple[float, Sequence[Valve]]],
) -> Plan:
    """Make a plan of crank angles and the valves worked on at each.

    Args:
        engine: the engine.
        cam: the cam; None if not known.
        method: "fewest" or "each".
        groups: crank angles, growing, each with its valves.

    Returns:
        The plan.
    """
    positions = []
    before = 0.0
    for number, (crank, valves) in enumerate(groups, start=1):
        found = {} if cam is None else margins(engine, cam, crank)
        positions.append(
            Position(
                number=number,
                crank_deg=wrap(crank),
                turn_deg=wrap(crank - before),
                landmark=landmark(engine, crank),
                valves=_placed(engine, found, valves, crank),
                also_free=_also_free(found, valves),
            )
        )
        before = crank
    least = [
        placed.margin_deg
        for position in positions
        for placed in position.valves
        if placed.margin_deg is not None
    ]
    return Plan(method, min(least, default=None), tuple(positions))


def _also_free(found: Mapping[Valve, float], placed: Sequence[Valve]) -> tuple[AlsoFree, ...]:
    taken = set(placed)
    return tuple(
        AlsoFree(valve, deg) for valve, deg in found.items() if deg >= -SLACK and valve not in taken
    )
