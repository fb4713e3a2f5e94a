from __future__ import annotations

import random
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heelwise.valvetrain.cam import Cam, Events
from heelwise.valvetrain.engine import Engine, Valve, make_engine
from heelwise.valvetrain.positions import (
    NoPlan,
    Plan,
    each_cylinder,
    fewest_positions,
    other_plan,
    preferred_plan,
)
from tests.crank_model import Model, models, random_model, valves

ROAD = Cam(Events(25, 63, 74, 20), 0.0)
ONE = make_engine([1])
FOUR = make_engine([1, 3, 4, 2])
EIGHT_ORDER = (1, 5, 4, 2, 6, 3, 7, 8)
EIGHT = make_engine(EIGHT_ORDER)


def placed(plan: Plan) -> list[Valve]:
    return [each.valve for position in plan.positions for each in position.valves]


def most(engine: Engine, **asked: float) -> float | None:
    with pytest.raises(NoPlan) as refused:
        fewest_positions(engine, ROAD, **asked)
    return refused.value.most_margin_deg


def test_one_cylinder_by_hand() -> None:
    # The intake is shut from 603 to 335 and the exhaust from 380 to 106: both from 603 to 826,
    # whose middle is 714.5, 111.5 from either end.
    plan = fewest_positions(ONE, ROAD)
    assert (plan.method, plan.least_margin_deg, len(plan.positions)) == ("fewest", 111.5, 1)
    position = plan.positions[0]
    assert (position.number, position.crank_deg, position.turn_deg) == (1, 714.5, 714.5)
    assert position.landmark == "5.5° before cylinder 1 TDC on compression"
    assert [(str(p.valve), p.margin_deg, p.from_tdc_deg) for p in position.valves] == [
        ("1I", 111.5, 5.5),
        ("1E", 111.5, 5.5),
    ]
    assert position.also_free == ()


def test_one_cylinder_on_marks_by_hand() -> None:
    # Marks in 603 to 826: 630 (27 from the intake's end), 720 (106 from the exhaust's).
    plan = fewest_positions(ONE, ROAD, marks_deg=90)
    assert [(p.crank_deg, p.turn_deg) for p in plan.positions] == [(0, 0)]
    assert plan.least_margin_deg == 106
    # Every 240 degrees: 720 again; every 720: cylinder 1 at TDC on compression only.
    assert fewest_positions(ONE, ROAD, marks_deg=720).positions[0].crank_deg == 0
    assert most(ONE, margin_deg=107, marks_deg=720) == 106


def test_one_cylinder_with_its_piston_down_by_hand() -> None:
    # At least 80 from TDC: 80 to 280 and 440 to 640. In 603 to 826 that leaves 603 to 640, best
    # at 640 (37 from the intake's end), and 800 to 826, best at 800 (26 from the exhaust's).
    plan = fewest_positions(ONE, ROAD, pistons_down_deg=80)
    assert [(p.crank_deg, p.valves[0].from_tdc_deg) for p in plan.positions] == [(640, 80)]
    assert plan.least_margin_deg == 37
    # With 40 kept, two positions: the intake centred in 80 to 280 but for its heel's middle,
    # 109 (its heel is 603 to 1055); the exhaust's heel, 380 to 826, has 603 in its middle.
    two = fewest_positions(ONE, ROAD, margin_deg=40, pistons_down_deg=80)
    assert [(p.crank_deg, str(p.valves[0].valve)) for p in two.positions] == [
        (109, "1I"),
        (603, "1E"),
    ]
    assert two.least_margin_deg == 223
    assert [(str(f.valve), f.margin_deg) for f in two.positions[1].also_free] == [("1I", 0)]


def test_most_margin_by_hand() -> None:
    # Half of the shorter heel: (720 - 274) / 2.
    assert most(FOUR, margin_deg=223.5) == 223
    assert fewest_positions(FOUR, ROAD, margin_deg=223).least_margin_deg == pytest.approx(223)
    # At 0 alone: cylinder 2 is at the end of its power stroke, its exhaust open for 74 degrees.
    assert most(FOUR, marks_deg=720) == -74


def test_nothing_allowed_at_all_has_no_most_margin() -> None:
    assert most(ONE, marks_deg=720, pistons_down_deg=30) is None
    assert most(ONE, marks_deg=360, pistons_down_deg=1) is None


def test_marks_that_are_thirds_of_a_degree() -> None:
    engine = make_engine([1, 2, 3, 4, 5, 6, 7])
    plan = fewest_positions(engine, ROAD, marks_deg=720 / 7)
    for position in plan.positions:
        share = position.crank_deg * 7 / 720
        assert share == pytest.approx(round(share), abs=1e-8)


@settings(deadline=None)
@given(models(12), st.sampled_from([0.0, 10.0, 25.5]), st.sampled_from([0.0, 0.0, 40.0]))
def test_every_plan_is_one_to_work_by(model: Model, margin: float, pistons: float) -> None:
    engine, cam = model.engine, model.cam
    try:
        plan = fewest_positions(engine, cam, margin, pistons_down_deg=pistons)
    except NoPlan as none:
        best = none.most_margin_deg
        plan = Plan("none", best, ())
    if not plan.positions:
        assert plan.least_margin_deg is not None
        assert plan.least_margin_deg < margin
        return
    assert sorted(placed(plan)) == list(engine.valves)
    angles = [position.crank_deg for position in plan.positions]
    assert all(one < other for one, other in pairwise(angles))
    turns = [position.turn_deg for position in plan.positions]
    assert turns == pytest.approx([angles[0], *(b - a for a, b in pairwise(angles))])
    assert [position.number for position in plan.positions] == list(range(1, len(angles) + 1))
    for position in plan.positions:
        assert position.valves
        assert 0 <= position.crank_deg < 720
        assert str(position.crank_deg) != "-0.0"
        for each in position.valves:
            name = str(each.valve)
            assert each.margin_deg == pytest.approx(
                model.margin(name, position.crank_deg), abs=1e-6
            )
            assert each.from_tdc_deg == pytest.approx(
                model.from_tdc(name, position.crank_deg), abs=1e-6
            )
            assert each.from_tdc_deg >= pistons - 1e-6
            assert model.margin(name, position.crank_deg) >= margin - 1e-6
        here = {each.valve for each in position.valves}
        free = {each.valve for each in position.also_free}
        for valve in set(engine.valves) - here:
            deg = model.margin(str(valve), position.crank_deg)
            assert (valve in free) == (deg >= 0) or abs(deg) < 1e-6


@settings(deadline=None)
@given(models(10), st.integers(0, 9), st.sampled_from([None, 45.0]))
def test_where_the_firing_order_begins_changes_nothing(
    model: Model, turns: int, marks: float | None
) -> None:
    turns %= len(model.order)
    order, gaps = model.order, model.gaps
    turned = make_engine(order[turns:] + order[:turns], gaps[turns:] + gaps[:turns])

    def answer(engine: Engine) -> Plan | float | None:
        try:
            return fewest_positions(engine, model.cam, 5.0, marks)
        except NoPlan as none:
            return none.most_margin_deg

    assert answer(turned) == answer(model.engine)


@pytest.mark.parametrize("seed", range(40))
def test_run_backwards_an_engine_needs_as_many(seed: int) -> None:
    # Backwards, intakes are exhausts: what opened now closes.
    model = random_model(random.Random(seed), 1 + seed % 9, odd=seed % 2 == 0)
    first, *rest = model.order
    back = Model(
        (first, *reversed(rest)), tuple(reversed(model.gaps)),
        ivo=model.evc, ivc=model.evo, evo=model.ivc, evc=model.ivo,
    )  # fmt: skip
    ours = fewest_positions(model.engine, model.cam, 5.0, pistons_down_deg=20.0)
    theirs = fewest_positions(back.engine, back.cam, 5.0, pistons_down_deg=20.0)
    assert len(ours.positions) == len(theirs.positions)
    assert ours.least_margin_deg == pytest.approx(theirs.least_margin_deg, abs=1e-6)


def test_one_cylinder_at_a_time() -> None:
    plan = each_cylinder(FOUR, ROAD)
    assert plan.method == "each"
    # By hand: at TDC on compression 117 for the intake, 106 for the exhaust.
    assert plan.least_margin_deg == 106
    assert [(p.crank_deg, p.turn_deg) for p in plan.positions] == [
        (0, 0),
        (180, 180),
        (360, 180),
        (540, 180),
    ]
    assert [[str(e.valve) for e in p.valves] for p in plan.positions] == [
        ["1I", "1E"],
        ["3I", "3E"],
        ["4I", "4E"],
        ["2I", "2E"],
    ]
    assert all(e.from_tdc_deg == 0 for p in plan.positions for e in p.valves)
    with pytest.raises(NoPlan) as refused:
        each_cylinder(FOUR, ROAD, 107)
    assert refused.value.most_margin_deg == 106


def test_with_the_cam_not_known_no_margin_is_told() -> None:
    plan = each_cylinder(make_engine([1, 2, 3, 4], [0, 360, 0, 360]), None)
    assert plan.least_margin_deg is None
    assert [[str(e.valve) for e in p.valves] for p in plan.positions] == [
        ["1I", "1E", "2I", "2E"],
        ["3I", "3E", "4I", "4E"],
    ]
    assert all(e.margin_deg is None for p in plan.positions for e in p.valves)
    assert all(p.also_free == () for p in plan.positions)
    assert (
        plan.positions[0].landmark == "cylinders 1 and 2 at TDC on compression (3 and 4 at overlap)"
    )


def test_common_marks_are_preferred_where_they_cost_little() -> None:
    exact = fewest_positions(EIGHT, ROAD)
    preferred = preferred_plan(EIGHT, ROAD)
    assert all(position.crank_deg % 90 == 0 for position in preferred.positions)
    assert len(preferred.positions) == len(exact.positions) == 2
    # By hand: 7 fires at 540, so 7I opens at 335 + 540 - 720 = 155, 65 after the mark at 90.
    assert preferred.least_margin_deg == 65
    (price,) = preferred.reasons
    assert [figure in price for figure in ("90°", "67.5°", "65°")] == [True] * 3


def test_marks_that_cost_half_the_margin_are_not() -> None:
    # One cylinder: 106 at TDC against 111.5, so TDC is preferred.
    assert preferred_plan(ONE, ROAD).positions[0].crank_deg == 0
    # Both on the heel from 603 to 673: the middle, 638, keeps 35, the mark at 630 keeps 27.
    late = Cam(Events(25, 63, 227, 20), 0.0)
    assert preferred_plan(ONE, late).least_margin_deg == 27
    assert preferred_plan(ONE, late).positions[0].crank_deg == 630
    # From 629 to 673: the middle keeps 22, the mark at 630 only 1.
    later = Cam(Events(25, 89, 227, 20), 0.0)
    kept = preferred_plan(ONE, later)
    assert kept.least_margin_deg == 22
    assert "Exact angles" in kept.reasons[-1]


def test_the_dampers_own_marks_are_used() -> None:
    marked = make_engine([1], damper_marks_deg=10)
    # 603 to 826 in tens: 710 keeps 107, 720 keeps 106.
    preferred = preferred_plan(marked, ROAD)
    assert preferred.positions[0].crank_deg == 710


def test_pistons_down_where_it_costs_one_position_at_the_most() -> None:
    down = preferred_plan(EIGHT, ROAD, pistons_down_deg=60)
    assert len(down.positions) == 3
    assert all(e.from_tdc_deg >= 60 for p in down.positions for e in p.valves)
    assert "3 positions instead of 2" in down.reasons[0]
    # Nearly at BDC every cylinder wants its own places: too dear.
    dear = preferred_plan(EIGHT, ROAD, pistons_down_deg=175)
    assert len(dear.positions) == 2
    assert "positions instead of 2" in dear.reasons[0]
    none = preferred_plan(EIGHT, ROAD, margin_deg=200, pistons_down_deg=180)
    assert none.positions == preferred_plan(EIGHT, ROAD, margin_deg=200).positions
    assert "No plan" in none.reasons[0]


@pytest.mark.parametrize(("most", "least_down"), [(0.0, 20.0), (40.0, 40.0), (60.0, 45.0)])
def test_pistons_further_down_where_it_costs_no_position(most: float, least_down: float) -> None:
    plan = preferred_plan(EIGHT, ROAD, 10.0, 20.0, most)
    asked = fewest_positions(EIGHT, ROAD, 10.0, pistons_down_deg=20.0)
    assert len(plan.positions) == len(asked.positions) == 2
    assert min(e.from_tdc_deg for p in plan.positions for e in p.valves) >= least_down
    # By the search itself: at the next five degrees two positions would not do.
    if most == 60.0:
        more = fewest_positions(EIGHT, ROAD, 10.0, pistons_down_deg=50.0)
        assert len(more.positions) > 2


def test_without_a_cam_one_cylinder_at_a_time_is_preferred() -> None:
    preferred = preferred_plan(EIGHT, None, pistons_down_deg=30)
    assert preferred.positions == each_cylinder(EIGHT, None).positions
    assert "not known" in preferred.reasons[0]


def test_no_plan_is_no_preferred_plan() -> None:
    with pytest.raises(NoPlan) as refused:
        preferred_plan(EIGHT, ROAD, margin_deg=230)
    assert refused.value.most_margin_deg == 223


@settings(deadline=None)
@given(models(8), st.data())
def test_counting_again_at_another_place_of_the_heel(model: Model, data: st.DataObject) -> None:
    engine, cam = model.engine, model.cam
    names = data.draw(st.lists(st.sampled_from(model.names), unique=True, min_size=1, max_size=6))
    used = {valve: data.draw(st.integers(0, 719)) + 0.0 for valve in valves(*names)}
    try:
        plan = other_plan(engine, cam, used)
    except NoPlan:
        assert min(model.lobe(n)[0] - model.lobe(n)[1] + 720 for n in names) < 20
        return
    assert sorted(placed(plan)) == sorted(used)
    for position in plan.positions:
        for each in position.valves:
            name = str(each.valve)
            apart = abs((position.crank_deg - used[each.valve] + 360) % 720 - 360)
            assert model.margin(name, position.crank_deg) >= 10 - 1e-6
            farthest = max(
                abs((deg - used[each.valve] + 360) % 720 - 360)
                for deg in (step / 2 for step in range(1440))
                if model.margin(name, deg) >= 10
            )
            assert apart >= min(60, farthest) - 0.5


@pytest.mark.parametrize("seed", range(20))
def test_counting_again_with_the_cam_not_known_is_safe_with_any(seed: int) -> None:
    rng = random.Random(seed)
    engine = make_engine(EIGHT_ORDER)
    sample = rng.sample(engine.valves, 4)
    used = {valve: engine.phase(valve.cylinder) for valve in sample}
    plan = other_plan(engine, None, used)
    assert sorted(placed(plan)) == sorted(sample)
    assert plan.least_margin_deg is None
    # Any four-stroke cam: no valve opens a whole stroke early or shuts a whole stroke late.
    cams = [
        Model(EIGHT_ORDER, (90.0,) * 8, *(rng.uniform(-60, 150) for _ in range(4)))
        for _ in range(20)
    ]
    for position in plan.positions:
        for each in position.valves:
            apart = abs((position.crank_deg - used[each.valve] + 360) % 720 - 360)
            assert apart >= 60 - 1e-5
            assert each.margin_deg is None
            assert not any(model.is_up(str(each.valve), position.crank_deg) for model in cams)


def test_nothing_to_count_again() -> None:
    assert other_plan(FOUR, ROAD, {}).positions == ()
