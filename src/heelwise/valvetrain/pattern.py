"""What explains the spread of a set of readings: kind, bank, slope, or one valve alone.

Medians throughout, so that one strange valve can't pass for a pattern. What is said is a
suggestion of where to look first (common practice, no source), never a verdict.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import sqrt
from statistics import median

from heelwise.valvetrain.engine import Bank, Engine, Valve, ValveKind
from heelwise.valvetrain.figures import turns_text
from heelwise.valvetrain.readings import Reading, expected_turns

LEAST_READINGS = 5
"""Fewer readings than this show no pattern."""

MAD_TO_STANDARD = 1.4826
"""Median absolute deviation to standard deviation, for a normal distribution."""

ALONE = 3.5
"""Robust standard deviations from the rest that make a valve stand alone (Iglewicz and
Hoaglin's limit; from memory)."""

_CLEAR = 3.0
_MEDIAN_TO_MEAN = 1.2533  # how much wider a median scatters than a mean, normal distribution
_LEAST_IN_GROUP = 3  # with fewer a median is no shield against one strange valve
_SLACK = 1e-9
_LEAST_PLACES = 3
_LEAST_ON_SLOPE = 5
_SURE_SLOPE = 2.4  # Kendall's S in its own standard deviations; five places must all agree


@dataclass(frozen=True)
class Finding:
    """A pattern: what, its likely causes, where to look first, the valves, its size in turns."""

    what: str
    causes: tuple[str, ...]
    first_look: str
    valves: tuple[Valve, ...]
    size_turns: float


_Turns = Mapping[Valve, float]


def find_pattern(
    engine: Engine,
    readings: Iterable[Reading],
    travel_mm: float | None = None,
    resolution: float = 0.125,
) -> tuple[Finding, ...]:
    """Look for what explains the spread of the readings.

    Readings with different pushrods are brought to the commonest length by the travel per
    turn; without it only those of the commonest length are compared.

    Args:
        engine: Gives the banks, cylinders from front to rear.
        readings: One reading a valve, in any order.
        travel_mm: Plunger travel for one turn in mm, or None.
        resolution: Smallest step read, in turns.

    Returns:
        Findings: kind, bank, slope along a bank, then single valves. None on fewer than
        five readings that can be compared.

    Raises:
        ValueError: A reading's cylinder is not the engine's.
    """
    turns = _comparable(readings, travel_mm)
    banks = {valve: engine.bank_of(valve.cylinder) for valve in turns}
    if len(turns) < LEAST_READINGS:
        return ()
    findings: list[Finding] = []
    rest, found = _split(turns, lambda valve: valve.kind.value, resolution)
    if found is not None:
        findings.append(_kind_finding(found, turns))
    rest, found = _split(rest, lambda valve: banks[valve].name, resolution)
    if found is not None:
        findings.append(_bank_finding(found, turns, banks))
    for bank in engine.banks:
        rest, slope = _level(rest, bank, banks, resolution)
        findings += [] if slope is None else [slope]
    return (*findings, *_alone(rest, resolution))


@dataclass(frozen=True)
class _Split:
    high: str
    low: str
    turns: float


def _comparable(readings: Iterable[Reading], travel_mm: float | None) -> dict[Valve, float]:
    kept = sorted(readings, key=lambda each: each.valve)
    if not kept:
        return {}
    counted = Counter(each.pushrod_mm for each in kept)
    common = max(counted, key=lambda length: (counted[length], length))
    if travel_mm is not None:
        return {each.valve: expected_turns(each, common, travel_mm) for each in kept}
    return {each.valve: each.turns for each in kept if abs(each.pushrod_mm - common) < 1e-6}


def _spread(values: Iterable[float], resolution: float) -> float:
    kept = list(values)
    middle = median(kept)
    deviation = median(abs(value - middle) for value in kept)
    # Rounding may hide half a step: equal readings in eighths are not equal to the last hair.
    return MAD_TO_STANDARD * max(deviation, resolution / 2)


def _split(
    turns: _Turns, group: Callable[[Valve], str], resolution: float
) -> tuple[dict[Valve, float], _Split | None]:
    """Take out the offset between groups where it is clear; leave the readings else."""
    groups: dict[str, list[float]] = {}
    for valve, value in turns.items():
        groups.setdefault(group(valve), []).append(value)
    if len(groups) < 2 or min(map(len, groups.values())) < _LEAST_IN_GROUP:
        return dict(turns), None
    middles = {name: median(values) for name, values in groups.items()}
    high = max(middles, key=lambda name: middles[name])
    low = min(middles, key=lambda name: middles[name])
    apart = middles[high] - middles[low]
    rest = {valve: value - middles[group(valve)] for valve, value in turns.items()}
    noise = _spread(rest.values(), resolution)
    noise *= _MEDIAN_TO_MEAN * sqrt(1 / len(groups[high]) + 1 / len(groups[low]))
    if apart < resolution - _SLACK or apart <= _CLEAR * noise:
        return dict(turns), None
    return rest, _Split(high, low, apart)


def _kind_finding(found: _Split, turns: _Turns) -> Finding:
    high, low = ValveKind(found.high), ValveKind(found.low)
    names = {ValveKind.INTAKE: "intakes", ValveKind.EXHAUST: "exhausts"}
    return Finding(
        f"The {names[high]} read {turns_text(found.turns)} more than the {names[low]}",
        (
            "stem heights differ between the kinds (valves or seats renewed on one)",
            "pushrods of one kind are of another length than labelled",
            "base circles differ between the lobes",
        ),
        "Measure two stem heights and two pushrods of each kind.",
        tuple(sorted(valve for valve in turns if valve.kind is high)),
        found.turns,
    )


def _bank_finding(found: _Split, turns: _Turns, banks: Mapping[Valve, Bank]) -> Finding:
    return Finding(
        f"Bank {found.high} reads {turns_text(found.turns)} more than bank {found.low}",
        (
            "one deck or head was cut more than the other",
            "the head gaskets differ in thickness",
            "rocker stands or their shims differ",
        ),
        "Compare head gaskets and rocker stands, then the height of both heads.",
        tuple(sorted(valve for valve in turns if banks[valve].name == found.high)),
        found.turns,
    )


def _level(
    turns: _Turns, bank: Bank, banks: Mapping[Valve, Bank], resolution: float
) -> tuple[dict[Valve, float], Finding | None]:
    """Take out a slope along one bank where most pairs of readings agree on it."""
    points = {v: bank.cylinders.index(v.cylinder) for v in turns if banks[v] == bank}
    span = max(points.values(), default=0) - min(points.values(), default=0)
    pairs = [
        (turns[b] - turns[a]) / (points[b] - points[a])
        for a, b in combinations(points, 2)
        if points[a] != points[b]
    ]
    if len(points) < _LEAST_ON_SLOPE or len(set(points.values())) < _LEAST_PLACES:
        return dict(turns), None
    slope = median(pairs)  # Theil and Sen's
    count = len(points)
    rising = sum((each > 0) - (each < 0) for each in pairs)
    sure = abs(rising) / sqrt(count * (count - 1) * (2 * count + 5) / 18)
    if abs(slope) * span < resolution - _SLACK or sure < _SURE_SLOPE:
        return dict(turns), None
    middle = median(points.values())
    rest = {
        valve: value - slope * (points[valve] - middle) if valve in points else value
        for valve, value in turns.items()
    }
    way = "more" if slope > 0 else "fewer"
    return rest, Finding(
        f"Along bank {bank.name}, front to rear, the readings come to "
        f"{turns_text(abs(slope) * span)} {way}",
        (
            "the head is not drawn down evenly, or its gasket is not seated",
            "the deck or head was cut out of level",
            "the rocker stand is not flat",
        ),
        "Check the head bolts' torque and lay a straight edge along the rocker stand.",
        tuple(sorted(points)),
        slope * span,
    )


def _alone(turns: _Turns, resolution: float) -> Sequence[Finding]:
    middle = median(turns.values())
    limit = ALONE * _spread(turns.values(), resolution)
    strange = [v for v, value in sorted(turns.items()) if abs(value - middle) > limit + _SLACK]
    if len(strange) > len(turns) // 4:
        return ()  # a quarter of the engine is no exception
    return [_alone_finding(valve, turns[valve] - middle) for valve in strange]


def _alone_finding(valve: Valve, off: float) -> Finding:
    causes: tuple[str, ...]
    if off > 0:
        causes = (
            "the pushrod is not down in the lifter's cup, or not in the rocker's",
            "the pushrod is longer than labelled",
            "the lifter was a little up its lobe when zero lash was taken",
            "the valve's stem stands higher",
            "zero lash was taken with the pushrod still loose",
        )
    else:
        causes = (
            "the pushrod is shorter than labelled",
            "a cup or tip is worn, or the stem was ground",
            "zero lash was taken with the plunger already pressed down",
        )
    return Finding(
        f"{valve} alone reads {turns_text(abs(off))} {'more' if off > 0 else 'fewer'} "
        "than the rest lead to expect",
        causes,
        f"Take the rocker of {valve} off, see that the pushrod is in both cups, measure it, and "
        "count again on the heel.",
        (valve,),
        off,
    )
