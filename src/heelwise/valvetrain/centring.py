"""Points of a circle put as deep as can be into what they pierce, and the deepest plan of all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from heelwise.valvetrain.covering import SeveralArcs, zones_met
from heelwise.valvetrain.piercing import Circle, SingleArcs

OFF_ARC = -1


@dataclass(frozen=True)
class Shared:
    """Points, and which of them each thing is given.

    Attributes:
        points: in ticks, growing.
        owner: for each thing the place of its point in ``points``.
        least: the least depth of any thing in its point.
    """

    points: Sequence[int]
    owner: list[int]
    least: int


@dataclass(frozen=True)
class Wanted:
    """One thing to be pierced.

    Attributes:
        left: where its arc begins, in ticks.
        right: where it ends; ``right - left`` is even, below a full circle, and below 0 if the
            arc is less than nothing.
        zones: where points for it may lie, beginning and end of each; anywhere if None.
    """

    left: int
    right: int
    zones: tuple[tuple[int, int], ...] | None = None

    def depth(self, circle: Circle, point: int) -> int:
        """How deep a point lies; ``OFF_ARC`` off the arc or out of its zones."""
        past = (point - self.left) % circle.ticks
        depth = min(past, self.right - self.left - past)
        if depth < 0 or (self.zones is not None and not self._in_zone(circle, point)):
            return OFF_ARC
        return depth

    def _in_zone(self, circle: Circle, point: int) -> bool:
        return any((point - begin) % circle.ticks <= end - begin for begin, end in self.zones or ())

    def most_depth(self, circle: Circle) -> int | None:
        """The deepest an allowed point can lie, negative off the arc; None if none is allowed."""
        half = (self.right - self.left) // 2
        middle = self.left + half
        if self.zones is None:
            return half - min(middle - circle.down(middle), circle.up(middle) - middle)
        around = (middle - circle.ticks // 2, middle + circle.ticks // 2)
        depths = []
        for begin, end in zones_met(circle, around, self.zones):
            nearest = min(max(middle, begin), end)
            depths += [
                half - abs(point - middle)
                for point in (circle.down(nearest), circle.up(nearest))
                if begin <= point <= end
            ]
        return max(depths, default=None)


def share_out(circle: Circle, wanted: Sequence[Wanted], points: Sequence[int]) -> Shared:
    """Give each thing the point that lies deepest in it.

    Args:
        circle: the circle.
        wanted: the things.
        points: points, in ticks.

    Returns:
        The points shared out; of two equally deep the earlier.
    """
    owner, reached = [], []
    for thing in wanted:
        depths = [thing.depth(circle, point) for point in points]
        deepest = max(depths)
        owner.append(depths.index(deepest))
        reached.append(deepest)
    return Shared(points, owner, min(reached))


def centre(circle: Circle, group: Sequence[Wanted], point: int) -> int:
    """Move a point as deep as can be into all of a group it pierces.

    Args:
        circle: the circle.
        group: things that the point pierces, at least one.
        point: the point, in ticks.

    Returns:
        The deepest allowed point of the arc they have in common around it, in ticks.
    """
    left, right = point - circle.ticks, point + circle.ticks
    low, high = left, right
    for thing in group:
        past = (point - thing.left) % circle.ticks
        left = max(left, point - past)
        right = min(right, point - past + thing.right - thing.left)
        for begin, end in thing.zones or ():
            inside = (point - begin) % circle.ticks
            if inside <= end - begin:
                low, high = max(low, point - inside), min(high, point - inside + end - begin)
    middle = min(max((left + right) // 2, low), high)
    choices = [p for p in (circle.down(middle), circle.up(middle)) if low <= p <= high]
    return max([*choices, point], key=lambda p: min(p - left, right - p)) % circle.ticks


def settle(circle: Circle, wanted: Sequence[Wanted], points: Sequence[int]) -> Shared:
    """Centre points in what each pierces deepest, until nothing moves.

    Args:
        circle: the circle.
        wanted: the things, each pierced by a point.
        points: points, in ticks.

    Returns:
        The points, each thing given the one that lies deepest in it; the least depth is never
        less than before.
    """
    shared = share_out(circle, wanted, sorted(points))
    for _ in range(len(wanted)):
        groups: list[list[Wanted]] = [[] for _ in points]
        for thing, place in zip(wanted, shared.owner, strict=True):
            groups[place].append(thing)
        moved = sorted(
            centre(circle, group, point) if group else point
            for group, point in zip(groups, shared.points, strict=True)
        )
        if moved == shared.points:
            break
        shared = share_out(circle, wanted, moved)
    return shared


def most_of_all(circle: Circle, wanted: Sequence[Wanted]) -> int | None:
    """The deepest everything can be pierced; None if something has no allowed point at all."""
    depths = [thing.most_depth(circle) for thing in wanted]
    known = [depth for depth in depths if depth is not None]
    return min(known) if len(known) == len(depths) else None


def deepest_points(circle: Circle, wanted: Sequence[Wanted], asked: int, most: int) -> Shared:
    """The fewest points that pierce everything so deep, and of those plans the deepest.

    Args:
        circle: the circle.
        wanted: the things; each can be pierced ``asked`` deep.
        asked: ticks, 0 or more.
        most: the deepest everything can be pierced, as ``most_of_all`` gives it.

    Returns:
        The points, shared out.

    Raises:
        ValueError: something cannot be pierced so deep.
    """
    arcs = [(thing.left, thing.right) for thing in wanted]
    zones = [thing.zones for thing in wanted]
    solver = SeveralArcs(circle, arcs, zones) if any(zones) else SingleArcs(circle, arcs)
    found = solver.pierce(asked)
    if found is None:
        raise ValueError("something cannot be pierced so deep")
    best = settle(circle, wanted, found)
    # Bisection over whole ticks is exact. Centring jumps to the next depth that can be the
    # answer, so that one more tick is asked first: a refusal ends the search.
    low, high = best.least, most
    certify = True
    while low < high:
        probe = low + 1 if certify else (low + high + 1) // 2
        found = solver.pierce(probe, len(best.points))
        if found is None:
            high = probe - 1
        else:
            best = settle(circle, wanted, found)
            low = max(probe, best.least)
        certify = not certify
    return best
