"""Piercing against trying every choice of points, on small circles of whole ticks."""

from __future__ import annotations

from itertools import combinations

from hypothesis import given, settings
from hypothesis import strategies as st

from heelwise.valvetrain.centring import (
    OFF_ARC,
    Shared,
    Wanted,
    deepest_points,
    most_of_all,
    settle,
    share_out,
)
from heelwise.valvetrain.covering import Cover, SeveralArcs, zones_met
from heelwise.valvetrain.piercing import Circle, SingleArcs

TICKS = 24
Arc = tuple[int, int]
arcs = st.builds(
    lambda left, half: (left, left + 2 * half), st.integers(-30, 30), st.integers(0, TICKS // 2 - 1)
)
steps = st.sampled_from([1, 1, 2, 3, 4, 6])


def inside(point: int, arc: Arc, depth: int) -> bool:
    return any(arc[0] + depth <= point + turn * TICKS <= arc[1] - depth for turn in range(-3, 4))


def fewest_by_trying(
    step: int, things: list[Arc], zones: list[list[Arc] | None], depth: int
) -> int | None:
    """Every set of things that so many points can pierce, one point more at a time."""
    pierced = {
        frozenset(
            place
            for place, (arc, own) in enumerate(zip(things, zones, strict=True))
            if inside(point, arc, depth)
            and (own is None or any(inside(point, zone, 0) for zone in own))
        )
        for point in range(0, TICKS, step)
    }
    reached: set[frozenset[int]] = {frozenset()}
    for count in range(1, len(things) + 1):
        reached = {one | other for one in reached for other in pierced}
        if any(len(each) == len(things) for each in reached):
            return count
    return None


@settings(max_examples=400, deadline=None)
@given(st.lists(arcs, min_size=1, max_size=6), steps, st.integers(0, 6))
def test_single_arcs(things: list[Arc], step: int, depth: int) -> None:
    fewest = fewest_by_trying(step, things, [None] * len(things), depth)
    if fewest is None:
        return  # Refused before by the deepest possible: see test_deepest_of_the_fewest.
    solver = SingleArcs(Circle(TICKS, step), things)
    points = solver.pierce(depth)
    assert points is not None
    assert len(points) == fewest
    assert all(point % step == 0 and 0 <= point < TICKS for point in points)
    assert all(any(inside(point, arc, depth) for point in points) for arc in things)
    assert solver.pierce(depth, fewest - 1) is None
    enough = solver.pierce(depth, fewest)
    assert enough is not None
    assert len(enough) == fewest


# Four quarters of the circle, any of them: zones that do not touch.
zone_lists = st.none() | st.lists(
    st.sampled_from([(0, 4), (6, 10), (13, 13), (18, 27 - 5)]), min_size=1, max_size=4, unique=True
)


@settings(max_examples=400, deadline=None)
@given(st.lists(st.tuples(arcs, zone_lists), min_size=1, max_size=6), steps, st.integers(0, 4))
def test_several_arcs(things: list[tuple[Arc, list[Arc] | None]], step: int, depth: int) -> None:
    own_arcs, zones = [arc for arc, _ in things], [zone for _, zone in things]
    fewest = fewest_by_trying(step, own_arcs, zones, depth)
    solver = SeveralArcs(Circle(TICKS, step), own_arcs, zones)
    points = solver.pierce(depth)
    if fewest is None:
        assert points is None
        return
    assert points is not None
    assert len(points) == fewest
    assert solver.pierce(depth, fewest - 1) is None
    assert all(point % step == 0 for point in points)
    for arc, own in things:
        assert any(
            inside(point, arc, depth)
            and (own is None or any(inside(point, zone, 0) for zone in own))
            for point in points
        )


@settings(max_examples=400, deadline=None)
@given(st.lists(st.tuples(arcs, zone_lists), min_size=1, max_size=5), steps)
def test_deepest_of_the_fewest(things: list[tuple[Arc, list[Arc] | None]], step: int) -> None:
    circle = Circle(TICKS, step)
    own_arcs, zones = [arc for arc, _ in things], [zone for _, zone in things]
    wanted = [Wanted(*arc, None if own is None else tuple(own)) for arc, own in things]
    reachable = [
        depth for depth in range(12) if fewest_by_trying(step, own_arcs, zones, depth) is not None
    ]
    most = most_of_all(circle, wanted)
    if not reachable:
        assert most is None or most < 0
        return
    assert most == max(reachable)
    found = deepest_points(circle, wanted, 0, most)
    points, depth = found.points, found.least
    assert len(points) == fewest_by_trying(step, own_arcs, zones, 0)
    counts = {deep: fewest_by_trying(step, own_arcs, zones, deep) for deep in reachable}
    assert depth == max(deep for deep, count in counts.items() if count == len(points))
    assert found == share_out(circle, wanted, points)
    for thing, mine in zip(wanted, found.owner, strict=True):
        own_depths = [thing.depth(circle, point) for point in points]
        assert own_depths[mine] == max(own_depths) >= depth
        assert own_depths.index(max(own_depths)) == mine


def test_centring_by_hand() -> None:
    circle = Circle(TICKS)
    # Common to 0..12 and 4..20 is 4..12: the middle is 8, four deep.
    assert settle(circle, [Wanted(0, 12), Wanted(4, 20)], [5]) == Shared([8], [0, 0], 4)
    # A zone ends at 6, two short of the middle.
    assert settle(circle, [Wanted(0, 12, ((2, 6),)), Wanted(4, 20)], [5]) == Shared([6], [0, 0], 2)
    assert Wanted(20, 28).depth(circle, 2) == 2
    assert Wanted(20, 28).depth(circle, 6) == OFF_ARC


def test_zones_are_met_at_both_ends_of_an_arc() -> None:
    assert zones_met(Circle(TICKS), (5, 25), [(22, 30)]) == [(-2, 6), (22, 30)]
    assert zones_met(Circle(TICKS), (7, 15), [(22, 30)]) == []


@settings(max_examples=400, deadline=None)
@given(st.lists(st.integers(0, 127), max_size=9), st.integers(0, 127))
def test_covers_against_trying_them_all(masks: list[int], everything: int) -> None:
    def covers(chosen: tuple[int, ...]) -> bool:
        union = 0
        for mask in chosen:
            union |= mask
        return everything & ~union == 0

    fewest = next(
        (n for n in range(len(masks) + 1) if any(map(covers, combinations(masks, n)))), None
    )
    chosen = Cover(masks, everything).fewest()
    if fewest is None:
        assert chosen is None
        return
    assert chosen is not None
    assert len(chosen) == fewest
    assert covers(tuple(chosen))
    if fewest:
        assert Cover(masks, everything).within(fewest - 1) is None
