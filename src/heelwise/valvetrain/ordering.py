"""Exact choice of lengths for many valves: few lengths first, then near what each wants.

Why one pass over the sorted valves is exact. Every valve is served by the lengths of an interval
around the one it wants. Take any choice in which a valve that wants less, a ≤ b, got the longer of
two lengths, x > y: a has x and b has y. If x < b, it lies between y and b, so b may have x too. If
not, and b may not have x, then a's interval reaches further from a than b's from b, on both sides,
so a may have y too. With intervals equally wide both may change over, and
|a - y| + |b - x| ≤ |a - x| + |b - y|, since the distance on a line is convex. So some choice with
the fewest lengths gives growing lengths to growing wants, and each length a run of valves: that is
all the pass has to look through. The tests compare it with every possible choice on small sets.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product

Score = tuple[int, int, int, int]
"""Valves missed, distinct lengths, total distance, total length (negative): less is better."""

_UNITS = 10**9  # whole 1e-9 mm, so that equal distances compare equal


@dataclass(frozen=True)
class Target:
    """The length one valve wants in mm, the places of the lengths that serve it, its group.

    `chances`: the chance that counts for a length, by place; 1 where it isn't given.
    """

    wanted_mm: float
    served: frozenset[int]
    group: int = 0
    chances: Mapping[int, float] = field(default_factory=dict)


@dataclass(frozen=True)
class _Path:
    """How far a choice has come: its score, its last choice, and the path before it."""

    score: Score
    place: int | None = None
    before: _Path | None = None

    def step(self, place: int | None, add: Score) -> _Path:
        a, b = self.score, add
        return _Path((a[0] + b[0], a[1] + b[1], a[2] + b[2], a[3] + b[3]), place, self)


_State = tuple[int, int]  # place of the longest length in use, how many of it are gone
_START: _State = (-1, 0)


def fewest_lengths(
    targets: Sequence[Target], lengths: Sequence[float], limits: Sequence[int | None]
) -> tuple[int | None, ...]:
    """For each target the place of its length, or None where it is not served.

    Most served, then fewest distinct lengths, then least total distance, then the longer. `lengths`
    grow; `limits` are how many there are of each, None for no limit.
    """
    rank = sorted(range(len(targets)), key=lambda i: targets[i].wanted_mm)
    paths: dict[_State, _Path] = {_START: _Path((0, 0, 0, 0))}
    for i in rank:
        paths = _next(paths, targets[i], lengths, limits)
    path: _Path | None = min(paths.values(), key=lambda each: each.score)
    chosen: list[int | None] = [None] * len(targets)
    for i in reversed(rank):
        assert path is not None
        chosen[i], path = path.place, path.before
    return tuple(chosen)


def one_length_each(
    targets: Sequence[Target], lengths: Sequence[float], limits: Sequence[int | None]
) -> tuple[int | None, ...]:
    """For each target the place of its group's length, or None where that doesn't serve it.

    Most served, then the best worst chance, then least total distance, then the longer.
    """
    options: dict[int, set[int]] = {}
    for target in targets:
        options.setdefault(target.group, set()).update(target.served)
    some = {group: sorted(places) for group, places in options.items() if places}
    picks = [dict(zip(some, pick, strict=True)) for pick in product(*some.values())]
    return min((_share(pick, targets, lengths, limits) for pick in picks), key=lambda s: s[0])[1]


_Worst = tuple[int, float, int, int]


def _share(
    pick: Mapping[int, int],
    targets: Sequence[Target],
    lengths: Sequence[float],
    limits: Sequence[int | None],
) -> tuple[_Worst, tuple[int | None, ...]]:
    chosen: list[int | None] = [None] * len(targets)
    worst, distance, total = 1.0, 0, 0
    for place in sorted(set(pick.values())):
        serves = [
            i
            for i, target in enumerate(targets)
            if pick.get(target.group) == place and place in target.served
        ]
        serves.sort(key=lambda i: abs(lengths[place] - targets[i].wanted_mm))
        for i in serves[: limits[place]]:
            chosen[i] = place
            worst = min(worst, targets[i].chances.get(place, 1.0))
            _, _, away, length = _taken(targets[i], lengths[place])
            distance, total = distance + away, total + length
    return (chosen.count(None), -worst, distance, total), tuple(chosen)


def _next(
    paths: Mapping[_State, _Path],
    target: Target,
    lengths: Sequence[float],
    limits: Sequence[int | None],
) -> dict[_State, _Path]:
    new: dict[_State, _Path] = {}

    def keep(state: _State, path: _Path) -> None:
        if state not in new or path.score < new[state].score:
            new[state] = path

    for (place, used), path in paths.items():
        keep((place, used), path.step(None, (1, 0, 0, 0)))
        limit = None if place < 0 else limits[place]
        if place in target.served and (limit is None or used < limit):
            # Without a limit nobody need know how many are gone.
            state = (place, used if limit is None else used + 1)
            keep(state, path.step(place, _taken(target, lengths[place])))
    for place, path in _best_below(paths, sorted(target.served)):
        if limits[place] != 0:
            missed, _, distance, total = _taken(target, lengths[place])
            keep((place, 1), path.step(place, (missed, 1, distance, total)))
    return new


def _best_below(
    paths: Mapping[_State, _Path], places: Sequence[int]
) -> Iterator[tuple[int, _Path]]:
    waiting = sorted(paths, reverse=True)
    best = paths[_START]  # nothing chosen yet is always one of the paths
    for place in places:
        while waiting and waiting[-1][0] < place:
            path = paths[waiting.pop()]
            if path.score < best.score:
                best = path
        yield place, best


def _taken(target: Target, length_mm: float) -> Score:
    away = round(abs(length_mm - target.wanted_mm) * _UNITS)
    return 0, 0, away, -round(length_mm * _UNITS)
