"""What readings lead to expect: of another pushrod, and of the valves not tried.

Heights scatter from valve to valve; few trials tell little of how much. So the scatter is a set of
likely figures with weights (half-Cauchy prior; Gelman 2006, from memory), not one.
"""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import exp, hypot, log, sqrt
from statistics import fmean

from heelwise.valvetrain.engine import Engine, Valve, ValveKind
from heelwise.valvetrain.figures import chance_inside, uniform
from heelwise.valvetrain.travel import Travel
from heelwise.valvetrain.trials import LENGTH_MM, ZERO_LASH_MM, Reading
from heelwise.valvetrain.window import Window
from heelwise.wording import MM_PER_INCH

SLACK_MM = 1e-6  # lengths nearer than this are the same

# Our own figures, of the heights along the pushrod: the scale of the prior of their standard
# deviation, and the standard deviation of what intakes and exhausts may differ by untried.
USUAL_SCATTER_MM = 0.010 * MM_PER_INCH
KINDS_DIFFER_MM = 0.020 * MM_PER_INCH

MOST_AT_ONCE = 4  # more valves are not tried without asking again what they came to

FEW_OUTSIDE = 0.2
"""With fewer valves than this expected outside, more trials don't pay: engines of sixteen valves
then need a second order in 3, 8, 15 and 15 of a hundred at a scatter of 0.003, 0.005, 0.010 and
0.015 in, for 6, 6, 19 and 30 answers more (40 virtual engines each). Our own figure."""

_GRID_MM = tuple(step * 0.001 * MM_PER_INCH for step in range(0, 31, 2))


@dataclass(frozen=True)
class Basis:
    """What a pushrod is judged by: the window and the travel in use.

    `window_at`: the window by another travel per turn, where its limits are in preload.
    `received_mm`: how far a received pushrod may be from the length ordered.
    """

    window: Window
    travel: Travel
    window_at: Callable[[float], Window] | None = None
    received_mm: float = 0.0


@dataclass(frozen=True)
class Expectation:
    """Turns to expect after a change, their standard uncertainty, the chance to land inside."""

    valve: Valve
    pushrod_mm: float
    turns: float
    uncertainty_turns: float
    chance: float


def expected_turns(reading: Reading, pushrod_mm: float, travel_mm: float) -> float:
    """Turns to expect with another length: turns + ΔL / travel; below 0 it hangs loose."""
    return reading.turns + (pushrod_mm - reading.pushrod_mm) / travel_mm


def expect(reading: Reading, pushrod_mm: float, basis: Basis) -> Expectation:
    """What to expect of a valve with a pushrod, how surely, and the chance to land inside.

    The reading brings its resolution and its zero lash, a valve not tried its scatter; a change
    brings two lengths and what Receive lets pass. The chance is the mean over the likely travels.
    """
    travel = basis.travel
    change = pushrod_mm - reading.pushrod_mm
    turns = expected_turns(reading, pushrod_mm, travel.mm)
    lengths = 0.0
    if abs(change) > SLACK_MM or basis.received_mm:
        lengths = hypot(LENGTH_MM, LENGTH_MM, uniform(2.0 * basis.received_mm))
    if travel.measured:
        by_travel = change / travel.mm**2 * (travel.uncertainty_mm or 0.0)
    else:
        off = [expected_turns(reading, pushrod_mm, mm) - turns for mm in travel.draws]
        by_travel = sqrt(sum(each * each for each in off) / len(off))
    scatter = sqrt(sum(weight * sd * sd for sd, weight in reading.scatter))
    standard = hypot(
        uniform(reading.resolution), hypot(ZERO_LASH_MM, lengths, scatter) / travel.mm, by_travel
    )
    chance = _chance(reading, pushrod_mm, basis, hypot(LENGTH_MM, LENGTH_MM) if lengths else 0.0)
    return Expectation(reading.valve, pushrod_mm, turns, standard, chance)


def _chance(reading: Reading, pushrod_mm: float, basis: Basis, lengths_mm: float) -> float:
    total = 0.0
    for travel_mm in basis.travel.draws:
        window = basis.window_at(travel_mm) if basis.window_at else basis.window
        turns = expected_turns(reading, pushrod_mm, travel_mm)
        for scatter_mm, weight in reading.scatter or ((0.0, 1.0),):
            standard = hypot(ZERO_LASH_MM, lengths_mm, scatter_mm) / travel_mm
            total += weight * chance_inside(
                turns,
                standard,
                window.least_turns,
                window.most_turns,
                reading.resolution / 2,
                basis.received_mm / travel_mm,
            )
    return min(max(total / len(basis.travel.draws), 0.0), 1.0)


@dataclass(frozen=True)
class Outlook:
    """How many of the valves not tried are expected outside, and which, if any, to try next."""

    expected_outside: float
    try_next: tuple[Valve, ...]


def with_untried(
    engine: Engine, tried: Iterable[Reading], travel_mm: float
) -> dict[Valve, Reading]:
    """Every valve: those tried as they are, the others worked out from them, if there are any."""
    known = {each.valve: each for each in tried}
    if not known:
        return {}
    groups = {k: [p for p in known.values() if p.valve.kind is k] for k in ValveKind}
    weights = _scatter([_heights(group, travel_mm) for group in groups.values() if group])
    return {v: known.get(v) or _worked_out(v, groups, weights, travel_mm) for v in engine.valves}


def outlook(
    engine: Engine,
    tried: Collection[Valve],
    chances: Mapping[Valve, float],
    places: Iterable[Collection[Valve]] = (),
) -> Outlook:
    """How many of those not tried may land outside, by their chances to land inside.

    To try next, few and all at one of `places` (valves on their heels together, the nearest first):
    of the kind with most to lose, where fewest of it were tried, furthest from those.
    """
    left = {v: 1.0 - chances.get(v, 0.0) for v in engine.valves if v not in tried}
    outside, chosen = sum(left.values()), list[Valve]()

    def to_lose(kind: ValveKind) -> float:
        return round(sum(share for valve, share in left.items() if valve.kind is kind), 6)

    def worth(valve: Valve) -> tuple[float, int, int, Valve]:
        row = engine.bank_of(valve.cylinder).cylinders
        own = [v.cylinder for v in (*tried, *chosen) if v.kind is valve.kind]
        away = [abs(row.index(valve.cylinder) - row.index(c)) for c in own if c in row]
        return -to_lose(valve.kind), len(away), -min(away, default=len(row)), valve

    here: Collection[Valve] = left
    while sum(left.values()) >= FEW_OUTSIDE and len(chosen) < MOST_AT_ONCE:
        if not chosen:
            kind = max(ValveKind, key=to_lose)
            together = ([v for v in place if v in left] for place in places)
            here = next((p for p in together if any(v.kind is kind for v in p)), left)
        elif not any(valve in left for valve in here):
            break
        chosen.append(min((valve for valve in here if valve in left), key=worth))
        del left[chosen[-1]]
    return Outlook(outside, tuple(chosen))


def _heights(group: Sequence[Reading], travel_mm: float) -> list[tuple[float, float]]:
    """Each valve's length at zero lash and the variance of reading it, in mm and mm²."""
    return [
        (
            each.pushrod_mm - each.turns * travel_mm,
            hypot(uniform(each.resolution) * travel_mm, ZERO_LASH_MM) ** 2,
        )
        for each in group
    ]


def _scatter(groups: Sequence[Sequence[tuple[float, float]]]) -> list[tuple[float, float]]:
    """Likely standard deviations of the heights in mm, each with its weight; they sum to 1."""
    logs = [_log_likelihood(sd, groups) - log(1 + (sd / USUAL_SCATTER_MM) ** 2) for sd in _GRID_MM]
    most = max(logs)
    shares = [exp(each - most) for each in logs]
    return [(sd, share / sum(shares)) for sd, share in zip(_GRID_MM, shares, strict=True)]


def _log_likelihood(sd: float, groups: Sequence[Sequence[tuple[float, float]]]) -> float:
    total = 0.0
    for group in groups:
        weights = [1.0 / (sd * sd + variance) for _, variance in group]
        mean = fmean((height for height, _ in group), weights)
        squares = sum(
            w * (height - mean) ** 2 for w, (height, _) in zip(weights, group, strict=True)
        )
        total += 0.5 * (sum(map(log, weights)) - log(sum(weights)) - squares)
    return total


def _worked_out(
    valve: Valve,
    groups: Mapping[ValveKind, Sequence[Reading]],
    weights: Sequence[tuple[float, float]],
    travel_mm: float,
) -> Reading:
    own = groups[valve.kind]
    group = own or [each for others in groups.values() for each in others]
    heights = _heights(group, travel_mm)
    mean, variance = map(fmean, zip(*heights, strict=True))
    pushrod = max(each.pushrod_mm for each in group)
    kinds = 0.0 if own else KINDS_DIFFER_MM
    kept = [(sd, weight) for sd, weight in weights if weight > 1e-4]
    total = sum(weight for _, weight in kept)
    scatter = tuple(
        (hypot(sd, sqrt((sd * sd + variance) / len(group)), LENGTH_MM, kinds), weight / total)
        for sd, weight in kept
    )
    return Reading(valve, pushrod, (pushrod - mean) / travel_mm, 0.0, scatter)
