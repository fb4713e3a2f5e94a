"""The fewest points of a circle that pierce every arc, and of those the deepest.

Counted in whole ticks, so that every comparison is exact. A point lies *deep* in an arc by its
distance from the nearer end; zones restrict an arc and are not shrunk by depth. Which of several
equally good answers is given is part of every record's plan: don't change it.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache, reduce
from itertools import accumulate
from operator import or_

Span = tuple[int, int]
"""Beginning and end in ticks, the end not before the beginning."""

_FINEST = 1_000_000_000  # a billionth of a degree counts


@dataclass(frozen=True)
class Circle:
    """A circle of whole ticks; points may lie only on multiples of `step`, which divides it.

    `each`: ticks to a billionth of a degree.
    """

    ticks: int
    step: int = 1
    each: int = 1

    @classmethod
    def of_degrees(cls, cycle_deg: float, marks: int | None) -> Circle:
        """Ticks even at every billionth of a degree and whole at every one of so many marks."""
        each = 2 * (marks or 1)
        ticks = round(cycle_deg * _FINEST) * each
        return cls(ticks, 1 if marks is None else ticks // marks, each)

    def place(self, deg: float) -> int:
        """Degrees in ticks."""
        return round(deg * _FINEST) * self.each

    def degrees(self, place: int) -> float:
        """Ticks in degrees."""
        return round(place / (self.each * _FINEST), 9)

    def up(self, place: int) -> int:
        """The first allowed point at or after a place."""
        return -(-place // self.step) * self.step

    def down(self, place: int) -> int:
        """The last allowed point at or before a place."""
        return place // self.step * self.step


@dataclass(frozen=True)
class Wanted:
    """An arc to be pierced: `right - left` is even and below a full circle; below 0, no arc.

    Points for it must lie in one of its zones, which do not touch each other; None for anywhere.
    """

    left: int
    right: int
    zones: tuple[Span, ...] | None = None

    def pieces(self, circle: Circle, depth: int) -> Iterator[Span]:
        """Where allowed points lie at least so deep, counted on from the arc's beginning.

        A negative depth reaches out of the arc, at most to half a circle from its middle.
        """
        left, right = self.left + depth, self.right - depth
        for begin, end in self.zones if self.zones is not None else ((left, right),):
            begun = left - (left - begin) % circle.ticks
            for start in (begun, begun + circle.ticks):
                first = circle.up(max(left, start))
                last = circle.down(min(right, start + end - begin))
                if first <= last:
                    yield first, last

    def depth(self, circle: Circle, point: int) -> int:
        """How deep an allowed point lies; -1 off the arc or out of its zones."""
        past = (point - self.left) % circle.ticks
        if self.zones is not None and not any(
            (point - begin) % circle.ticks <= end - begin for begin, end in self.zones
        ):
            return -1
        left = self.right - self.left - past
        return past if past < left else left if left > -1 else -1

    def most_depth(self, circle: Circle) -> int | None:
        """The deepest an allowed point can lie, negative off the arc; None if none is allowed."""
        middle = (self.left + self.right) // 2
        half = middle - self.left
        if self.zones is None and circle.step == 1:
            return half
        outmost = half - circle.ticks // 2
        depths = [
            half - abs(point - middle)
            for first, last in self.pieces(circle, outmost)
            for nearest in (min(max(middle, first), last),)
            for point in (circle.down(nearest), circle.up(nearest))
            if first <= point <= last
        ]
        return max(depths, default=None)


Pierced = tuple[Sequence[int], list[int], int]
"""Points, growing; for each arc the place of its point in them; the least depth of all."""


def deepest_points(circle: Circle, wanted: Sequence[Wanted], asked: int, most: int) -> Pierced:
    """The fewest points that pierce everything `asked` deep, and of those plans the deepest.

    `most`: the deepest everything can be pierced, no less than `asked`.
    """
    pierce = _piercer(circle, wanted)
    points = pierce(asked, None)
    assert points is not None
    best = _centered(circle, wanted, points)
    low, high = best[2], most
    # Bisection over whole ticks is exact. Centering jumps to the next depth that can be the
    # answer, so that one more tick is asked first: a refusal ends the search.
    certify = True
    while low < high:
        depth = low + 1 if certify else (low + high + 1) // 2
        points = pierce(depth, len(best[0]))
        if points is None:
            high = depth - 1
        else:
            best = _centered(circle, wanted, points)
            low = best[2]
        certify = not certify
    return best


_Pierce = Callable[[int, int | None], list[int] | None]
"""Points that pierce everything so deep: the fewest, or any up to so many; None if there are none.
"""


def _piercer(circle: Circle, wanted: Sequence[Wanted]) -> _Pierce:
    if all(arc.zones is None for arc in wanted):
        return _arc_piercer(circle, wanted)

    def pierce(depth: int, most: int | None) -> list[int] | None:
        points = _candidates(circle, wanted, depth)
        chosen = cover(points.values(), (1 << len(wanted)) - 1, most)
        if chosen is None:
            return None
        places = {mask: point for point, mask in reversed(points.items())}
        return [places[mask] for mask in chosen]

    return pierce


def _arc_piercer(circle: Circle, wanted: Sequence[Wanted]) -> _Pierce:
    """Without zones: a point lies in the shortest arc, at some arc's end; from there the nearest
    end of the arcs not yet pierced, again and again, is best for the rest of the circle."""
    begun = sorted((arc.left % circle.ticks, arc.right - arc.left) for arc in wanted)
    # From a turn before to two after: shrinking moves an arc's beginning forward.
    turns = [(left + turn * circle.ticks, span) for turn in range(-1, 3) for left, span in begun]
    lefts = [left for left, _ in turns]
    # The nearest right end of all arcs from here on.
    nearest = list(accumulate((left + span for left, span in reversed(turns)), min))[::-1]
    shortest, span = min(begun, key=lambda arc: (arc[1], arc[0]))

    def pierce(depth: int, most: int | None) -> list[int] | None:
        first, last = circle.up(shortest + depth), circle.down(shortest + span - depth)
        ends = (circle.down(left + span - depth) for left, span in begun)
        best, limit = None, most
        for start in sorted({first + (end - first) % circle.ticks for end in ends}):
            if start > last:
                break
            point = start % circle.ticks
            full_turn = point + circle.ticks
            points: list[int] = []
            while point < full_turn and len(points) != limit:
                points.append(point % circle.ticks)
                # Only allowed points count, so an arc begins after this one exactly when its
                # shrunk left end does, moved up to an allowed point or not.
                point = circle.down(nearest[bisect_right(lefts, point - depth)] - depth)
            if point < full_turn:
                continue
            if most is not None:
                return points
            best, limit = points, len(points) - 1
        return best

    return pierce


def _candidates(circle: Circle, wanted: Sequence[Wanted], depth: int) -> dict[int, int]:
    """Points worth considering, with the arcs each pierces.

    Between two neighboring ends with no beginning between them, the earlier pierces all that the
    later does: only an end that follows a beginning counts.
    """
    inside = 0
    events = []
    for place, arc in enumerate(wanted):
        for begin, end in arc.pieces(circle, depth):
            last = begin % circle.ticks + end - begin
            if last >= circle.ticks:
                inside |= 1 << place
                last -= circle.ticks
            events += [(begin % circle.ticks, 0, place), (last, 1, place)]
    candidates = {}
    begun = True
    for point, ends, place in sorted(events):
        if not ends:
            inside |= 1 << place
            begun = True
            continue
        if begun:
            candidates[point] = inside
            begun = False
        inside &= ~(1 << place)
    return candidates


def cover(masks: Iterable[int], everything: int, most: int | None = None) -> list[int] | None:
    """The fewest sets (the bits of masks) that cover everything, or any number up to `most`."""
    kept: list[int] = []
    for mask in sorted(set(masks), key=lambda mask: (-mask.bit_count(), mask)):
        if not any(mask & other == mask for other in kept):
            kept.append(mask)
    bits = [1 << place for place in range(everything.bit_length())]
    having = {bit: [mask for mask in kept if mask & bit] for bit in bits}
    neighbors = {bit: reduce(or_, some, 0) for bit, some in having.items()}
    # Hardest to cover first: fewest sets, then fewest neighbors.
    order = sorted(bits, key=lambda bit: (len(having[bit]), neighbors[bit].bit_count(), bit))

    def at_least(left: int) -> int:
        # Bits of which no set holds two need a set each.
        count = 0
        for bit in order:
            if left & bit:
                count += 1
                left &= ~neighbors[bit]
        return count

    @cache
    def search(left: int, most: int) -> list[int] | None:
        if not left or at_least(left) > most:
            return None if left else []
        hardest = next(bit for bit in order if left & bit)
        for mask in sorted(having[hardest], key=lambda mask: (left & ~mask).bit_count()):
            chosen = search(left & ~mask, most - 1)
            if chosen is not None:
                return [mask, *chosen]
        return None

    counts = [most] if most is not None else range(at_least(everything), len(bits) + 1)
    return next((c for count in counts if (c := search(everything, count)) is not None), None)


def _centered(circle: Circle, wanted: Sequence[Wanted], points: Sequence[int]) -> Pierced:
    """Center points in what each pierces deepest, until nothing moves; never less deep."""
    moved, points, tries = sorted(points), [], len(wanted) + 1
    while moved != points and tries:
        points, tries = moved, tries - 1
        depths = [[arc.depth(circle, point) for point in points] for arc in wanted]
        owner = [each.index(max(each)) for each in depths]
        moved = list(points)
        for place, point in enumerate(points):
            group = [arc for arc, own in zip(wanted, owner, strict=True) if own == place]
            moved[place] = _deepest(circle, group, point) if group else point
        moved.sort()
    return points, owner, min(map(max, depths))


def _deepest(circle: Circle, group: Sequence[Wanted], point: int) -> int:
    left, right = point - circle.ticks, point + circle.ticks
    low, high = left, right
    for arc in group:
        past = (point - arc.left) % circle.ticks
        left = max(left, point - past)
        right = min(right, point - past + arc.right - arc.left)
        for begin, end in arc.zones or ():
            inside = (point - begin) % circle.ticks
            if inside <= end - begin:
                low, high = max(low, point - inside), min(high, point - inside + end - begin)
    middle = min(max((left + right) // 2, low), high)
    choices = [p for p in (circle.down(middle), circle.up(middle)) if low <= p <= high]
    return max([*choices, point], key=lambda p: min(p - left, right - p)) % circle.ticks
