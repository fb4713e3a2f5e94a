from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heelwise.valvetrain.cam import (
    RAMP_ALLOWANCE_DEG,
    Cam,
    Events,
    Timing,
    events_from_timing,
    timing_from_events,
)

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
    assert (f"{added}°" in cam.said) == (added > 0)
    assert Cam(ROAD, lift_mm, ramp_allowance_deg=0).lobe_ends == ROAD
    assert RAMP_ALLOWANCE_DEG == 25


def test_what_is_said_names_the_lift() -> None:
    assert "0.050 in" in Cam(ROAD, 1.27).said
    assert "not stated" in Cam(ROAD, None).said


@pytest.mark.parametrize(
    ("events", "lift", "ramp", "words"),
    [
        (Events(-90, -90, 60, 20), 0.0, 25, "intake duration is 0°"),
        (Events(20, 60, 300, 240), 0.0, 25, "exhaust duration is 720°"),
        (Events(float("nan"), 60, 60, 20), 0.0, 25, "intake duration"),
        (ROAD, -0.1, 25, "lift"),
        (ROAD, float("inf"), 25, "lift"),
        (ROAD, 0.0, -1, "ramp allowance"),
        (ROAD, 0.0, float("nan"), "ramp allowance"),
    ],
)
def test_figures_that_are_no_cam_are_refused(
    events: Events, lift: float, ramp: float, words: str
) -> None:
    with pytest.raises(ValueError, match=words):
        Cam(events, lift, ramp)


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
