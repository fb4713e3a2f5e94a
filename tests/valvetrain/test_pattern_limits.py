"""Where a pattern begins: just inside and just outside each limit, worked by hand."""

from __future__ import annotations

from heelwise.valvetrain.engine import Engine, make_engine
from heelwise.valvetrain.pattern import Finding, find_pattern
from heelwise.valvetrain.pushrods import Reading
from heelwise.valvetrain.valves import Kind, Valve

FOUR = make_engine([1, 3, 4, 2])
TWO_BANKS = make_engine([1, 2, 3, 4], banks={"left": [1], "right": [2, 3, 4]})


def found(turns: dict[Valve, float], engine: Engine = FOUR) -> tuple[Finding, ...]:
    return find_pattern(engine, [Reading(v, 174.0, t) for v, t in turns.items()])


def level(odd: float) -> dict[Valve, float]:
    turns = dict.fromkeys(FOUR.valves, 1.0)
    turns[Valve(3, Kind.INTAKE)] += odd
    return turns


def test_one_valve_alone_from_three_and_a_half_standard_deviations() -> None:
    # All others equal: the spread is half a step, 0.0625, times 1.4826; 3.5 of it is 0.3243.
    assert found(level(0.32)) == ()
    (finding,) = found(level(0.33))
    assert finding.valves == (Valve(3, Kind.INTAKE),)
    assert "the pushrod is longer than labelled" in finding.causes
    (finding,) = found(level(-0.33))
    assert finding.valves == (Valve(3, Kind.INTAKE),)
    assert "the pushrod is shorter than labelled" in finding.causes


def test_a_kind_of_three_readings_is_enough_and_of_two_is_not() -> None:
    turns = {v: 1.0 + 0.5 * (v.kind is Kind.EXHAUST) for v in FOUR.valves}
    three = {v: t for v, t in turns.items() if v.cylinder < 4}
    (finding,) = found(three)
    assert finding.what.startswith("The exhausts read 1/2 turn more")
    exhausts = (Valve(1, Kind.EXHAUST), Valve(2, Kind.EXHAUST))
    two = {v: t for v, t in turns.items() if v.kind is Kind.INTAKE or v in exhausts}
    assert all("exhausts read" not in each.what for each in found(two))


def test_a_bank_of_two_readings_shows_nothing() -> None:
    turns = {v: 1.0 + 0.5 * (v.cylinder == 1) for v in TWO_BANKS.valves}
    assert all("Bank" not in each.what for each in found(turns, TWO_BANKS))


def test_a_quarter_of_the_engine_may_be_strange_and_more_is_no_exception() -> None:
    turns = dict.fromkeys(FOUR.valves, 1.0)
    two = {**turns, Valve(1, Kind.INTAKE): 2.0, Valve(3, Kind.EXHAUST): 2.0}
    assert [each.valves for each in found(two)] == [
        (Valve(1, Kind.INTAKE),),
        (Valve(3, Kind.EXHAUST),),
    ]
    three = {**two, Valve(2, Kind.INTAKE): 2.0}
    assert found(three) == ()
