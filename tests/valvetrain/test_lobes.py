from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heelwise.valvetrain.arcs import Arc
from heelwise.valvetrain.cam import Cam, Events
from heelwise.valvetrain.engine import make_engine
from heelwise.valvetrain.lobes import heel_arc, margin, open_arc, tdc_distance
from heelwise.valvetrain.valves import Valve
from tests.crank_model import Model, models, valves

ROAD = Cam(Events(25, 63, 74, 20), 0.0)
FOUR = make_engine([1, 3, 4, 2])


def test_by_hand() -> None:
    first_in, first_ex, third_in = valves("1I", "1E", "3I")
    assert open_arc(FOUR, ROAD, first_in) == Arc(335, 268)
    assert open_arc(FOUR, ROAD, first_ex) == Arc(106, 274)
    assert heel_arc(FOUR, ROAD, first_in) == Arc(603, 452)
    assert open_arc(FOUR, ROAD, third_in) == Arc(515, 268)
    # At TDC on compression: 117 degrees since the intake closed, 106 until the exhaust opens.
    assert margin(FOUR, ROAD, first_in, 0) == 117
    assert margin(FOUR, ROAD, first_ex, 720) == 106
    assert margin(FOUR, ROAD, first_in, 335) == 0
    assert margin(FOUR, ROAD, first_in, 340) == -5
    assert margin(FOUR, ROAD, first_in, 469) == -134


@settings(deadline=None)
@given(model=models(), crank=st.integers(0, 2879).map(lambda quarter: quarter / 4))
def test_margins_found_by_turning_a_quarter_degree_at_a_time(model: Model, crank: float) -> None:
    for name, valve in zip(model.names, model.engine.valves, strict=True):
        ours = margin(model.engine, model.cam, valve, crank)
        up = model.is_up(name, crank)
        steps = next(
            (
                step
                for step in range(1, 1441)
                if any(model.is_up(name, crank + side * step / 4) != up for side in (1, -1))
            ),
            0,
        )
        assert abs(ours) == pytest.approx(steps / 4 - 0.125, abs=0.13)
        assert ours < 1e-6 if up else ours > -1e-6


def test_a_lobe_widened_right_round_leaves_no_heel() -> None:
    none = Cam(Events(300, 230, 74, 20), 1.27)
    intake = Valve.parse("1I")
    assert open_arc(FOUR, none, intake).length == 720
    assert heel_arc(FOUR, none, intake).length == 0
    assert all(margin(FOUR, none, intake, crank) < 0 for crank in range(0, 720, 5))


def test_how_far_a_piston_is_from_tdc() -> None:
    # Cylinder 3 fires at 180, so its other TDC is at 540.
    table = {180: 0, 540: 0, 0: 180, 360: 180, 170: 10, 200: 20, 700: 160, 719: 179}
    assert {crank: tdc_distance(FOUR, 3, crank) for crank in table} == table


def test_a_valve_the_engine_has_not() -> None:
    for ask in (open_arc, heel_arc):
        with pytest.raises(ValueError, match="no cylinder 9"):
            ask(FOUR, ROAD, Valve.parse("9E"))
