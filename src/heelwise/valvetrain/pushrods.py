"""Which pushrods to try and to buy, on fixed-height rockers."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import floor, hypot, isfinite, sqrt

from heelwise.valvetrain.engine import Valve, ValveKind
from heelwise.valvetrain.figures import SLACK_TURNS, chance_inside, length_text, turns_text, uniform
from heelwise.valvetrain.ordering import Target, fewest_lengths, one_length_each
from heelwise.valvetrain.travel import Travel
from heelwise.valvetrain.trials import LENGTH_MM, ZERO_LASH_MM
from heelwise.valvetrain.window import Window, check_travel

MOST_LENGTHS = 1000
"""More lengths than this are a slip in the step, not a catalogue."""

_SLACK_MM = 1e-6


@dataclass(frozen=True)
class Reading:
    """Turns counted on one valve with a pushrod of a length in mm."""

    valve: Valve
    pushrod_mm: float
    turns: float

    def __post_init__(self) -> None:
        if not (isfinite(self.pushrod_mm) and self.pushrod_mm > 0):
            raise ValueError(f"pushrod length {self.pushrod_mm!r} mm should be above 0")
        if not isfinite(self.turns):
            raise ValueError(f"turns {self.turns!r} should be a number")


@dataclass(frozen=True)
class Suggestion:
    """The length to try on a valve in mm and the turns to expect; None where nothing serves."""

    valve: Valve
    pushrod_mm: float | None
    expect_turns: float | None


@dataclass(frozen=True)
class Expectation:
    """Turns to expect after a change, their standard uncertainty, the chance to land inside."""

    valve: Valve
    pushrod_mm: float
    turns: float
    uncertainty_turns: float
    chance: float


@dataclass(frozen=True)
class Purchase:
    """Pushrods of one length in mm, and the valves they are for."""

    pushrod_mm: float
    valves: tuple[Valve, ...]

    @property
    def count(self) -> int:
        """How many to buy."""
        return len(self.valves)


@dataclass(frozen=True)
class Order:
    """What to buy, shortest first, and the valves that nothing serves."""

    buy: tuple[Purchase, ...]
    not_served: tuple[Valve, ...]


def sold_lengths(from_mm: float, to_mm: float, step_mm: float) -> tuple[float, ...]:
    """List the lengths sold, both ends inclusive.

    Args:
        from_mm: Shortest length sold, in mm.
        to_mm: Longest length sold, in mm; reached within 1e-6 mm.
        step_mm: Step between lengths, in mm.

    Returns:
        The lengths in mm, growing.

    Raises:
        ValueError: A figure is not above 0, the ends are upside down, or there are more
            than 1,000 lengths.
    """
    for name, value in (("sold_from", from_mm), ("sold_to", to_mm), ("sold_step", step_mm)):
        if not (isfinite(value) and value > 0):
            raise ValueError(f"{name} {value!r} mm should be above 0")
    if to_mm < from_mm:
        raise ValueError(
            f"sold_from {from_mm:g} mm is above sold_to {to_mm:g} mm: the shortest comes first"
        )
    steps = (to_mm - from_mm + _SLACK_MM) / step_mm
    if steps >= MOST_LENGTHS:
        raise ValueError(
            f"sold_step {step_mm:g} mm makes more than {MOST_LENGTHS:,} lengths: check the step"
        )
    return tuple(from_mm + i * step_mm for i in range(floor(steps) + 1))


def expected_turns(reading: Reading, pushrod_mm: float, travel_mm: float) -> float:
    """Give the turns to expect with another length: ΔL of pushrod is ΔL of preload.

    Args:
        reading: Turns counted with the present pushrod.
        pushrod_mm: The other length in mm.
        travel_mm: Plunger travel for one turn in mm, above 0.

    Returns:
        turns + ΔL / travel per turn; below 0 where the pushrod would hang loose.
    """
    return reading.turns + (pushrod_mm - reading.pushrod_mm) / travel_mm


def try_pushrod(
    reading: Reading, window: Window, travel_mm: float, lengths: Iterable[float]
) -> Suggestion:
    """Name the length that lands nearest the middle of the window, among those inside it.

    Args:
        reading: Turns counted with the present pushrod.
        window: The turns allowed.
        travel_mm: Plunger travel for one turn in mm, in use.
        lengths: Lengths sold or on hand, in mm, in any order.

    Returns:
        The length and the turns to expect; of two equally near, the longer. None and
        None where no length lands inside.

    Raises:
        ValueError: The travel is not above 0.
    """
    check_travel(travel_mm)
    best: tuple[float, float] | None = None
    off = 0.0
    for length in sorted(lengths):
        turns = expected_turns(reading, length, travel_mm)
        away = abs(turns - window.middle)
        if _inside(turns, window) and (best is None or away <= off + SLACK_TURNS):
            best, off = (length, turns), away
    if best is None:
        return Suggestion(reading.valve, None, None)
    return Suggestion(reading.valve, *best)


def order(
    readings: Iterable[Reading],
    window: Window,
    travel_mm: float,
    lengths: Iterable[float],
    by_kind: bool = False,
    stock: Mapping[float, int] | None = None,
) -> Order:
    """Order for the whole engine: the fewest distinct lengths that put every valve inside.

    As many valves as can be are served; then with the fewest distinct lengths; then
    nearest the middle of the window (least total distance); then with the longer. Valves
    already right take part like the others. The result is exact, whatever the order of
    the readings: see `ordering`.

    Args:
        readings: One reading a valve.
        window: The turns allowed.
        travel_mm: Plunger travel for one turn in mm, in use.
        lengths: Lengths sold or on hand, in mm, in any order.
        by_kind: All intakes one length and all exhausts one.
        stock: How many there are of a length, those now in the engine included; a length
            that isn't named has no limit.

    Returns:
        What to buy, with the valves that nothing serves.

    Raises:
        ValueError: The travel is not above 0, a valve is given twice, or a stock is below 0.
    """
    check_travel(travel_mm)
    kept = sorted(readings, key=lambda each: each.valve)
    for one, other in pairwise(kept):
        if one.valve == other.valve:
            raise ValueError(f"{one.valve} is given twice: give its latest reading alone")
    sold = tuple(sorted(set(lengths)))
    limits = _limits(sold, stock)
    targets = tuple(_target(each, window, travel_mm, sold) for each in kept)
    choose = one_length_each if by_kind else fewest_lengths
    chosen = choose(targets, sold, limits)
    return _as_order([each.valve for each in kept], sold, chosen)


def expectation(
    reading: Reading,
    pushrod_mm: float,
    window: Window,
    travel: Travel,
    resolution: float = 0.125,
    zero_lash_mm: float = ZERO_LASH_MM,
    length_mm: float = LENGTH_MM,
) -> Expectation:
    """Say what to expect of a valve after a change of pushrod, how surely, and the chance.

    The reading brings its resolution and its zero lash; a change brings two lengths and
    the travel's own uncertainty over ΔL (GUM 5.1.2). A pushrod that stays brings no more.

    Args:
        reading: Turns counted with the present pushrod.
        pushrod_mm: The length to come, in mm.
        window: The turns allowed.
        travel: The travel per turn in use; an unknown uncertainty counts as none.
        resolution: Smallest step of the reading, in turns.
        zero_lash_mm: Standard uncertainty of zero lash at the pushrod, in mm.
        length_mm: Standard uncertainty of one pushrod's length, in mm.

    Returns:
        Turns, standard uncertainty in turns, and the chance of turns inside the window.

    Raises:
        ValueError: The travel is not above 0, or the resolution below 0.
    """
    check_travel(travel.mm)
    change = pushrod_mm - reading.pushrod_mm
    turns = expected_turns(reading, pushrod_mm, travel.mm)
    lengths = sqrt(2.0) * length_mm / travel.mm if abs(change) > _SLACK_MM else 0.0
    standard = hypot(
        uniform(resolution),
        zero_lash_mm / travel.mm,
        lengths,
        change / travel.mm**2 * (travel.uncertainty_mm or 0.0),
    )
    chance = chance_inside(turns, standard, window.least_turns, window.most_turns)
    return Expectation(reading.valve, pushrod_mm, turns, standard, chance)


def length_sets_preload(mount: str) -> str | None:
    """Say why a pushrod's length is not chosen by preload on this mount, and what instead.

    Args:
        mount: ``bolt-down``, ``stud`` or ``shaft``, as a setup names it.

    Returns:
        None where rockers are fixed in height, so that length does set the preload; else
        the reason and the other way.
    """
    if mount != "stud":
        return None
    return (
        "On a stud the nut sets the preload, whatever the pushrod's length. The length sets the "
        "place and width of the rocker's path on the valve tip instead: choose it by the "
        "witness mark on the tip with an adjustable checking pushrod, then set the preload by "
        "the nut from zero lash."
    )


def nothing_serves(
    reading: Reading, window: Window, travel_mm: float, lengths: Sequence[float]
) -> str:
    """Say what to do where no length sold or on hand puts a valve inside its window.

    Args:
        reading: Turns counted with the present pushrod.
        window: The turns allowed.
        travel_mm: Plunger travel for one turn in mm, in use.
        lengths: Lengths sold or on hand, in mm.

    Returns:
        The length wanted (worked out), the nearest there is, and other ways. The ways are
        common practice, without a source.

    Raises:
        ValueError: The travel is not above 0.
    """
    check_travel(travel_mm)
    wanted = reading.pushrod_mm + (window.middle - reading.turns) * travel_mm
    told = f"Nothing sold or on hand puts {reading.valve} inside: the middle of its window needs "
    told += f"{length_text(wanted)} (worked out from the reading)"
    if lengths:
        near = min(lengths, key=lambda each: (abs(each - wanted), -each))
        turns = turns_text(expected_turns(reading, near, travel_mm))
        told += f"; the nearest, {length_text(near)}, would read {turns}"
    return told + (
        ". First read it again, finer. Then: have a pushrod made to length, look for one sold in "
        "a finer step, or find what makes this valve differ (stem height, seat depth, lifter "
        "cup). Shims under a rocker stand lessen preload, where the maker allows them."
    )


def _inside(turns: float, window: Window) -> bool:
    return window.least_turns - SLACK_TURNS <= turns <= window.most_turns + SLACK_TURNS


def _target(reading: Reading, window: Window, travel_mm: float, sold: Sequence[float]) -> Target:
    wanted = reading.pushrod_mm + (window.middle - reading.turns) * travel_mm
    served = [
        place
        for place, length in enumerate(sold)
        if _inside(expected_turns(reading, length, travel_mm), window)
    ]
    return Target(wanted, frozenset(served), group=list(ValveKind).index(reading.valve.kind))


def _limits(sold: Sequence[float], stock: Mapping[float, int] | None) -> tuple[int | None, ...]:
    for length, count in (stock or {}).items():
        if count < 0:
            raise ValueError(f"stock of {length:g} mm is {count}: give 0 or more")
    return tuple(
        next(
            (count for named, count in (stock or {}).items() if abs(named - length) <= _SLACK_MM),
            None,
        )
        for length in sold
    )


def _as_order(
    valves: Sequence[Valve], sold: Sequence[float], chosen: Sequence[int | None]
) -> Order:
    buy: dict[int, list[Valve]] = {}
    missed: list[Valve] = []
    for valve, place in zip(valves, chosen, strict=True):
        if place is None:
            missed.append(valve)
        else:
            buy.setdefault(place, []).append(valve)
    return Order(
        tuple(Purchase(sold[place], tuple(buy[place])) for place in sorted(buy)), tuple(missed)
    )
