from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heelwise.valvetrain.cam import Arc, Cam, Events, open_arc
from heelwise.valvetrain.engine import Valve, make_engine
from heelwise.valvetrain.where import feel_next, odd_answers, ranges
from tests.crank_model import Model, models, valves

ROAD = Cam(Events(25, 63, 74, 20), 0.0)
FOUR = make_engine([1, 3, 4, 2])
GRID = [step / 2 + 0.13 for step in range(1440)]


def test_by_hand() -> None:
    # 1I is up from 335 to 603, 1E from 106 to 380.
    intake, exhaust = valves("1I", "1E")
    assert ranges(FOUR, ROAD, [], []) == (Arc(0, 720),)
    assert ranges(FOUR, ROAD, [intake], []) == (Arc(335, 268),)
    assert ranges(FOUR, ROAD, [], [intake]) == (Arc(603, 452),)
    assert ranges(FOUR, ROAD, [intake, exhaust], []) == (Arc(335, 45),)
    assert ranges(FOUR, ROAD, [], [intake, exhaust]) == (Arc(603, 223),)
    assert Arc(603, 223).last == 106
    # 4I, a revolution on, is up from 695 to 243: down it leaves one range, up two with 1E down.
    assert ranges(FOUR, ROAD, valves("4I"), [exhaust]) == (Arc(695, 131),)
    assert ranges(FOUR, ROAD, valves("1E", "4I"), [intake]) == (Arc(106, 137),)


def test_ranges_that_begin_or_end_at_720() -> None:
    # An intake open from 180 to 720 and so shut from 0 to 180.
    cam = Cam(Events(180, 180, 74, 20), 0.0)
    assert ranges(make_engine([1]), cam, valves("1I"), []) == (Arc(180, 540),)
    assert ranges(make_engine([1]), cam, [], valves("1I")) == (Arc(0, 180),)


def test_contradictions_and_single_points() -> None:
    one = make_engine([1])
    touching = Cam(Events(-20, 63, 74, -20 - 1e-12), 0.0)
    assert ranges(one, touching, valves("1I", "1E"), []) == ()
    apart = Cam(Events(-20, 63, 74, -30), 0.0)
    assert ranges(one, apart, valves("1I", "1E"), []) == ()
    assert ranges(one, ROAD, valves("1I"), valves("1I")) == ()
    assert feel_next(one, apart, valves("1I", "1E"), []) is None


def felt(model: Model, crank: float, names: list[str]) -> tuple[list[Valve], list[Valve]]:
    up = [name for name in names if model.is_up(name, crank)]
    return valves(*up), valves(*(name for name in names if name not in up))


def holds(span: Arc, crank: float) -> bool:
    return (crank - span.start) % 720 <= span.length


@settings(deadline=None)
@given(models(8), st.data())
def test_ranges_are_all_that_agrees_and_nothing_else(model: Model, data: st.DataObject) -> None:
    names = data.draw(st.lists(st.sampled_from(model.names), unique=True, max_size=5))
    answers = {name: data.draw(st.booleans()) for name in names}
    up = valves(*(name for name, is_up in answers.items() if is_up))
    down = valves(*(name for name, is_up in answers.items() if not is_up))
    spans = ranges(model.engine, model.cam, up, down)
    for crank in GRID:
        agrees = all(model.is_up(name, crank) == is_up for name, is_up in answers.items())
        assert agrees == any(holds(span, crank) for span in spans)
    assert list(spans) == sorted(spans, key=lambda span: span.start)
    assert all(0 <= span.start < 720 and 0 < span.last <= 720 for span in spans)


@settings(deadline=None)
@given(models(6), st.data())
def test_the_lifter_to_feel_next_splits_what_is_left_most_evenly(
    model: Model, data: st.DataObject
) -> None:
    names = data.draw(st.lists(st.sampled_from(model.names), unique=True, max_size=3))
    up, down = felt(model, data.draw(st.sampled_from(GRID)), names)
    left = [
        crank
        for crank in GRID
        if all(model.is_up(str(v), crank) for v in up)
        and not any(model.is_up(str(v), crank) for v in down)
    ]

    def uneven(name: str) -> float:
        return abs(sum(model.is_up(name, crank) for crank in left) - len(left) / 2)

    named = feel_next(model.engine, model.cam, up, down)
    rest = [name for name in model.names if name not in names]
    if named is None:
        assert all(len(left) / 2 - uneven(name) <= 3 for name in rest)
        return
    assert named not in {*up, *down}
    assert uneven(str(named)) <= min(map(uneven, rest)) + 3


def test_of_equally_good_lifters_the_first() -> None:
    # Every intake of an even four is up for the same share of the circle.
    wide = Cam(Events(90, 90, 60, 20), 0.0)
    assert feel_next(FOUR, wide, [], []) == Valve.parse("1I")


@pytest.mark.parametrize(
    "order", [(1, 8, 4, 3, 6, 5, 7, 2), (1, 5, 4, 2, 6, 3, 7, 8), (1, 2, 7, 3, 4, 5, 6, 8)]
)
def test_four_answers_settle_an_eight(order: tuple[int, ...]) -> None:
    engine = make_engine(order)
    model = Model(order, (90.0,) * 8, 25, 63, 74, 20)
    settled = []
    for crank in range(0, 720, 3):
        up: list[Valve] = []
        down: list[Valve] = []
        for _ in range(4):
            valve = feel_next(engine, ROAD, up, down)
            if valve is not None:
                (up if model.is_up(str(valve), crank + 0.5) else down).append(valve)
        spans = ranges(engine, ROAD, up, down)
        assert any(holds(span, crank + 0.5) for span in spans)
        settled.append(len(spans) == 1 and spans[0].length <= 90)
    assert sum(settled) / len(settled) > 0.95


def test_which_answer_disagrees_with_the_rest() -> None:
    # At 200: 1E and 4I up, 1I, 3I and 4E down. Felt wrongly: 4E up.
    up, down = valves("1E", "4I", "4E"), valves("1I", "3I")
    assert ranges(FOUR, ROAD, up, down) == ()
    assert odd_answers(FOUR, ROAD, up, down) == tuple(valves("4E"))
    assert odd_answers(FOUR, ROAD, valves("1E"), valves("1I")) == ()
    assert odd_answers(FOUR, ROAD, [], []) == ()
    # Without 3I either 4E is wrong or, at 0, 1E.
    assert odd_answers(FOUR, ROAD, up, valves("1I")) == tuple(valves("1E", "4E"))
    # The same lifter both up and down is its own contradiction.
    assert odd_answers(FOUR, ROAD, valves("1I"), valves("1I")) == tuple(valves("1I"))


@settings(deadline=None)
@given(models(4), st.data())
def test_dropping_odd_answers_leaves_an_agreeing_range(model: Model, data: st.DataObject) -> None:
    names = data.draw(st.lists(st.sampled_from(model.names), unique=True, max_size=5))
    up = [valve for valve in valves(*names) if data.draw(st.booleans())]
    down = [valve for valve in valves(*names) if valve not in up]
    odd = odd_answers(model.engine, model.cam, up, down)
    agreed = ranges(model.engine, model.cam, up, down)
    assert bool(agreed) == (not odd)
    without = ranges(
        model.engine,
        model.cam,
        [valve for valve in up if valve not in odd],
        [valve for valve in down if valve not in odd],
    )
    assert without
    assert all(open_arc(model.engine, model.cam, valve).length > 0 for valve in odd)
