"""Valves not tried: what the tried ones lead to expect of them, and which to try next.

Heights scatter from valve to valve; few trials tell little of how much. So the scatter is a set of
likely figures with weights (half-Cauchy prior; Gelman 2006, from memory), not one.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import exp, hypot, log

from heelwise.valvetrain.engine import Engine, Valve, ValveKind
from heelwise.valvetrain.figures import uniform
from heelwise.valvetrain.readings import Prospect, Reading
from heelwise.valvetrain.trials import LENGTH_MM, ZERO_LASH_MM
from heelwise.wording import MM_PER_INCH

USUAL_SCATTER_MM = 0.010 * MM_PER_INCH
"""Scale of the prior of the heights' standard deviation, along the pushrod. Our own figure."""

FEW_OUTSIDE = 0.45
"""With fewer valves than this expected outside, more trials don't pay: engines of sixteen valves
then need a second order in about 5, 20 and 40 of a hundred at a scatter of 0.003, 0.005 and
0.010 in, for 1, 3 and 8 trials more (simulated). Our own figure."""

KINDS_DIFFER_MM = 0.020 * MM_PER_INCH
"""Standard deviation of what intakes and exhausts may differ by where one kind was not tried. Our
own figure."""

_GRID_MM = tuple(step * 0.001 * MM_PER_INCH for step in range(0, 31, 2))


@dataclass(frozen=True)
class Outlook:
    """How many of the valves not tried are expected outside, and the most telling to try next."""

    expected_outside: float
    try_next: Valve | None

    @property
    def enough_tried(self) -> bool:
        """Whether so few are expected outside that more trials don't pay."""
        return self.try_next is None or self.expected_outside < FEW_OUTSIDE


def with_untried(
    engine: Engine, tried: Iterable[Prospect], travel_mm: float
) -> dict[Valve, Prospect]:
    """Every valve of the engine: those tried as they are, the others worked out from them.

    Empty where none was tried.
    """
    known = {each.valve: each for each in tried}
    if not known:
        return {}
    groups = {k: [p for p in known.values() if p.valve.kind is k] for k in ValveKind}
    weights = _scatter([_heights(group, travel_mm) for group in groups.values() if group])
    return {
        valve: known[valve] if valve in known else _worked_out(valve, groups, weights, travel_mm)
        for valve in engine.valves
    }


def outlook(engine: Engine, tried: Collection[Valve], chances: Mapping[Valve, float]) -> Outlook:
    """How many of those not tried may land outside, by their chances to land inside.

    To try next: of the kind with most to lose, where fewest of it were tried, furthest from those.
    """
    outside = {
        valve: 1.0 - chances.get(valve, 0.0) for valve in engine.valves if valve not in tried
    }
    if not outside:
        return Outlook(0.0, None)
    by_kind = {
        kind: sum(share for valve, share in outside.items() if valve.kind is kind)
        for kind in ValveKind
    }

    def worth(valve: Valve) -> tuple[float, int, int, Valve]:
        bank = engine.bank_of(valve.cylinder)
        places = [
            bank.cylinders.index(each.cylinder)
            for each in tried
            if each.kind is valve.kind and each.cylinder in bank.cylinders
        ]
        place = bank.cylinders.index(valve.cylinder)
        away = min((abs(place - other) for other in places), default=len(bank.cylinders))
        return -round(by_kind[valve.kind], 6), len(places), -away, valve

    return Outlook(sum(outside.values()), min(outside, key=worth))


def _heights(group: Sequence[Prospect], travel_mm: float) -> list[tuple[float, float]]:
    """Each valve's length at zero lash and the variance of reading it, in mm and mm²."""
    return [
        (
            each.reading.pushrod_mm - each.reading.turns * travel_mm,
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
        mean = sum(w * height for w, (height, _) in zip(weights, group, strict=True)) / sum(weights)
        squares = sum(
            w * (height - mean) ** 2 for w, (height, _) in zip(weights, group, strict=True)
        )
        total += 0.5 * (sum(map(log, weights)) - log(sum(weights)) - squares)
    return total


def _worked_out(
    valve: Valve,
    groups: Mapping[ValveKind, Sequence[Prospect]],
    weights: Sequence[tuple[float, float]],
    travel_mm: float,
) -> Prospect:
    own = groups[valve.kind]
    group = own or [each for others in groups.values() for each in others]
    heights = _heights(group, travel_mm)
    mean = sum(height for height, _ in heights) / len(heights)
    reading_variance = sum(variance for _, variance in heights) / len(heights)
    pushrod = max(each.reading.pushrod_mm for each in group)
    reading = Reading(valve, pushrod, (pushrod - mean) / travel_mm)
    kinds = 0.0 if own else KINDS_DIFFER_MM
    scatter = tuple(
        (hypot(sd, ((sd * sd + reading_variance) / len(group)) ** 0.5, LENGTH_MM, kinds), weight)
        for sd, weight in weights
        if weight > 1e-4
    )
    total = sum(weight for _, weight in scatter)
    return Prospect(reading, 0.0, tuple((sd, weight / total) for sd, weight in scatter))
