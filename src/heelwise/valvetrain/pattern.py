"""What explains the spread of a set of readings: kind, slope along a bank, bank, one valve alone.

Medians, and limits so wide that noise alone seldom passes them. A suggestion of where to look
first (common practice, no source), never a verdict.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import exp, sqrt
from statistics import median

from heelwise.valvetrain.engine import Bank, Engine, Valve, ValveKind
from heelwise.valvetrain.figures import EIGHTH, SLACK_TURNS, turns_text
from heelwise.valvetrain.readings import SLACK_MM, expected_turns
from heelwise.valvetrain.travel import Travel
from heelwise.valvetrain.trials import Reading

LEAST_READINGS = 5  # fewer show no pattern
_LEAST_IN_GROUP = 3  # with fewer a median is no shield against one strange valve
_CLEAR = 6.0  # an offset between groups, in its own standard deviations
_MEDIAN_TO_MEAN = 1.2533  # how much wider a median scatters than a mean, normal distribution
_LEAST_PLACES = 3
_SURE_SLOPE = 2.4  # Kendall's S in its own standard deviations; five places must all agree


@dataclass(frozen=True)
class Finding:
    """A pattern: what, where to look first, the valves it is about."""

    what: str
    first_look: str
    valves: tuple[Valve, ...]


Turns = Mapping[Valve, float]
"""Turns by valve as with one pushrod, or how far the travel's doubt may move each (k = 2)."""


def find_pattern(
    engine: Engine, readings: Iterable[Reading], travel: Travel | None = None
) -> tuple[Finding, ...]:
    """Look for what explains the spread of the readings, one a valve; nothing on fewer than five.

    A measured travel brings them to the commonest length; else only that one's are compared.
    """
    turns, doubt = _comparable(sorted(readings, key=lambda each: each.valve), travel)
    if len(turns) < LEAST_READINGS:
        return ()
    kinds = {v: "exhausts" if v.kind is ValveKind.EXHAUST else "intakes" for v in turns}
    look = "Measure two stem heights and two pushrods of each kind."
    what = "The {} read {} more than the {}"
    turns, findings = _offset(turns, doubt, kinds, what, look)
    slopes: list[Finding] = []
    for bank in engine.banks:
        turns, slope = _level(turns, bank)
        slopes += slope
    if not slopes:  # a bank that slopes reads more or less as a whole too
        banks = {valve: engine.bank_of(valve.cylinder).name for valve in turns}
        look = "Compare head gaskets and rocker stands, then the height of both heads."
        what = "Bank {} reads {} more than bank {}"
        turns, slopes = _offset(turns, doubt, banks, what, look)
    return (*findings, *slopes, *_alone(turns, doubt))


def _comparable(kept: Sequence[Reading], travel: Travel | None) -> tuple[Turns, Turns]:
    counts = Counter(each.pushrod_mm for each in kept)
    common = max(counts, key=lambda length: (counts[length], length), default=0.0)
    if travel is None or not travel.measured:
        return {r.valve: r.turns for r in kept if abs(r.pushrod_mm - common) < SLACK_MM}, {}
    per_mm = 2.0 * (travel.uncertainty_mm or 0.0) / travel.mm**2
    doubt = {r.valve: (common - r.pushrod_mm) * per_mm for r in kept}
    return {r.valve: expected_turns(r, common, travel.mm) for r in kept}, doubt


def _scale(values: Iterable[float]) -> float:
    """Standard deviation about the median of the nearest three quarters; at least half a step."""
    kept = list(values)
    middle = median(kept)
    off = sorted(abs(value - middle) for value in kept)[: len(kept) - len(kept) // 4]
    return max(sqrt(sum(each * each for each in off) / max(len(off) - 1, 1)), EIGHTH / 2)


def _offset(
    turns: Turns, doubt: Turns, group: Mapping[Valve, str], what: str, look: str
) -> tuple[Turns, list[Finding]]:
    groups: dict[str, list[Valve]] = {}
    for valve in turns:
        groups.setdefault(group[valve], []).append(valve)
    if len(groups) < 2 or min(map(len, groups.values())) < _LEAST_IN_GROUP:
        return turns, []
    middles = {name: median(turns[v] for v in valves) for name, valves in groups.items()}
    high, low = max(middles, key=middles.__getitem__), min(middles, key=middles.__getitem__)
    apart = middles[high] - middles[low]
    rest = {valve: value - middles[group[valve]] for valve, value in turns.items()}
    shares = sqrt(1 / len(groups[high]) + 1 / len(groups[low]))
    noise = _scale(rest.values()) * _MEDIAN_TO_MEAN * shares
    doubts = [median(doubt.get(v, 0.0) for v in groups[name]) for name in (high, low)]
    clear = _CLEAR * noise + abs(doubts[0] - doubts[1])
    if apart < EIGHTH - SLACK_TURNS or apart <= clear:
        return turns, []
    what = what.format(high, turns_text(apart), low)
    return rest, [Finding(what, look, tuple(groups[high]))]


def _level(turns: Turns, bank: Bank) -> tuple[Turns, list[Finding]]:
    places = bank.cylinders
    points = {v: places.index(v.cylinder) for v in turns if v.cylinder in places}
    pairs = [
        (turns[b] - turns[a]) / (points[b] - points[a])
        for a, b in combinations(points, 2)
        if points[a] != points[b]
    ]
    count = len(points)
    if count < LEAST_READINGS or len(set(points.values())) < _LEAST_PLACES:
        return turns, []
    slope = median(pairs)  # Theil and Sen's
    size = slope * (max(points.values()) - min(points.values()))
    rising = sum((each > 0) - (each < 0) for each in pairs)
    sure = abs(rising) / sqrt(count * (count - 1) * (2 * count + 5) / 18)
    if abs(size) < EIGHTH - SLACK_TURNS or sure < _SURE_SLOPE:
        return turns, []
    middle = median(points.values())
    what = (
        f"Along bank {bank.name}, front to rear, the readings come to "
        f"{turns_text(abs(size))} {'more' if slope > 0 else 'fewer'}"
    )
    look = "Check the head bolts' torque and lay a straight edge along the rocker stand."
    rest = {v: value - slope * (points.get(v, middle) - middle) for v, value in turns.items()}
    return rest, [Finding(what, look, tuple(sorted(points)))]


def _alone(turns: Turns, doubt: Turns) -> list[Finding]:
    count, middle = len(turns), median(turns.values())
    # Few readings tell their own spread badly: the limit is wider for them.
    limit = 5.5 * exp(4.5 / count) * _scale(turns.values()) + SLACK_TURNS
    findings = []
    for valve, value in turns.items():
        off = abs(value - middle)
        if off > limit + abs(doubt.get(valve, 0.0)):
            less = "more" if value > middle else "less"
            what = f"{valve} reads {turns_text(off)} {less} than the others say it should"
            look = (
                f"Take the rocker of {valve} off, see that the pushrod is in both cups, measure "
                "it, and count again on the heel."
            )
            findings.append(Finding(f"{what}; no other valve does", look, (valve,)))
    # More than a quarter of the engine is no exception.
    return findings if len(findings) <= count // 4 else []
