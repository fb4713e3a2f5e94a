"""Exact choice of lengths for many valves: few lengths first, then near what each wants.

One pass over the sorted valves is exact. Each is served by lengths of an interval around the one
it wants. Where of two valves a ≤ b the first got the longer of two lengths, they can change, or
one length can serve both, with no more lengths and no more distance in all. So some best choice
gives growing lengths to growing wants, each length to a run of valves.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

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


_Path = tuple[Score, tuple[int | None, ...]]
"""How far a choice has come: its score, and the places chosen."""

_State = tuple[int, int]  # place of the longest length in use, how many of it are gone
_START: _State = (-1, 0)


def fewest_lengths(
    targets: Sequence[Target], lengths: Sequence[float], limits: Sequence[int | None]
) -> tuple[int | None, ...]:
    """For each target the place of its length, or None where it is not served.

    Most served, then fewest distinct lengths, then least total distance, then the longer. `limits`:
    how many there are of each length, None for no limit.
    """
    rank = sorted(range(len(targets)), key=lambda i: targets[i].wanted_mm)
    paths: dict[_State, _Path] = {_START: ((0, 0, 0, 0), ())}
    for i in rank:
        paths = _next(paths, targets[i], lengths, limits)
    _, places = min(paths.values(), key=lambda path: path[0])
    chosen = dict(zip(rank, places, strict=True))
    return tuple(chosen[i] for i in range(len(targets)))


def one_length_each(
    targets: Sequence[Target], lengths: Sequence[float], limits: Sequence[int | None]
) -> tuple[int | None, ...]:
    """For each target the place of its group's length, or None where that doesn't serve it.

    Most served, then the best worst chance, then least total distance, then the longer; the first
    group takes its share of a limit first.
    """
    chosen: list[int | None] = [None] * len(targets)
    for group in sorted({target.group for target in targets}):
        picks = []
        for place in {place for t in targets if t.group == group for place in t.served}:
            of = [i for i, t in enumerate(targets) if t.group == group and place in t.served]
            of.sort(key=lambda i: abs(lengths[place] - targets[i].wanted_mm))
            limit = limits[place]
            of = of[: None if limit is None else limit - chosen.count(place)]
            worst = min((targets[i].chances.get(place, 1.0) for i in of), default=1.0)
            away = sum(_taken(targets[i], lengths[place])[0] for i in of)
            picks.append((-len(of), -worst, away, -lengths[place], place, of))
        for *_, place, of in sorted(picks)[:1]:
            for i in of:
                chosen[i] = place
    return tuple(chosen)


def _next(
    paths: Mapping[_State, _Path],
    target: Target,
    lengths: Sequence[float],
    limits: Sequence[int | None],
) -> dict[_State, _Path]:
    new: dict[_State, _Path] = {}

    def keep(state: _State, path: _Path, place: int | None, add: Score) -> None:
        missed, distinct, away, total = (a + b for a, b in zip(path[0], add, strict=True))
        score = missed, distinct, away, total
        if state not in new or score < new[state][0]:
            new[state] = score, (*path[1], place)

    for (place, used), path in paths.items():
        keep((place, used), path, None, (1, 0, 0, 0))
        limit = None if place < 0 else limits[place]
        if place in target.served and (limit is None or used < limit):
            # Without a limit nobody need know how many are gone.
            state = (place, used if limit is None else used + 1)
            keep(state, path, place, (0, 0, *_taken(target, lengths[place])))
    waiting = sorted(paths, reverse=True)
    best = paths[_START]  # nothing chosen yet is always one of the paths
    for place in sorted(target.served):
        while waiting and waiting[-1][0] < place:
            best = min(best, paths[waiting.pop()], key=lambda path: path[0])
        if limits[place] != 0:
            keep((place, 1), best, place, (0, 1, *_taken(target, lengths[place])))
    return new


def _taken(target: Target, length_mm: float) -> tuple[int, int]:
    away = round(abs(length_mm - target.wanted_mm) * _UNITS)
    return away, -round(length_mm * _UNITS)
