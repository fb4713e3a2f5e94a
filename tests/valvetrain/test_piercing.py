"""Piercing against trying every choice of points, on small circles of whole ticks."""

from __future__ import annotations

from itertools import combinations

from hypothesis import given, settings
from hypothesis import strategies as st

from heelwise.valvetrain.piercing import Circle, cover

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


# Four quarters of the circle, any of them: zones that do not touch.
zone_lists = st.none() | st.lists(
    st.sampled_from([(0, 4), (6, 10), (13, 13), (18, 27 - 5)]), min_size=1, max_size=4, unique=True
)


@settings(max_examples=400, deadline=None)
@given(st.lists(st.tuples(arcs, zone_lists), min_size=1, max_size=5), steps)
def test_deepest_of_the_fewest(things: list[tuple[Arc, list[Arc] | None]], step: int) -> None:
    circle = Circle(TICKS, step)
    own_arcs, zones = [arc for arc, _ in things], [zone for _, zone in things]
    wanted = [
        circle.arc((left + right) // 2, (right - left) // 2, own) for (left, right), own in things
    ]
    counts = {
        depth: count
        for depth in range(12)
        if (count := fewest_by_trying(step, own_arcs, zones, depth)) is not None
    }
    depths = [circle.most_depth(each) for each in wanted]
    if not counts:
        assert any(depth is None or depth < 0 for depth in depths)
        return
    most = min(depth for depth in depths if depth is not None)
    assert most == max(counts)
    for asked in {0, most // 2, most}:
        points, owner, least = circle.deepest_points(wanted, asked)
        assert list(points) == sorted(points)
        assert all(point % step == 0 and 0 <= point < TICKS for point in points)
        assert len(points) == counts[asked]
        assert least == max(deep for deep, count in counts.items() if count == len(points))
        for (arc, own), place in zip(things, owner, strict=True):
            reached = [
                max(
                    (
                        deep
                        for deep in range(12)
                        if inside(point, arc, deep)
                        and (own is None or any(inside(point, zone, 0) for zone in own))
                    ),
                    default=-1,
                )
                for point in points
            ]
            assert reached.index(max(reached)) == place
            assert max(reached) >= least


def test_centering_by_hand() -> None:
    # Common to 0..12 and 4..20 is 4..12: the middle is 8, four deep.
    circle = Circle(TICKS)
    other = circle.arc(12, 8)
    assert circle.deepest_points([circle.arc(6, 6), other], 0) == ([8], [0, 0], 4)
    # A zone ends at 6, two short of the middle.
    assert circle.deepest_points([circle.arc(6, 6, [(2, 6)]), other], 0) == ([6], [0, 0], 2)


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
    chosen = cover(masks, everything)
    if fewest is None:
        assert chosen is None
        return
    assert chosen is not None
    assert len(chosen) == fewest
    assert covers(tuple(chosen))
    if fewest:
        assert cover(masks, everything, fewest - 1) is None
