from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heelwise.valvetrain.cam import (
    RAMP_ALLOWANCE_DEG,
    Arc,
    Cam,
    Events,
    Timing,
    degrees_between,
    events_from_timing,
    heel_arc,
    margin,
    open_arc,
    tdc_distance,
    timing_from_events,
)
from heelwise.valvetrain.engine import Valve, make_engine
from tests.crank_model import Model, models, valves

ROAD = Events(25, 63, 74, 20)
degrees = st.floats(-80, 150)


def test_the_example_of_the_form() -> None:
    # By hand: 268/274, separation 113, centerline 109: 134-109, 109+134-180, 117+137-180, 137-117.
    assert events_from_timing(Timing(268, 274, 113, 109)) == ROAD


@settings(deadline=None)
@given(degrees, degrees, degrees, degrees)
def test_cards_both_ways(ivo: float, ivc: float, evo: float, evc: float) -> None:
    events = Events(ivo, ivc, evo, evc)
    back = events_from_timing(timing_from_events(events))
    assert (back.ivo_btdc, back.ivc_abdc, back.evo_bbdc, back.evc_atdc) == pytest.approx(
        (ivo, ivc, evo, evc), abs=1e-9
    )


@pytest.mark.parametrize(
    ("lift_mm", "added"),
    [(0.0, 0), (0.1524, 0), (0.254, 0), (0.2541, 25), (1.27, 25), (None, 25)],
)
def test_only_figures_from_low_on_the_lobe_are_its_ends(
    lift_mm: float | None, added: float
) -> None:
    cam = Cam(ROAD, lift_mm)
    assert cam.allowance_deg == added
    assert cam.lobe_ends == Events(25 + added, 63 + added, 74 + added, 20 + added)
    assert (f"{added}°" in cam.source) == (added > 0)
    assert Cam(ROAD, lift_mm, ramp_allowance_deg=0).lobe_ends == ROAD
    assert RAMP_ALLOWANCE_DEG == 25


def test_what_is_said_names_the_lift() -> None:
    assert "0.050 in" in Cam(ROAD, 1.27).source
    assert "not stated" in Cam(ROAD, None).source


def test_durations_right_up_to_the_limits_are_taken() -> None:
    assert Cam(Events(-90, -89.5, 60, 20), 0.0).events.intake_duration == 0.5
    assert "leaves no heel" in " ".join(Cam(Events(300, 239, 60, 20), 1.27).notes())


@pytest.mark.parametrize(
    ("events", "words"),
    [
        (Events(-5, 63, 74, 20), "the intake opens 5° after TDC"),
        (Events(25, -3, 74, 20), "the intake closes 3° before BDC"),
        (Events(25, 63, -1, 20), "the exhaust opens 1° after BDC"),
        (Events(25, 63, 74, -4), "the exhaust closes 4° before TDC"),
        (Events(-10, 63, 74, 5), "no overlap"),
        (Events(-30, -20, 74, 20), "intake duration of 130° is unusually short"),
        (Events(25, 63, 120, 90), "exhaust duration of 390° is unusually long"),
        (Events(25, 185, 74, 20), "intake is on its lobe at its cylinder's TDC on compression"),
        (Events(25, 63, 181, 20), "exhaust is on its lobe at its cylinder's TDC on compression"),
    ],
)
def test_oddities_are_notes(events: Events, words: str) -> None:
    assert any(words in note for note in Cam(events, 0.0).notes())


def test_an_ordinary_cam_has_no_oddities() -> None:
    assert Cam(ROAD, 0.0).notes() == ()


ROAD_CAM = Cam(Events(25, 63, 74, 20), 0.0)
FOUR = make_engine([1, 3, 4, 2])


def test_by_hand() -> None:
    first_in, first_ex, third_in = valves("1I", "1E", "3I")
    assert open_arc(FOUR, ROAD_CAM, first_in) == Arc(335, 268)
    assert open_arc(FOUR, ROAD_CAM, first_ex) == Arc(106, 274)
    assert heel_arc(FOUR, ROAD_CAM, first_in) == Arc(603, 452)
    assert open_arc(FOUR, ROAD_CAM, third_in) == Arc(515, 268)
    # At TDC on compression: 117 degrees since the intake closed, 106 until the exhaust opens.
    assert margin(FOUR, ROAD_CAM, first_in, 0) == 117
    assert margin(FOUR, ROAD_CAM, first_ex, 720) == 106
    assert margin(FOUR, ROAD_CAM, first_in, 335) == 0
    assert margin(FOUR, ROAD_CAM, first_in, 340) == -5
    assert margin(FOUR, ROAD_CAM, first_in, 469) == -134


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


def test_degrees_apart_the_shorter_way() -> None:
    assert (
        degrees_between(10, 710),
        degrees_between(710, 10),
        degrees_between(0, 360),
        degrees_between(5, 5),
    ) == (20, 20, 360, 0)


def test_an_arc_across_720() -> None:
    arc = Arc(700, 50)
    assert (arc.end, arc.middle) == (30, 5)
    assert all(arc.contains(deg) for deg in (700, 719, 0, 30))
    assert not any(arc.contains(deg) for deg in (699.9, 30.1, 365))
    assert Arc(0, 720).contains(123)
    # By hand: 690 to 20 and 700 to 30 share 700 to 20.
    assert arc.shared(690, 50) == 40
    assert arc.shared(100, 50) == 0
    assert arc.shared(0, 720) == 50
    # Met at both its ends: 300 to 310 and 0 to 10.
    assert Arc(300, 430).shared(0, 310) == 20


@settings(deadline=None)
@given(*(st.integers(0, 719) for _ in range(2)), *(st.integers(0, 720) for _ in range(2)))
def test_what_arcs_share_counted_degree_by_degree(
    start: int, other: int, length: int, other_length: int
) -> None:
    mine = {(start + deg) % 720 for deg in range(length)}
    theirs = {(other + deg) % 720 for deg in range(other_length)}
    assert Arc(start, length).shared(other, other_length) == len(mine & theirs)
