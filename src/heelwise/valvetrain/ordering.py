"""Exact choice of lengths for many valves: few lengths first, then near what each wants.

Why one pass over the sorted valves is exact. Every valve is served by the lengths within
the same distance H of the one it wants (the windows are equally wide). Take any choice in
which a valve that wants less, a ≤ b, got the longer of two lengths, x > y: a has x and b
has y. From x - a ≤ H follows x - b ≤ H, and b - x < b - y ≤ H, so b may have x; likewise
a may have y. |a - y| + |b - x| ≤ |a - x| + |b - y|, since the distance on a line is
convex. So changing the two over serves the same valves with the same lengths, in the same
numbers, from no greater distance. Hence some best choice gives growing lengths to growing
wants, and each length a run of valves: that is all the pass has to look through. The
tests compare it with every possible choice on small sets.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

Score = tuple[int, int, int, int]
"""Valves missed, distinct lengths, total distance, total length (negative): less is better."""

_UNITS = 10**9  # whole 1e-9 mm, so that equal distances compare equal


@dataclass(frozen=True)
class Target:
    """The length one valve wants in mm, the places of the lengths that serve it, its group."""

    wanted_mm: float
    served: frozenset[int]
    group: int = 0


@dataclass(frozen=True)
class _Way:
    """How far a choice has come: its score, its last choice, and the way before it."""

    score: Score
    place: int | None = None
    before: _Way | None = None

    def step(self, place: int | None, add: Score) -> _Way:
        a, b = self.score, add
        return _Way((a[0] + b[0], a[1] + b[1], a[2] + b[2], a[3] + b[3]), place, self)


_State = tuple[int, int]  # place of the longest length in use, how many of it are gone
_START: _State = (-1, 0)


def fewest_lengths(
    targets: Sequence[Target], lengths: Sequence[float], limits: Sequence[int | None]
) -> tuple[int | None, ...]:
    """Choose the fewest distinct lengths that serve as many targets as can be served.

    Args:
        targets: What each valve wants.
        lengths: Lengths in mm, growing.
        limits: How many there are of each length; None for no limit.

    Returns:
        For each target the place of its length in `lengths`, or None where it is not
        served. Exact: most served, then fewest lengths, then least total distance, then
        the longer.
    """
    rank = sorted(range(len(targets)), key=lambda i: targets[i].wanted_mm)
    ways: dict[_State, _Way] = {_START: _Way((0, 0, 0, 0))}
    for i in rank:
        ways = _next(ways, targets[i], lengths, limits)
    chosen: list[int | None] = [None] * len(targets)
    for i, place in zip(rank, _choices(min(ways.values(), key=lambda w: w.score)), strict=True):
        chosen[i] = place
    return tuple(chosen)


def one_length_each(
    targets: Sequence[Target], lengths: Sequence[float], limits: Sequence[int | None]
) -> tuple[int | None, ...]:
    """Choose one length for each of two groups of targets.

    Two groups that take different lengths don't compete for stock, so each then has its
    best length or its second best; beside those, only one length for both is left.

    Args:
        targets: What each valve wants, with the group it belongs to; two groups at most.
        lengths: Lengths in mm, growing.
        limits: How many there are of each length; None for no limit.

    Returns:
        For each target the place of its group's length, or None where that length doesn't
        serve it. Exact: most served, then least total distance, then the longer.
    """
    if not lengths:
        return (None,) * len(targets)
    groups = sorted({target.group for target in targets})
    places = range(len(lengths))

    def share(pick: Mapping[int, int]) -> tuple[Score, tuple[int | None, ...]]:
        return _share(pick, targets, lengths, limits)

    def two_best(group: int) -> list[int]:
        return sorted(places, key=lambda place: share({group: place})[0])[:2]

    picks = [*product(*map(two_best, groups)), *((place,) * len(groups) for place in places)]
    tried = [share(dict(zip(groups, pick, strict=True))) for pick in picks]
    return min(tried, key=lambda each: each[0])[1]


def _choices(way: _Way) -> list[int | None]:
    places: list[int | None] = []
    while way.before is not None:
        places.append(way.place)
        way = way.before
    return places[::-1]


def _share(
    pick: Mapping[int, int],
    targets: Sequence[Target],
    lengths: Sequence[float],
    limits: Sequence[int | None],
) -> tuple[Score, tuple[int | None, ...]]:
    chosen: list[int | None] = [None] * len(targets)
    way = _Way((0, 0, 0, 0))
    for place in sorted(set(pick.values())):
        serves = [
            i
            for i, target in enumerate(targets)
            if pick.get(target.group) == place and place in target.served
        ]
        serves.sort(key=lambda i: abs(lengths[place] - targets[i].wanted_mm))
        for i in serves[: limits[place]]:
            chosen[i] = place
            way = way.step(place, _taken(targets[i], lengths[place]))
    missed = sum(target.group in pick for target in targets) - len(targets) + chosen.count(None)
    return way.step(None, (missed, 0, 0, 0)).score, tuple(chosen)


def _next(
    ways: Mapping[_State, _Way],
    target: Target,
    lengths: Sequence[float],
    limits: Sequence[int | None],
) -> dict[_State, _Way]:
    new: dict[_State, _Way] = {}

    def keep(state: _State, way: _Way) -> None:
        if state not in new or way.score < new[state].score:
            new[state] = way

    for (place, used), way in ways.items():
        keep((place, used), way.step(None, (1, 0, 0, 0)))
        limit = None if place < 0 else limits[place]
        if place in target.served and (limit is None or used < limit):
            # Without a limit nobody need know how many are gone.
            state = (place, used if limit is None else used + 1)
            keep(state, way.step(place, _taken(target, lengths[place])))
    for place, way in _best_below(ways, sorted(target.served)):
        if limits[place] != 0:
            missed, _, distance, total = _taken(target, lengths[place])
            keep((place, 1), way.step(place, (missed, 1, distance, total)))
    return new


def _best_below(ways: Mapping[_State, _Way], places: Sequence[int]) -> Iterator[tuple[int, _Way]]:
    """Pair each place with the best way whose lengths are all shorter."""
    waiting = sorted(ways, reverse=True)
    best = ways[_START]  # nothing chosen yet is always one of the ways
    for place in places:
        while waiting and waiting[-1][0] < place:
            way = ways[waiting.pop()]
            if way.score < best.score:
                best = way
        yield place, best


def _taken(target: Target, length_mm: float) -> Score:
    away = round(abs(length_mm - target.wanted_mm) * _UNITS)
    return 0, 0, away, -round(length_mm * _UNITS)
