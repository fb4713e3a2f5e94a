from itertools import combinations
from math import isclose, sqrt
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heelwise.valvetrain.engine import Valve, ValveKind
from heelwise.valvetrain.pushrods import (
    BEST_CHANCE,
    BEST_WORST,
    FEWEST_LENGTHS,
    GOOD_FOR_ALL,
    HOW_MEASURED,
    MOST_LENGTHS,
    ONE_A_KIND,
    Purchase,
    choose_pushrods,
    length_from_lash,
    length_sets_preload,
    nothing_serves,
    sold_lengths,
    try_pushrod,
)
from heelwise.valvetrain.readings import Basis, expect, expected_turns
from heelwise.valvetrain.travel import Origin, Travel
from heelwise.valvetrain.trials import LENGTH_MM, ZERO_LASH_MM, Reading
from heelwise.valvetrain.window import Window, Word, judge

WINDOW = Window(0.5, 1.0, "the maker's sheet")
I1, E1 = Valve(1, ValveKind.INTAKE), Valve(1, ValveKind.EXHAUST)
I2, E2 = Valve(2, ValveKind.INTAKE), Valve(2, ValveKind.EXHAUST)
I3, E3 = Valve(3, ValveKind.INTAKE), Valve(3, ValveKind.EXHAUST)


def test_lengths_sold_reach_their_end() -> None:
    sold = sold_lengths(6.6 * 25.4, 7.2 * 25.4, 0.025 * 25.4)
    assert len(sold) == 25
    assert isclose(sold[-1], 7.2 * 25.4)
    assert sold_lengths(170.0, 171.0, 0.4) == (170.0, 170.4, 170.8)
    assert sold_lengths(170.0, 170.0, 1.0) == (170.0,)
    assert len(sold_lengths(1.0, float(MOST_LENGTHS), 1.0)) == MOST_LENGTHS


@pytest.mark.parametrize(
    ("start", "end", "step", "word"),
    [
        (170.0, 180.0, 0.001, "1,000"),
        (1.0, MOST_LENGTHS + 1.0, 1.0, "1,000"),
    ],
)
def test_lengths_that_cannot_be(start: float, end: float, step: float, word: str) -> None:
    with pytest.raises(ValueError, match=word):
        sold_lengths(start, end, step)


def test_try_the_one_nearest_the_middle() -> None:
    # 0.25 turn short of the middle, 2 mm a turn: 0.5 mm more pushrod.
    answer = try_pushrod(Reading(I1, 170.0, 0.5), WINDOW, 2.0, [171.0, 170.6, 170.0, 169.0])
    assert answer == pytest.approx((170.6, 0.8))


def test_of_two_equally_near_the_longer() -> None:
    answer = try_pushrod(Reading(I1, 170.0, 0.75), WINDOW, 2.0, [169.7, 170.3])
    assert answer == pytest.approx((170.3, 0.9))


def test_limits_are_inside_for_a_length_too() -> None:
    assert try_pushrod(Reading(I1, 170.0, 0.75), WINDOW, 2.0, [170.5]) == (170.5, 1.0)
    assert try_pushrod(Reading(I1, 170.0, 0.75), WINDOW, 2.0, [170.51]) is None


def test_nothing_lands_inside() -> None:
    reading = Reading(I1, 170.0, 3.0)
    assert try_pushrod(reading, WINDOW, 2.0, [170.0, 171.0]) is None
    told = nothing_serves(reading, WINDOW, 2.0, [170.0, 171.0])
    assert "6.516 in (165.50 mm)" in told  # 170 - 2.25 * 2
    assert "would read 3 turns" in told
    assert "the nearest" not in nothing_serves(reading, WINDOW, 2.0, [])
    low = Reading(I1, 170.0, 0.0)  # wants 171.5
    assert "the nearest, 6.732 in (171.00 mm)" in nothing_serves(low, WINDOW, 2.0, [170.0, 171.0])
    assert "(172.00 mm)" in nothing_serves(low, WINDOW, 2.0, [171.0, 172.0])


def basis(doubt_mm: float = 0.02) -> Basis:
    return Basis(WINDOW, Travel(2.0, Origin.MEASURED, doubt_mm, "a test"))


def prospects(*turns: float) -> list[Reading]:
    return [
        Reading(valve, 170.0, each, 0.01)
        for valve, each in zip((I1, E1, I2, E2), turns, strict=False)
    ]


def test_order_by_hand() -> None:
    # They want 170.0, 171.0, 170.4, and 165.5, which nothing sold serves.
    sold = [169.0, 169.5, 170.0, 170.5, 171.0, 171.5]
    choice, *others = choose_pushrods(prospects(0.75, 0.25, 0.55, 3.00), basis(), sold)
    assert choice.order.not_served == (E2,)
    # 170.5 is half a window from the first two: even chances. 170.5 and 171.0 are sure.
    fewest = next(each for each in [choice, *others] if FEWEST_LENGTHS in each.rules)
    assert fewest.order.buy == (Purchase(170.5, (I1, E1, I2)),)
    assert fewest.order.buy[0].count == 3
    assert 0.4 < fewest.worst_chance < 0.6
    assert choice.order.buy == (Purchase(170.0, (I1,)), Purchase(171.0, (E1, I2))) or (
        len(choice.order.buy) == 2 and choice.worst_chance >= 0.9
    )


def test_one_length_a_kind() -> None:
    sold = [169.5, 170.0, 170.5, 171.0, 171.5]
    every = choose_pushrods(prospects(0.75, 0.25, 0.70, 0.30), basis(), sold)
    by_kind = next(each for each in every if ONE_A_KIND in each.rules)
    assert by_kind.order.buy == (Purchase(170.0, (I1, I2)), Purchase(171.0, (E1, E2)))
    assert every[0].worst_chance >= 0.9
    assert choose_pushrods(prospects(0.75, 0.25), basis(), [])[0].order.not_served == (I1, E1)


def test_stock_that_does_not_reach() -> None:
    sold = [170.0, 170.5, 171.0]
    four = prospects(0.75, 0.25, 0.70, 0.30)
    some = choose_pushrods(four, basis(), sold, {170.5: 2, 171.0: 1})[0]
    assert some.order.not_served == ()
    assert {p.pushrod_mm: p.count for p in some.order.buy}[171.0] == 1
    none = choose_pushrods(four, basis(), sold, {170.0: 0, 170.5: 0, 171.0: 1})[0]
    assert (sum(p.count for p in none.order.buy), len(none.order.not_served)) == (1, 3)


def test_expectation_by_hand() -> None:
    travel = Travel(2.0, Origin.MEASURED, 0.1, "a reading")
    stays = expect(Reading(I1, 170.0, 0.75), 170.0, Basis(WINDOW, travel))
    assert isclose(stays.uncertainty_turns, sqrt(0.125**2 / 12 + (ZERO_LASH_MM / 2) ** 2))
    assert stays.chance > 0.999999
    change = expect(Reading(I1, 170.0, 0.0), 172.0, Basis(WINDOW, travel))
    assert change.turns == 1.0
    assert isclose(change.chance, 0.5, abs_tol=0.01)  # on the limit: as likely in as out
    parts = 0.125**2 / 12 + (ZERO_LASH_MM / 2) ** 2 + 2 * (LENGTH_MM / 2) ** 2 + 0.05**2
    assert isclose(change.uncertainty_turns, sqrt(parts))
    unknown = Travel(2.0, Origin.SHEET, None, "the maker's sheet")
    sheet = expect(Reading(I1, 170.0, 0.0), 172.0, Basis(WINDOW, unknown))
    assert sheet.uncertainty_turns < change.uncertainty_turns


def test_only_fixed_height_rockers_get_preload_from_length() -> None:
    assert length_sets_preload("bolt-down") is None
    assert length_sets_preload("shaft") is None
    why = length_sets_preload("stud")
    assert why is not None
    assert "nut sets the preload" in why
    assert "witness mark" in why


valves = st.builds(Valve, st.integers(1, 8), st.sampled_from(list(ValveKind)))
readings_drawn = st.lists(
    st.builds(
        Reading,
        valves,
        st.integers(6700, 7100).map(lambda n: n * 0.0254),
        st.integers(0, 24).map(lambda n: n / 8),
    ),
    unique_by=lambda each: each.valve,
    max_size=16,
)
SOLD = sold_lengths(6.6 * 25.4, 7.2 * 25.4, 0.025 * 25.4)
travels = st.floats(1.0, 3.0)


@given(readings_drawn, travels, st.randoms())
@settings(max_examples=40, deadline=None)
def test_order_covers_every_valve_that_can_be_served(
    readings: list[Reading], travel: float, random: Random
) -> None:
    by = Basis(WINDOW, Travel(travel, Origin.MEASURED, 0.05, "a test"))
    every = choose_pushrods(readings, by, SOLD)
    by_valve = {each.valve: each for each in readings}
    for choice in every:
        order = choice.order
        bought = [valve for purchase in order.buy for valve in purchase.valves]
        assert sorted([*bought, *order.not_served]) == sorted(by_valve)
        for purchase in order.buy:
            for valve in purchase.valves:
                turns = expected_turns(by_valve[valve], purchase.pushrod_mm, travel)
                assert judge(turns, WINDOW).word is Word.INSIDE
        if choice.rules != (ONE_A_KIND,):
            for valve in order.not_served:
                assert try_pushrod(by_valve[valve], WINDOW, travel, SOLD) is None
    random.shuffle(readings)
    assert choose_pushrods(readings, by, SOLD) == every


@given(readings_drawn, travels)
@settings(max_examples=60, deadline=None)
def test_the_one_to_try_lands_inside_and_none_is_nearer(
    readings: list[Reading], travel: float
) -> None:
    for reading in readings:
        answer = try_pushrod(reading, WINDOW, travel, SOLD)
        landing = [
            turns
            for turns in (expected_turns(reading, length, travel) for length in SOLD)
            if judge(turns, WINDOW).word is Word.INSIDE
        ]
        assert (answer is None) == (not landing)
        if answer is not None:
            nearest = min(abs(turns - 0.75) for turns in landing)
            assert abs(answer[1] - 0.75) <= nearest + 1e-9


@given(st.floats(0, 3), travels, st.floats(150, 190), st.floats(0, 5))
def test_a_longer_pushrod_is_never_fewer_turns(
    turns: float, travel: float, length: float, more: float
) -> None:
    reading = Reading(I1, 170.0, turns)
    assert expected_turns(reading, length, travel) <= expected_turns(reading, length + more, travel)


def brute_force(
    some_valves: list[Reading], basis: Basis, sold: list[float]
) -> tuple[bool, int, float]:
    """Of every order: whether all can have a good chance, the fewest lengths then, the best worst.

    The chance of a valve is that of the best of the lengths bought.
    """
    chances = [[expect(each, mm, basis).chance for mm in sold] for each in some_valves]
    every = [
        (min(max(row[i] for i in some) for row in chances), len(some))
        for count in range(1, len(sold) + 1)
        for some in combinations(range(len(sold)), count)
    ]
    worst = max(each for each, _ in every)
    good = [count for chance, count in every if chance >= 0.9]
    return bool(good), min(good, default=0), worst


@given(
    st.lists(st.integers(0, 20), min_size=1, max_size=6),
    st.sampled_from([0.05, 0.15, 0.3]),
    st.sampled_from([0.4, 0.6, 1.0]),
)
@settings(max_examples=120, deadline=None)
def test_the_order_against_every_order(counts: list[int], doubt: float, step: float) -> None:
    travel = Travel(2.0, Origin.MEASURED, doubt, "a test")
    basis = Basis(WINDOW, travel, received_mm=0.127)
    prospects = [
        Reading(valve, 170.0, eighths / 8)
        for valve, eighths in zip((I1, E1, I2, E2, I3, E3), counts, strict=False)
    ]
    sold = [166.0 + step * place for place in range(8)]
    served = [p for p in prospects if try_pushrod(p, WINDOW, 2.0, sold)]
    choice, *others = choose_pushrods(prospects, basis, sold)
    assert sorted(choice.order.not_served) == [p.valve for p in prospects if p not in served]
    if not served:
        return
    good, fewest, worst = brute_force(served, basis, sold)
    assert choice.rule == (GOOD_FOR_ALL if good else BEST_WORST)
    if good:
        assert len(choice.order.buy) == fewest
        assert choice.worst_chance >= 0.9
    else:
        assert isclose(choice.worst_chance, worst, abs_tol=1e-9)
    # Fewest lengths never has more of them, best chance is never worse.
    for other in others:
        if other.rule == FEWEST_LENGTHS:
            assert len(other.order.buy) <= len(choice.order.buy)
        if other.rule == BEST_CHANCE:
            assert other.worst_chance >= choice.worst_chance - 1e-9
        if other.rule == ONE_A_KIND:
            assert len(other.order.buy) <= 2
    by_valve = {e.valve: e for e in choice.expected}
    for purchase in choice.order.buy:
        for valve in purchase.valves:
            prospect = next(p for p in prospects if p.valve == valve)
            assert by_valve[valve] == expect(prospect, purchase.pushrod_mm, basis)


def test_one_length_at_even_odds_or_two_that_are_sure() -> None:
    # Four want 1/4 turn more than the other four: one length between puts all of them on a limit.
    basis = Basis(Window(0.75, 1.0, "a test"), Travel(2.0, Origin.MEASURED, 0.02, "a test"))
    low = [Reading(Valve(n, ValveKind.INTAKE), 170.0, 0.75, 0.01) for n in range(1, 5)]
    high = [Reading(Valve(n, ValveKind.EXHAUST), 170.0, 1.0, 0.01) for n in range(1, 5)]
    sold = [169.75, 170.0, 170.25]
    choice, *others = choose_pushrods([*low, *high], basis, sold)
    assert [(p.pushrod_mm, p.count) for p in choice.order.buy] == [(169.75, 4), (170.25, 4)]
    assert choice.worst_chance > 0.99
    fewest = next(each for each in others if each.rule == FEWEST_LENGTHS)
    assert [(p.pushrod_mm, p.count) for p in fewest.order.buy] == [(170.0, 8)]
    assert 0.4 < fewest.worst_chance < 0.6


def test_stock_is_kept_to_in_every_choice() -> None:
    basis = Basis(WINDOW, Travel(2.0, Origin.MEASURED, 0.05, "a test"))
    valves = [Valve(n, kind) for n in range(1, 3) for kind in ValveKind]
    prospects = [Reading(v, 170.0, 0.75 + 0.125 * n) for n, v in enumerate(valves)]
    stock = {170.0: 2, 169.5: 1}
    for choice in choose_pushrods(prospects, basis, [169.5, 170.0, 170.25], stock):
        for purchase in choice.order.buy:
            assert purchase.count <= stock.get(purchase.pushrod_mm, 99)


def test_solid_checking_lifter_by_hand() -> None:
    # 1.6 mm at the valve is 1.0 mm at the pushrod; the hydraulic cup stands 0.3 mm higher.
    assert isclose(length_from_lash(170.0, 1.6, 1.6, 1.2, 0.3), 171.9)
    assert isclose(length_from_lash(170.0, 0.0, 1.6, 0.0), 170.0)
    assert isclose(length_from_lash(170.0, 1.6, 1.6, 1.2, -0.3), 172.5)


def test_how_a_length_is_measured_must_be_stated() -> None:
    assert "gauge diameter" in HOW_MEASURED
