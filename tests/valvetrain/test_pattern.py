from __future__ import annotations

from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heelwise.valvetrain.engine import Engine, Valve, ValveKind, make_engine
from heelwise.valvetrain.figures import turns_text
from heelwise.valvetrain.pattern import Finding, find_pattern
from heelwise.valvetrain.travel import Origin, Travel
from heelwise.valvetrain.trials import Reading

ENGINE = make_engine([1, 8, 7, 2, 6, 5, 4, 3], banks={"left": [1, 3, 5, 7], "right": [2, 4, 6, 8]})
MEASURED = Travel(2.0, Origin.MEASURED, 0.1, "a test")
SHEET = Travel(2.0, Origin.SHEET, 0.2, "a test")
WOBBLE = [
    0.0,
    0.125,
    0.0,
    -0.125,
    0.0,
    0.0,
    0.125,
    0.0,
    0.0,
    -0.125,
    0.0,
    0.0,
    0.125,
    0.0,
    0.0,
    0.0,
]


def base() -> dict[Valve, float]:
    return {valve: 1.0 + w for valve, w in zip(ENGINE.valves, WOBBLE, strict=True)}


def found(turns: dict[Valve, float]) -> tuple[Finding, ...]:
    return find_pattern(ENGINE, [Reading(v, 174.0, t) for v, t in turns.items()])


def test_ordinary_scatter_is_no_pattern() -> None:
    assert found(base()) == ()


def test_kind() -> None:
    turns = {v: t + 0.5 * (v.kind is ValveKind.EXHAUST) for v, t in base().items()}
    (finding,) = found(turns)
    assert finding.what == "The exhausts read 1/2 turn more than the intakes"
    assert turns_text(0.5) in finding.what
    assert finding.valves == tuple(v for v in ENGINE.valves if v.kind is ValveKind.EXHAUST)
    assert finding.first_look


def test_bank() -> None:
    turns = {v: t + 0.375 * (v.cylinder % 2) for v, t in base().items()}
    (finding,) = found(turns)
    assert finding.what == "Bank left reads 3/8 turn more than bank right"
    assert {v.cylinder for v in finding.valves} == {1, 3, 5, 7}


@pytest.mark.parametrize(("way", "word"), [(0.25, "more"), (-0.25, "fewer")])
def test_slope_along_a_bank(way: float, word: str) -> None:
    left = {1: 0, 3: 1, 5: 2, 7: 3}
    turns = {v: 2.0 + way * left.get(v.cylinder, 1.5) for v in ENGINE.valves}
    (finding,) = found(turns)
    assert finding.what == f"Along bank left, front to rear, the readings come to 3/4 turn {word}"
    assert {v.cylinder for v in finding.valves} == {1, 3, 5, 7}


@pytest.mark.parametrize("off", [0.5, -0.5])
def test_one_valve_alone(off: float) -> None:
    turns = base()
    turns[Valve(6, ValveKind.EXHAUST)] += off
    (finding,) = found(turns)
    assert finding.what.startswith("6E reads 1/2 turn")
    assert finding.valves == (Valve(6, ValveKind.EXHAUST),)
    assert "6E" in finding.first_look


def test_one_valve_alone_beside_a_kind() -> None:
    turns = {v: t + 0.5 * (v.kind is ValveKind.INTAKE) for v, t in base().items()}
    turns[Valve(2, ValveKind.INTAKE)] += 0.75
    assert [f.what.split(" read")[0] for f in found(turns)] == ["The intakes", "2I"]


def test_nothing_on_fewer_than_five() -> None:
    turns = dict(list(base().items())[:4])
    turns[Valve(1, ValveKind.INTAKE)] = 3.0
    assert found(turns) == ()
    assert find_pattern(ENGINE, []) == ()
    turns[Valve(3, ValveKind.INTAKE)] = 1.0
    assert [f.valves for f in found(turns)] == [(Valve(1, ValveKind.INTAKE),)]


def test_other_pushrods_are_brought_to_one_length_or_left_out() -> None:
    readings = [Reading(v, 174.0, t) for v, t in base().items()]
    longer = [
        Reading(r.valve, 176.0, r.turns + 1.0) if r.valve.cylinder == 3 else r for r in readings
    ]
    assert find_pattern(ENGINE, longer, MEASURED) == ()
    # Unmeasured, the other length may be any number of turns: it is left out.
    assert find_pattern(ENGINE, longer, SHEET) == ()
    off = [Reading(r.valve, r.pushrod_mm, r.turns + 3.0 * (r.pushrod_mm > 175)) for r in longer]
    assert find_pattern(ENGINE, off, SHEET) == ()
    assert {v for each in find_pattern(ENGINE, off, MEASURED) for v in each.valves} == {
        Valve(3, ValveKind.INTAKE),
        Valve(3, ValveKind.EXHAUST),
    }
    assert find_pattern(ENGINE, longer) == ()
    mixed = [Reading(r.valve, 170.0 + i, r.turns) for i, r in enumerate(readings)]
    assert find_pattern(ENGINE, mixed) == ()


@given(
    st.lists(st.integers(0, 24).map(lambda n: n / 8), min_size=5, max_size=16),
    st.randoms(),
)
@settings(max_examples=60, deadline=None)
def test_the_order_of_readings_does_not_matter(turns: list[float], random: Random) -> None:
    readings = [Reading(v, 174.0, t) for v, t in zip(ENGINE.valves, turns, strict=False)]
    answer = find_pattern(ENGINE, readings)
    random.shuffle(readings)
    assert find_pattern(ENGINE, readings) == answer


def alarms(engine: Engine, sd: float, engines: int) -> float:
    """The share of engines with nothing but noise, counted in eighths, that show a pattern."""
    random = Random(20)
    rung = 0
    for _ in range(engines):
        turns = {v: round((1.5 + random.gauss(0.0, sd)) * 8) / 8 for v in engine.valves}
        rung += bool(find_pattern(engine, [Reading(v, 174.0, t) for v, t in turns.items()]))
    return rung / engines


@pytest.mark.parametrize("order", [[1, 3, 4, 2], [1, 5, 3, 6, 2, 4], [1, 8, 7, 2, 6, 5, 4, 3]])
@pytest.mark.parametrize(("sd", "most"), [(1 / 16, 0.01), (1 / 8, 0.05), (0.2, 0.05)])
def test_from_noise_alone_seldom_a_pattern(order: list[int], sd: float, most: float) -> None:
    engine = ENGINE if len(order) == 8 else make_engine(order)
    assert alarms(engine, sd, 400) <= most


def test_a_kind_told_from_another_length_only_once_measured() -> None:
    # Exhausts with a pushrod 2 mm longer: by a travel of 2.0 they would read .34 turn more.
    readings = [
        Reading(v, 176.0 if v.kind is ValveKind.EXHAUST else 174.0, t + 1.34 * (v.kind == "E"))
        for v, t in base().items()
    ]
    assert find_pattern(ENGINE, readings, SHEET) == ()
    sure = Travel(2.0, Origin.MEASURED, 0.02, "a test")
    assert [f.what[:12] for f in find_pattern(ENGINE, readings, sure)] == ["The exhausts"]
    # Measured to a tenth, 2 mm are a turn more or less by a tenth: .34 may be that.
    unsure = Travel(2.0, Origin.MEASURED, 0.2, "a test")
    assert find_pattern(ENGINE, readings, unsure) == ()


LEFT = {1: 0, 3: 1, 5: 2, 7: 3}


def sloping(step: float) -> dict[Valve, float]:
    return {v: 2.0 + step * LEFT.get(v.cylinder, 1.5) for v in ENGINE.valves}


def test_one_valve_alone_beside_a_slope() -> None:
    turns = sloping(0.25)
    turns[Valve(7, ValveKind.EXHAUST)] += 0.5
    slope, alone = found(turns)
    assert turns_text(0.75) in slope.what
    assert alone.valves == (Valve(7, ValveKind.EXHAUST),)
    assert turns_text(0.5) in alone.what


def test_a_slope_of_a_step_is_the_least() -> None:
    assert len(found(sloping(0.125 / 3))) == 1
    assert found(sloping(0.124 / 3)) == ()


def test_a_slope_needs_more_than_four_readings_and_three_places() -> None:
    # Four on the slope, the rest level on the other bank.
    sloped = sloping(0.25).items()
    turns = {v: t for v, t in sloped if v.cylinder % 2 == 0 or v.kind is ValveKind.INTAKE}
    assert not [f for f in found(turns) if f.what.startswith("Along")]
    turns |= {Valve(1, ValveKind.EXHAUST): 2.0, Valve(7, ValveKind.EXHAUST): 2.75}
    assert [f.what[:5] for f in found(turns)] == ["Along"]
    two_places = {v: t for v, t in sloping(0.25).items() if v.cylinder in {1, 3, 2, 4, 6}}
    assert not [f for f in found(two_places) if f.what.startswith("Along")]


def test_three_of_a_kind_show_it_and_two_do_not() -> None:
    exhausts = [v for v in ENGINE.valves if v.kind is ValveKind.EXHAUST]
    intakes = {v: 1.0 for v in ENGINE.valves if v.kind is ValveKind.INTAKE}
    assert [f.what[:12] for f in found(intakes | dict.fromkeys(exhausts[:3], 2.0))] == [
        "The exhausts"
    ]
    two = found(intakes | dict.fromkeys(exhausts[:2], 2.0))
    assert [f.valves for f in two] == [(exhausts[0],), (exhausts[1],)]


def test_more_than_a_quarter_of_the_set_is_no_exception() -> None:
    strange = [Valve(1, ValveKind.INTAKE), Valve(4, ValveKind.EXHAUST), Valve(7, ValveKind.INTAKE)]
    strange.append(Valve(6, ValveKind.EXHAUST))
    level = dict.fromkeys(ENGINE.valves, 1.0)
    assert len(found(level | dict.fromkeys(strange, 2.0))) == 4
    more = [*strange, Valve(2, ValveKind.EXHAUST)]
    assert found(level | dict.fromkeys(more, 2.0)) == ()


def test_the_fewer_there_are_the_further_one_must_stand_out() -> None:
    # All others equal: the spread is half a step; 5.5·exp(4.5/16) of it is .455, of eight .603.
    sixteen = dict.fromkeys(ENGINE.valves, 1.0)
    valve = Valve(3, ValveKind.INTAKE)
    assert found(sixteen | {valve: 1.46})
    assert found(sixteen | {valve: 1.45}) == ()


FOUR = make_engine([1, 3, 4, 2])
TWO_BANKS = make_engine([1, 2, 3, 4], banks={"left": [1], "right": [2, 3, 4]})


def found_in(turns: dict[Valve, float], engine: Engine = FOUR) -> tuple[Finding, ...]:
    return find_pattern(engine, [Reading(v, 174.0, t) for v, t in turns.items()])


def level(odd: float) -> dict[Valve, float]:
    turns = dict.fromkeys(FOUR.valves, 1.0)
    turns[Valve(3, ValveKind.INTAKE)] += odd
    return turns


def test_one_valve_alone_among_eight() -> None:
    assert found_in(level(0.59)) == ()
    for off in (0.61, -0.61):
        (finding,) = found_in(level(off))
        assert finding.valves == (Valve(3, ValveKind.INTAKE),)
        assert f"{turns_text(abs(off))} {'more' if off > 0 else 'less'}" in finding.what


def test_a_kind_of_three_readings_is_enough_and_of_two_is_not() -> None:
    turns = {v: 1.0 + 0.5 * (v.kind is ValveKind.EXHAUST) for v in FOUR.valves}
    three = {v: t for v, t in turns.items() if v.cylinder < 4}
    (finding,) = found_in(three)
    assert finding.what.startswith("The exhausts read 1/2 turn more")
    exhausts = (Valve(1, ValveKind.EXHAUST), Valve(2, ValveKind.EXHAUST))
    two = {v: t for v, t in turns.items() if v.kind is ValveKind.INTAKE or v in exhausts}
    assert all("exhausts read" not in each.what for each in found_in(two))


def test_a_bank_of_two_readings_shows_nothing() -> None:
    turns = {v: 1.0 + 0.5 * (v.cylinder == 1) for v in TWO_BANKS.valves}
    assert all("Bank" not in each.what for each in found_in(turns, TWO_BANKS))


def test_a_quarter_of_the_engine_may_be_strange_and_more_is_no_exception() -> None:
    turns = dict.fromkeys(FOUR.valves, 1.0)
    two = {**turns, Valve(1, ValveKind.INTAKE): 2.0, Valve(3, ValveKind.EXHAUST): 2.0}
    assert [each.valves for each in found_in(two)] == [
        (Valve(1, ValveKind.INTAKE),),
        (Valve(3, ValveKind.EXHAUST),),
    ]
    three = {**two, Valve(2, ValveKind.INTAKE): 2.0}
    assert found_in(three) == ()


def test_a_slope_along_a_bank_is_not_called_a_bank() -> None:
    # From level with the other bank to a full turn more: half a turn more in the mean.
    turns = {v: 2.0 + LEFT.get(v.cylinder, 0.0) / 3 for v in ENGINE.valves}
    (finding,) = found(turns)
    assert finding.what.startswith("Along bank left")
