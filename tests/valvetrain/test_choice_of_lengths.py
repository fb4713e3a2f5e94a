"""The one-pass choice against every possible choice."""

from collections import Counter
from collections.abc import Sequence
from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st

from heelwise.valvetrain.pushrods import fewest_lengths, one_length_each

Key = tuple[int, int, int, int]


def score(chosen: Sequence[int | None], wants: Sequence[int], lengths: Sequence[int]) -> Key:
    taken = [(want, lengths[p]) for p, want in zip(chosen, wants, strict=True) if p is not None]
    return (
        list(chosen).count(None),
        len({length for _, length in taken}),
        sum(abs(want - length) for want, length in taken),
        -sum(length for _, length in taken),
    )


def allowed(
    chosen: Sequence[int | None], served: Sequence[set[int]], limits: Sequence[int | None]
) -> bool:
    used = Counter(p for p in chosen if p is not None)
    return all(p is None or p in t for p, t in zip(chosen, served, strict=True)) and all(
        limits[p] is None or n <= (limits[p] or 0) for p, n in used.items()
    )


case = st.tuples(
    st.lists(st.integers(0, 12), min_size=1, max_size=5),
    st.lists(st.integers(0, 12), min_size=0, max_size=5, unique=True).map(sorted),
    st.integers(0, 4),
    st.lists(st.one_of(st.none(), st.integers(0, 3)), min_size=5, max_size=5),
    st.lists(st.integers(0, 1), min_size=5, max_size=5),
)
Case = tuple[list[int], list[int], int, list[int | None], list[int]]


def served_of(drawn: Case) -> list[set[int]]:
    wants, lengths, half, _, _ = drawn
    return [{p for p, length in enumerate(lengths) if abs(length - w) <= half} for w in wants]


@given(case)
@settings(max_examples=300, deadline=None)
def test_fewest_lengths_against_every_choice(drawn: Case) -> None:
    wants, lengths, _, limits, _ = drawn
    served = served_of(drawn)
    every = product([None, *range(len(lengths))], repeat=len(wants))
    best = min(score(c, wants, lengths) for c in every if allowed(c, served, limits))
    chosen = fewest_lengths(wants, served, lengths, limits)
    assert allowed(chosen, served, limits)
    assert score(chosen, wants, lengths) == best


@given(case)
@settings(max_examples=300, deadline=None)
def test_one_length_each_against_every_choice(drawn: Case) -> None:
    wants, lengths, _, limits, groups = drawn
    served = served_of(drawn)

    def one_each(chosen: Sequence[int | None]) -> bool:
        pairs = {(g, p) for g, p in zip(groups, chosen, strict=False) if p is not None}
        return len(pairs) == len({g for g, _ in pairs})

    def key(chosen: Sequence[int | None]) -> tuple[int, int, int]:
        missed, _, distance, total = score(chosen, wants, lengths)
        return missed, distance, total

    names, even = (
        [str(group) for group in groups[: len(wants)]],
        [dict.fromkeys(each, 1.0) for each in served],
    )
    limited = one_length_each(names, wants, even, lengths, limits)
    assert one_each(limited)
    assert allowed(limited, served, limits)
    without = [None] * len(limits)
    every = product([None, *range(len(lengths))], repeat=len(wants))
    best = min(key(c) for c in every if one_each(c) and allowed(c, served, without))
    chosen = one_length_each(names, wants, even, lengths, without)
    assert one_each(chosen)
    assert key(chosen) == best


def test_groups_share_what_there_is_of_a_length() -> None:
    chosen = one_length_each("IEIE", [5.0] * 4, [{0: 1.0}] * 4, [5.0], [3])
    assert chosen == [0, 0, None, 0]


def test_the_best_worst_chance_goes_before_the_distance() -> None:
    chances = [{0: 0.9, 1: 0.8}, {0: 0.7, 1: 0.8}]
    assert one_length_each("II", [5.0, 5.0], chances, [5.0, 6.0], [None, None]) == [1, 1]
