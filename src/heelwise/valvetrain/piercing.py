"""The fewest points of a circle that pierce every arc, and how far inside they can lie.

Everything is counted in whole ticks of the circle, so that every comparison is exact: no grid,
no tolerance. A point lies *deep* in an arc by its distance from the nearer end; the depth asked
for shrinks every arc by as much at each end.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate


@dataclass(frozen=True)
class Circle:
    """A circle of whole ticks.

    Attributes:
        ticks: its length.
        step: points may lie only on multiples of it; it divides ``ticks``.
    """

    ticks: int
    step: int = 1

    def up(self, place: int) -> int:
        """The first allowed point at or after a place."""
        return -(-place // self.step) * self.step

    def down(self, place: int) -> int:
        """The last allowed point at or before a place."""
        return place // self.step * self.step


class SingleArcs:
    """Arcs of one circle, one for each thing to be pierced, shrunk alike at every end.

    Args:
        circle: the circle.
        arcs: beginning and end of each, in ticks; the end is not before the beginning and less
            than once round from it.
    """

    def __init__(self, circle: Circle, arcs: Sequence[tuple[int, int]]) -> None:
        self._circle = circle
        begun = sorted((left % circle.ticks, right - left) for left, right in arcs)
        # From a turn before to two after: shrinking moves an arc's beginning forward.
        turns = [
            (left + turn * circle.ticks, span) for turn in range(-1, 3) for left, span in begun
        ]
        self._lefts = [left for left, _ in turns]
        # The nearest right end of all arcs from here on: shrinking moves all alike, so it is
        # worked out once.
        backwards = (left + span for left, span in reversed(turns))
        self._nearest = list(accumulate(backwards, min))[::-1]
        self._rights = [left + span for left, span in begun]
        # One point must lie in the shortest arc: the search begins there.
        left, span = min(begun, key=lambda arc: (arc[1], arc[0]))
        self._shortest = (left, left + span)

    def pierce(self, depth: int, most: int | None = None) -> list[int] | None:
        """Find points that pierce every arc at least so deep.

        Pushed in the direction of growing angle, each point of a best answer stops at the end
        of some arc; from such a start in the shortest arc, taking the nearest end of the arcs
        not yet pierced again and again is best for the rest of the circle.

        Args:
            depth: ticks from the nearer end of every arc, 0 or more.
            most: points allowed; None for the fewest.

        Returns:
            The fewest points, or any number up to ``most``, in ticks; None if there are none.
        """
        best: list[int] | None = None
        limit = most
        for start in self._starts(depth):
            points = self._walk(start, depth, limit)
            if points is None:
                continue
            if most is not None:
                return points
            best, limit = points, len(points) - 1
        return best

    def _starts(self, depth: int) -> list[int]:
        circle = self._circle
        first = circle.up(self._shortest[0] + depth)
        last = circle.down(self._shortest[1] - depth)
        starts = set()
        for right in self._rights:
            point = circle.down(right - depth)
            point = first + (point - first) % circle.ticks
            if point <= last:
                starts.add(point)
        return sorted(starts)

    def _walk(self, start: int, depth: int, most: int | None) -> list[int] | None:
        circle, lefts, nearest = self._circle, self._lefts, self._nearest
        point = start % circle.ticks
        full_turn = point + circle.ticks
        points: list[int] = []
        while point < full_turn:
            if len(points) == most:
                return None
            points.append(point % circle.ticks)
            # Only allowed points count, so an arc begins after this one exactly when its
            # shrunk left end does, moved up to an allowed point or not.
            arc = bisect_right(lefts, point - depth)
            point = circle.down(nearest[arc] - depth)
        return points
