"""The fewest points of a circle that pierce every arc, and of those the deepest.

Counted in whole ticks, so that every comparison is exact. A point lies *deep* in an arc by its
distance from the nearer end; zones restrict an arc and are not shrunk by depth. Which of several
equally good answers is given is part of every record's plan: don't change it.
"""

from bisect import bisect_right
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass
from functools import cache, partial, reduce
from itertools import accumulate
from operator import or_
from typing import NamedTuple


class Piece(NamedTuple):
    """Where points may lie for an arc, from `low` to `high`, within half a circle of its middle."""

    middle: int
    half: int
    low: int
    high: int


_Held = tuple[int, int, int, int]
"""The ends of an arc and of a piece of it, counted on from a point that the piece holds."""

Arc = Sequence[Piece]
"""An arc to be pierced, by its pieces."""

_Pierce = Callable[[int, int | None], list[int] | None]
"""Points that pierce everything so deep: the fewest, or any up to so many; None if there are none.
"""

Pierced = tuple[Sequence[int], list[int], int]
"""Points, growing; for each arc the place of its point in them; the least depth of all."""


@dataclass(frozen=True)
class Circle:
    """A circle of whole ticks, an even number; points lie on multiples of a divisor, `step`."""

    ticks: int
    step: int = 1

    def down(self, place: int) -> int:
        """The last allowed point at or before a place."""
        return place // self.step * self.step

    def arc(self, middle: int, half: int, zones: Iterable[tuple[int, int]] | None = None) -> Arc:
        """An arc by its middle and half its length, below 0 for none.

        Points must lie in one of its zones, which don't touch each other; None for anywhere.
        """
        first, last = middle - self.ticks // 2, middle + self.ticks // 2
        if zones is None:
            return [Piece(middle, half, first, last)]
        pieces = []
        for begin, end in zones:
            start = first - (first - begin) % self.ticks
            for lap in (start, start + self.ticks):
                low, high = max(lap, first), min(lap + end - begin, last)
                if low <= high:
                    pieces.append(Piece(middle, half, low, high))
        return pieces

    def most_depth(self, arc: Arc) -> int | None:
        """The deepest an allowed point can lie, negative off the arc; None if none is allowed."""
        depths = [
            half - abs(point - middle)
            for middle, half, low, high in arc
            for nearest in (min(max(middle, low), high),)
            for point in (self.down(nearest), -self.down(-nearest))
            if low <= point <= high
        ]
        return max(depths, default=None)

    def deepest_points(self, arcs: Sequence[Arc], asked: int) -> Pierced:
        """The fewest points that pierce everything `asked` deep, which can be done, deepest."""
        whole = all(len(arc) == 1 and arc[0].high - arc[0].low == self.ticks for arc in arcs)
        pierce = self._whole_piercer(arcs) if whole else partial(self._pierce, arcs)
        points = pierce(asked, None)
        while points is not None:
            best = self._centered(arcs, points)
            points = pierce(best[2] + 1, len(points))
        return best

    def _pierce(self, arcs: Sequence[Arc], depth: int, most: int | None) -> list[int] | None:
        spans = []
        for place, arc in enumerate(arcs):
            for middle, half, low, high in arc:
                first = -self.down(-max(low, middle - half + depth))
                last = self.down(min(high, middle + half - depth))
                if first <= last:
                    spans.append((last % self.ticks, last - first, 1 << place))
        # A point can always be moved on to where the first of the arcs it pierces ends.
        places: dict[int, int] = {}
        for point in sorted({last for last, _, _ in spans}):
            mask = reduce(
                or_, (bit for last, size, bit in spans if (last - point) % self.ticks <= size)
            )
            places.setdefault(mask, point)
        chosen = cover(places, (1 << len(arcs)) - 1, most)
        return None if chosen is None else [places[mask] for mask in chosen]

    def _whole_piercer(self, arcs: Sequence[Arc]) -> _Pierce:
        """The same without zones, quicker.

        A point lies in the shortest arc, at some arc's end; from there the nearest end of the arcs
        not yet pierced, again and again, is best for the rest of the circle.
        """
        begun = sorted(((a.middle - a.half) % self.ticks, 2 * a.half) for (a,) in arcs)
        # From a turn before to two after: shrinking moves an arc's beginning forward.
        turns = [(left + turn * self.ticks, size) for turn in range(-1, 3) for left, size in begun]
        lefts = [left for left, _ in turns]
        # The nearest right end of all arcs from here on.
        nearest = list(accumulate((left + size for left, size in reversed(turns)), min))[::-1]
        shortest, span = min(begun, key=lambda arc: (arc[1], arc[0]))

        def pierce(depth: int, most: int | None) -> list[int] | None:
            first, last = -self.down(-shortest - depth), self.down(shortest + span - depth)
            ends = (self.down(left + size - depth) for left, size in begun)
            best = None
            for start in sorted({first + (end - first) % self.ticks for end in ends}):
                if start > last:
                    break
                point, points = start % self.ticks, list[int]()
                full_turn = point + self.ticks
                while point < full_turn and len(points) != most:
                    points.append(point % self.ticks)
                    point = self.down(nearest[bisect_right(lefts, point - depth)] - depth)
                if point >= full_turn:
                    best, most = points, len(points) - 1
            return best

        return pierce

    def _centered(self, arcs: Sequence[Arc], points: Sequence[int]) -> Pierced:
        """Center points in what each pierces deepest, until nothing moves; never less deep."""
        ticks, moved, points, tries = self.ticks, sorted(points), [], len(arcs) + 1
        while moved != points and tries:
            points, tries = moved, tries - 1
            groups, owner, least = [list[_Held]() for _ in points], list[int](), ticks
            for arc in arcs:
                deepest = -1
                for place, point in enumerate(points):
                    for middle, half, low, high in arc:
                        at = low + (point - low) % ticks
                        depth = half - abs(at - middle)
                        if depth > deepest and at <= high:
                            deepest, own, past = depth, place, point - at
                            ends = past + middle - half, past + middle + half
                            held = *ends, past + low, past + high
                owner.append(own)
                groups[own].append(held)
                least = min(least, deepest)
            moved = sorted(map(self._center, groups, points))
        return points, owner, least

    def _center(self, group: Sequence[_Held], point: int) -> int:
        """The deepest point for the pieces that hold a point; the same for none."""
        if not group:
            return point
        lefts, rights, lows, highs = zip(*group, strict=True)
        left, right, low, high = max(lefts), min(rights), max(lows), min(highs)
        nearest = min(max((left + right) // 2, low), high)
        choices = [p for p in (self.down(nearest), -self.down(-nearest)) if low <= p <= high]
        return max([*choices, point], key=lambda p: min(p - left, right - p)) % self.ticks


def cover(masks: Collection[int], everything: int, most: int | None = None) -> list[int] | None:
    """The fewest sets (the bits of masks) that cover everything, or any number up to `most`."""
    kept: list[int] = []
    for mask in sorted(masks, key=lambda mask: (-mask.bit_count(), mask)):
        if not any(mask & other == mask for other in kept):
            kept.append(mask)
    bits = [1 << place for place in range(everything.bit_length())]
    having = {bit: [mask for mask in kept if mask & bit] for bit in bits}
    neighbors = {bit: reduce(or_, some, 0) for bit, some in having.items()}
    # Hardest to cover first: fewest sets, then fewest neighbors.
    order = sorted(bits, key=lambda bit: (len(having[bit]), neighbors[bit].bit_count()))

    @cache
    def search(left: int, most: int) -> list[int] | None:
        if not left or not most:
            return None if left else []
        hardest = next(bit for bit in order if left & bit)
        for mask in sorted(having[hardest], key=lambda mask: (left & ~mask).bit_count()):
            chosen = search(left & ~mask, most - 1)
            if chosen is not None:
                return [mask, *chosen]
        return None

    counts = range(len(bits) + 1) if most is None else [most]
    return next((c for count in counts if (c := search(everything, count)) is not None), None)
