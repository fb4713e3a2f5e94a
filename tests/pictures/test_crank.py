"""The crank from the front: marks, the turn's way, both rotations, words."""

import pytest

from heelwise.pictures.crank import (
    MARKS,
    SMALLEST_CRANK,
    Crank,
    crank_cells,
    lifters_at,
    seen_on_the_way,
)
from heelwise.valvetrain.cam import Cam, Events, margin
from heelwise.valvetrain.engine import make_engine
from tests.pictures.engines import text_of, v8

CLOCKWISE = v8()
COUNTER = make_engine([1, 2], clockwise=False)


def test_a_quarter_turn_clockwise_comes_from_the_left() -> None:
    """At TDC the 90° mark is a quarter behind the pointer: at nine o'clock."""
    view = Crank(CLOCKWISE, 0.0, 90.0)
    assert view.turn_deg == 90.0
    assert [view.clock(deg) for deg in MARKS] == [0.0, 270.0, 180.0, 90.0]


def test_counterclockwise_is_its_mirror() -> None:
    assert Crank(COUNTER, 0.0, 90.0).clock(90.0) == 90.0


def test_after_a_quarter_turn_the_tdc_mark_is_at_three_o_clock() -> None:
    assert Crank(CLOCKWISE, 90.0).clock(0.0) == 90.0
    assert Crank(COUNTER, 90.0).clock(0.0) == 270.0


@pytest.mark.parametrize(
    ("at", "to", "turn"),
    [
        (0.0, 360.0, 360.0),
        (90.0, 540.0, 450.0),
        (630.0, 0.0, 90.0),
        (700.0, 40.5, 60.5),
        (10.0, 10.0, 0.0),
    ],
)
def test_turns(at: float, to: float, turn: float) -> None:
    """Whole turns shade the rim; what is left of the turn is an arc of solid blocks."""
    view = Crank(CLOCKWISE, at, to)
    assert view.turn_deg == turn
    arc = [c.char for r in crank_cells(view, 60, 21) for c in r if c.char in "▒█►"]
    assert ("▒" in arc) is (turn >= 360)
    assert ("█" in arc) is (turn % 360 >= 1)


def test_a_quarter_turn_at_the_smallest_size() -> None:
    grid = crank_cells(Crank(CLOCKWISE, 0.0, 90.0), *SMALLEST_CRANK)
    assert text_of(grid) == (
        "             ▼\n"
        "          ██►+···\n"
        "        ███     ···\n"
        "       ██  at 0°  ··\n"
        "   90° ◆ turn 90°  + 270°\n"
        "       ·· to 90°  ··\n"
        "        ···     ···\n"
        "          ···+···\n"
        "           180°\n"
        "\n"
        "   front view, clockwise"
    )


@pytest.mark.parametrize("engine", [CLOCKWISE, COUNTER])
def test_figures_stay_readable_at_every_angle(engine: object) -> None:
    assert isinstance(engine, type(CLOCKWISE))
    for step in range(0, 720, 15):
        view = Crank(engine, step + 0.5, step * 7.0)
        for width, height in (SMALLEST_CRANK, (33, 15), (60, 21)):
            grid = crank_cells(view, width, height)
            assert len(grid) == height
            assert all(len(row) == width for row in grid)
            text = text_of(grid)
            assert f"turn {round(view.turn_deg, 1):g}" in text
            assert f"at {step + 0.5:g}" in text
            assert ("counter" in text) is not view.engine.clockwise


def test_below_the_smallest_size_nothing_is_drawn() -> None:
    view = Crank(CLOCKWISE, 0.0, 90.0)
    width, height = SMALLEST_CRANK
    for size in ((width - 1, height), (width, height - 1)):
        assert text_of(crank_cells(view, *size)).strip() == "no room to draw it"


CAM = Cam(Events(20.0, 60.0, 60.0, 20.0), at_lift_mm=0.15)
"""Exhaust 120 to 380, intake 340 to 600 of a cylinder's own cycle."""


def test_lifters_at_any_angle() -> None:
    one = make_engine([1])
    at = {
        deg: {str(v): words for v, _, words in lifters_at(one, CAM, deg)} for deg in (0, 250, 405)
    }
    assert at[0]["1E"] == "on its heel, its lobe in 120°"
    assert at[250]["1E"] == "falling, on its heel in 130°"
    assert at[405]["1I"] == "rising, at its top in 65°"
    for deg in range(0, 1440, 5):
        for valve, up, _ in lifters_at(CLOCKWISE, CAM, deg):
            assert up is (margin(CLOCKWISE, CAM, valve, deg) < 0)


def test_what_is_seen_on_the_way_is_in_order() -> None:
    """From 300: the intake rises 40 on, the exhaust is down 80 on, the intake is down 300 on."""
    seen = seen_on_the_way(make_engine([1]), CAM, 300.0, 300.0)
    assert [line.split("°")[0].strip() for line in seen] == ["40", "80", "300"]
    assert [line.split()[1] for line in seen] == ["1I", "1E", "1I"]
    assert seen_on_the_way(make_engine([1]), CAM, 300.0, 30.0) == ()


def test_what_is_seen_stands_beside_the_dial_where_there_is_room() -> None:
    view = Crank(CLOCKWISE, 0.0, 90.0)
    lines = [f"{number}°  {number}I rises" for number in range(1, 20)]
    text = text_of(crank_cells(view, 60, 11, beside=lines))
    assert "1°  1I rises" in text
    assert "8°  8I rises" in text
    assert "…" in text
    assert "1I rises" not in text_of(crank_cells(view, 40, 11, beside=lines))
