"""What explains the spread of a set of readings: kind, slope along a bank, bank, one valve alone.

Medians, so that one strange valve can't pass for a pattern, and limits so wide that noise alone
seldom does. A suggestion of where to look first (common practice, no source), never a verdict.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from itertools import combinations
from math import exp, sqrt
from statistics import median

from heelwise.valvetrain.engine import Bank, Engine, Valve, ValveKind
from heelwise.valvetrain.figures import EIGHTH, SLACK_TURNS, turns_text
from heelwise.valvetrain.readings import SLACK_MM, expected_turns
from heelwise.valvetrain.travel import Travel
from heelwise.valvetrain.trials import Reading

LEAST_READINGS = 5
"""Fewer readings than this show no pattern."""

_LEAST_IN_GROUP = 3  # with fewer a median is no shield against one strange valve
_CLEAR = 6.0  # an offset between groups, in its own standard deviations
_MEDIAN_TO_MEAN = 1.2533  # how much wider a median scatters than a mean, normal distribution
_LEAST_PLACES = 3
_SURE_SLOPE = 2.4  # Kendall's S in its own standard deviations; five places must all agree


@dataclass(frozen=True)
class Finding:
    """A pattern: what, where to look first, the valves it is about, its size in turns."""

    what: str
    first_look: str
    valves: tuple[Valve, ...]
    size_turns: float


@dataclass(frozen=True)
class _Comparable:
    """Turns by valve as with one pushrod, and how far the travel's doubt may move each (k = 2)."""

    turns: dict[Valve, float]
    doubt: Mapping[Valve, float]

    def rest(self, less: Callable[[Valve], float]) -> "_Comparable":
        return _Comparable({v: value - less(v) for v, value in self.turns.items()}, self.doubt)


def find_pattern(
    engine: Engine,
    readings: Iterable[Reading],
    travel: Travel | None = None,
    resolution: float = EIGHTH,
) -> tuple[Finding, ...]:
    """Look for what explains the spread of the readings, one a valve.

    Readings with different pushrods are brought to the commonest length by the travel per turn if
    it is measured; else only those of the commonest length are compared. None on fewer than five.
    """
    kept = _comparable(readings, travel)
    banks = {valve: engine.bank_of(valve.cylinder) for valve in kept.turns}
    if len(kept.turns) < LEAST_READINGS:
        return ()
    kinds = {ValveKind.INTAKE: "intakes", ValveKind.EXHAUST: "exhausts"}
    look = "Measure two stem heights and two pushrods of each kind."
    what = "The {} read {} more than the {}"
    kept, findings = _offset(kept, lambda valve: kinds[valve.kind], what, look, resolution)
    slopes: list[Finding] = []
    for bank in engine.banks:
        kept, slope = _level(kept, bank, banks, resolution)
        slopes += [] if slope is None else [slope]
    if slopes:  # a bank that slopes reads more or less as a whole too
        return (*findings, *slopes, *_alone(kept, resolution))
    look = "Compare head gaskets and rocker stands, then the height of both heads."
    what = "Bank {} reads {} more than bank {}"
    kept, more = _offset(kept, lambda valve: banks[valve].name, what, look, resolution)
    return (*findings, *more, *_alone(kept, resolution))


def _comparable(readings: Iterable[Reading], travel: Travel | None) -> _Comparable:
    kept = sorted(readings, key=lambda each: each.valve)
    if not kept:
        return _Comparable({}, {})
    counts = Counter(each.pushrod_mm for each in kept)
    common = max(counts, key=lambda length: (counts[length], length))
    if travel is None or not travel.measured:
        same = [each for each in kept if abs(each.pushrod_mm - common) < SLACK_MM]
        return _Comparable({r.valve: r.turns for r in same}, {})
    per_mm = 2.0 * (travel.uncertainty_mm or 0.0) / travel.mm**2
    return _Comparable(
        {r.valve: expected_turns(r, common, travel.mm) for r in kept},
        {r.valve: (common - r.pushrod_mm) * per_mm for r in kept},
    )


def _scale(values: Iterable[float], resolution: float) -> float:
    """Standard deviation about the median of all but the quarter that lies furthest from it.

    At least half a step: equal readings in eighths are not equal to the last hair.
    """
    kept = list(values)
    middle = median(kept)
    off = sorted(abs(value - middle) for value in kept)[: len(kept) - len(kept) // 4]
    return max(sqrt(sum(each * each for each in off) / max(len(off) - 1, 1)), resolution / 2)


def _offset(
    kept: _Comparable, group: Callable[[Valve], str], what: str, look: str, resolution: float
) -> tuple[_Comparable, list[Finding]]:
    """Take out the offset between groups where it is clear; leave the readings else."""
    groups: dict[str, list[Valve]] = {}
    for valve in kept.turns:
        groups.setdefault(group(valve), []).append(valve)
    if len(groups) < 2 or min(map(len, groups.values())) < _LEAST_IN_GROUP:
        return kept, []
    middles = {name: median(kept.turns[v] for v in valves) for name, valves in groups.items()}
    high = max(middles, key=lambda name: middles[name])
    low = min(middles, key=lambda name: middles[name])
    apart = middles[high] - middles[low]
    rest = kept.rest(lambda valve: middles[group(valve)])
    shares = sqrt(1 / len(groups[high]) + 1 / len(groups[low]))
    noise = _scale(rest.turns.values(), resolution) * _MEDIAN_TO_MEAN * shares
    doubts = [median(kept.doubt.get(v, 0.0) for v in groups[name]) for name in (high, low)]
    clear = _CLEAR * noise + abs(doubts[0] - doubts[1])
    if apart < resolution - SLACK_TURNS or apart <= clear:
        return kept, []
    what = what.format(high, turns_text(apart), low)
    return rest, [Finding(what, look, tuple(groups[high]), apart)]


def _level(
    kept: _Comparable, bank: Bank, banks: Mapping[Valve, Bank], resolution: float
) -> tuple[_Comparable, Finding | None]:
    points = {v: bank.cylinders.index(v.cylinder) for v in kept.turns if banks[v] == bank}
    span = max(points.values(), default=0) - min(points.values(), default=0)
    pairs = [
        (kept.turns[b] - kept.turns[a]) / (points[b] - points[a])
        for a, b in combinations(points, 2)
        if points[a] != points[b]
    ]
    count = len(points)
    if count < LEAST_READINGS or len(set(points.values())) < _LEAST_PLACES:
        return kept, None
    slope = median(pairs)  # Theil and Sen's
    rising = sum((each > 0) - (each < 0) for each in pairs)
    sure = abs(rising) / sqrt(count * (count - 1) * (2 * count + 5) / 18)
    if abs(slope) * span < resolution - SLACK_TURNS or sure < _SURE_SLOPE:
        return kept, None
    middle = median(points.values())
    what = (
        f"Along bank {bank.name}, front to rear, the readings come to "
        f"{turns_text(abs(slope) * span)} {'more' if slope > 0 else 'fewer'}"
    )
    look = "Check the head bolts' torque and lay a straight edge along the rocker stand."
    rest = kept.rest(lambda valve: slope * (points[valve] - middle) if valve in points else 0.0)
    return rest, Finding(what, look, tuple(sorted(points)), slope * span)


def _alone(kept: _Comparable, resolution: float) -> list[Finding]:
    turns, count = kept.turns, len(kept.turns)
    middle = median(turns.values())
    # Few readings tell their own spread badly: the limit is wider for them.
    limit = 5.5 * exp(4.5 / count) * _scale(turns.values(), resolution)
    strange = [
        valve
        for valve in sorted(turns)
        if abs(turns[valve] - middle) > limit + abs(kept.doubt.get(valve, 0.0)) + SLACK_TURNS
    ]
    if len(strange) > count // 4:
        return []  # a quarter of the engine is no exception
    findings = []
    for valve in strange:
        off = turns[valve] - middle
        what = f"{valve} alone reads {turns_text(abs(off))} {'more' if off > 0 else 'fewer'} "
        look = (
            f"Take the rocker of {valve} off, see that the pushrod is in both cups, measure it, "
            "and count again on the heel."
        )
        findings.append(Finding(what + "than the rest lead to expect", look, (valve,), off))
    return findings
