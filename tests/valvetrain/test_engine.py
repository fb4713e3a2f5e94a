from __future__ import annotations

import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heelwise.valvetrain.engine import Valve, ValveKind, engine_faults, make_engine, wrap
from tests.crank_model import Model, models, valves


def test_angles_are_from_cylinder_1_wherever_it_stands() -> None:
    # By hand: 90 degrees a step in 1-8-4-3-6-5-7-2, written from the fifth on.
    engine = make_engine([6, 5, 7, 2, 1, 8, 4, 3])
    assert [engine.phase(n) for n in range(1, 9)] == [0, 630, 270, 180, 450, 360, 540, 90]
    assert engine.cylinders == 8
    assert engine.clockwise
    assert engine.valves[:3] == tuple(valves("1I", "1E", "2I"))
    assert len(engine.valves) == 16


def test_gaps_run_from_each_cylinder_to_the_next_and_from_the_last_to_the_first() -> None:
    engine = make_engine([2, 1, 3], [100, 200, 420])
    assert (engine.phase(1), engine.phase(3), engine.phase(2)) == (0, 200, 620)


@settings(deadline=None)
@given(model=models(24), turns=st.integers(0, 23))
def test_where_the_order_begins_makes_no_difference(model: Model, turns: int) -> None:
    turns %= len(model.order)
    order, gaps = model.order, model.gaps
    turned = make_engine(order[turns:] + order[:turns], gaps[turns:] + gaps[:turns])
    for cylinder in order:
        phase = turned.phase(cylinder)
        assert phase == make_engine(order, gaps).phase(cylinder)
        assert (phase - model.tdc(cylinder) + 360) % 720 == pytest.approx(360, abs=1e-6)
        assert 0 <= phase < 720


def test_two_cylinders_may_fire_together() -> None:
    engine = make_engine([1, 2, 3, 4], [0, 360, 0, 360])
    assert [engine.phase(n) for n in (1, 2, 3, 4)] == [0, 0, 360, 360]


def test_gaps_rounded_in_print_still_close_the_cycle() -> None:
    engine = make_engine([1, 2, 3, 4, 5, 6, 7], [102.857] * 7)
    assert sum(engine.firing_gaps) == pytest.approx(720, abs=1e-9)
    assert engine.phase(7) == pytest.approx(6 * 720 / 7, abs=1e-6)


def test_one_bank_of_all_unless_banks_are_given() -> None:
    assert [(b.name, b.cylinders) for b in make_engine([1, 2]).banks] == [("all", (1, 2))]
    engine = make_engine(
        [1, 3, 4, 2],
        banks={"left": [1, 2], "right": [3, 4]},
        valve_rows={"left": ["1e", "1I", "2I", "2E"]},
    )
    assert engine.bank_of(4).name == "right"
    assert engine.bank_of(4).valve_row == ()
    assert engine.bank_of(1).valve_row == tuple(valves("1E", "1I", "2I", "2E"))


@pytest.mark.parametrize(
    ("fields", "at_fault"),
    [
        ({"firing_order": []}, ["firing_order"]),
        ({"firing_order": list(range(1, 26))}, ["firing_order"]),
        ({"firing_order": [1, 2, 2]}, ["firing_order"]),
        ({"firing_order": [0, 1, 2]}, ["firing_order"]),
        ({"firing_order": [1, 2], "cylinders": 4}, ["cylinders"]),
        ({"firing_order": [1, 2], "firing_gaps": [720]}, ["firing_gaps"]),
        ({"firing_order": [1, 2], "firing_gaps": [-10, 730]}, ["firing_gaps"]),
        ({"firing_order": [1, 2], "firing_gaps": [float("nan"), 360]}, ["firing_gaps"]),
        ({"firing_order": [1, 2], "firing_gaps": [float("inf"), 360]}, ["firing_gaps"]),
        ({"firing_order": [1, 2], "firing_gaps": [360, 360.011]}, ["firing_gaps"]),
        ({"firing_order": [1, 2], "banks": {"a": [1]}}, ["banks"]),
        ({"firing_order": [1, 2], "banks": {"a": [1], "b": [1, 2]}}, ["banks"]),
        ({"firing_order": [1, 2], "banks": {"a": [1, 2], "b": []}}, ["banks"]),
        ({"firing_order": [1], "valve_rows": {"b": ["1I", "1E"]}}, ["valve_rows.b"]),
        ({"firing_order": [1], "valve_rows": {"all": ["1I", "1I"]}}, ["valve_rows.all"]),
        ({"firing_order": [1], "damper_marks_deg": 7.0}, ["damper_marks"]),
        ({"firing_order": [1], "damper_marks_deg": -90.0}, ["damper_marks"]),
        (
            {"firing_order": [3], "firing_gaps": [1], "banks": {"a": [9]}, "damper_marks_deg": 7},
            ["firing_order", "firing_gaps", "banks", "damper_marks"],
        ),
    ],
)  # fmt: skip
def test_every_fault_is_named_at_once(fields: dict[str, object], at_fault: list[str]) -> None:
    faults = list(engine_faults(**fields))  # type: ignore[arg-type]
    assert [field for field, _, _ in faults] == at_fault
    assert all(problem and instead for _, problem, instead in faults)


def test_sound_fields_have_no_faults() -> None:
    assert not [*engine_faults([1], cylinders=1, damper_marks_deg=10.0)]
    assert not [*engine_faults([2, 1], [359.995, 360.0])]
    assert not [*engine_faults(list(range(24, 0, -1)))]


@pytest.mark.parametrize(
    ("text", "valve"),
    [
        ("1I", Valve(1, ValveKind.INTAKE)),
        ("8e", Valve(8, ValveKind.EXHAUST)),
        (" 24E ", Valve(24, ValveKind.EXHAUST)),
    ],
)
def test_names_are_read_in_either_case(text: str, valve: Valve) -> None:
    assert Valve.parse(text) == valve
    assert Valve.parse(str(valve)) == valve


@pytest.mark.parametrize(
    "text", ["", "I1", "1", "0I", "01I", "1X", "1II", "-1I", "１I", "1 I", "123E"]
)
def test_what_is_no_valve_is_refused_with_the_right_form(text: str) -> None:
    with pytest.raises(ValueError, match="as in 1I or 8E"):
        Valve.parse(text)


def test_valves_sort_by_cylinder_and_the_intake_first() -> None:
    names = ["1I", "1E", "2I", "2E", "10I", "10E"]
    valves = [Valve.parse(name) for name in names]
    shuffled = random.Random(3).sample(valves, len(valves))
    assert [str(valve) for valve in sorted(shuffled)] == names
    assert valves[0] < valves[1] <= valves[1] < valves[2]
    assert valves[5] > valves[4] >= valves[4]
    assert len({*valves, *shuffled}) == len(valves)


@pytest.mark.parametrize(
    ("deg", "wrapped"),
    [(0, 0), (720, 0), (725, 5), (-5, 715), (720 - 1e-12, 0), (-1e-17, 0), (1440.25, 0.25)],
)
def test_wrapping(deg: float, wrapped: float) -> None:
    assert wrap(deg) == wrapped


@settings(deadline=None)
@given(st.floats(-1e5, 1e5))
def test_wrapped_angles_are_in_the_cycle_and_never_minus_zero(deg: float) -> None:
    assert 0 <= wrap(deg) < 720
    assert math.copysign(1, wrap(deg)) == 1
    assert wrap(wrap(deg)) == wrap(deg)
    assert (wrap(deg) - deg + 360) % 720 == pytest.approx(360, abs=1e-6)
