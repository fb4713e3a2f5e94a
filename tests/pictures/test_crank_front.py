"""The crank from the front: marks, the turn's way, both rotations, words."""

import pytest

from heelwise.pictures.cells import text_of
from heelwise.pictures.crank_front import (
    SMALLEST_CRANK,
    Mark,
    crank_cells,
    crank_front,
    crank_words,
)
from heelwise.pictures.crank_front_svg import crank_svg
from heelwise.valvetrain.engine import make_engine
from tests.pictures.engines import v8, well_formed

CLOCKWISE = v8()
COUNTER = make_engine([1, 2], clockwise=False)


def test_a_quarter_turn_clockwise_comes_from_the_left() -> None:
    """At TDC the 90° mark is a quarter behind the pointer: at nine o'clock."""
    view = crank_front(CLOCKWISE, 0.0, 90.0)
    assert view.target == Mark(90.0, 270.0)
    assert (view.turn_deg, view.whole_turns, view.arc_deg, view.sign) == (90.0, 0, 90.0, 1)
    assert view.marks == (
        Mark(0.0, 0.0),
        Mark(90.0, 270.0),
        Mark(180.0, 180.0),
        Mark(270.0, 90.0),
    )


def test_counterclockwise_is_its_mirror() -> None:
    view = crank_front(COUNTER, 0.0, 90.0)
    assert view.target == Mark(90.0, 90.0)
    assert view.sign == -1


def test_after_a_quarter_turn_the_tdc_mark_is_at_three_o_clock() -> None:
    assert crank_front(CLOCKWISE, 90.0).marks[0] == Mark(0.0, 90.0)
    assert crank_front(COUNTER, 90.0).marks[0] == Mark(0.0, 270.0)


@pytest.mark.parametrize(
    ("at", "to", "turn", "whole", "arc"),
    [
        (0.0, 360.0, 360.0, 1, 0.0),
        (90.0, 540.0, 450.0, 1, 90.0),
        (630.0, 0.0, 90.0, 0, 90.0),
        (700.0, 40.5, 60.5, 0, 60.5),
        (10.0, 10.0, 0.0, 0, 0.0),
    ],
)
def test_turns(at: float, to: float, turn: float, whole: int, arc: float) -> None:
    view = crank_front(CLOCKWISE, at, to)
    assert (view.turn_deg, view.whole_turns, view.arc_deg) == (turn, whole, arc)


def test_a_turn_of_two_revolutions_can_be_asked_for() -> None:
    view = crank_front(CLOCKWISE, 90.0, 90.0, turn_deg=720.0)
    assert view.whole_turns == 2
    assert "Turn 2 turns (720°) clockwise" in crank_words(view)


def test_the_damper_s_own_marks_are_drawn_unless_too_close() -> None:
    def marked(deg: float) -> int:
        return len(crank_front(make_engine([1], damper_marks_deg=deg), 0.0).marks)

    assert [marked(deg) for deg in (60.0, 30.0, 10.0, 720.0)] == [6, 12, 4, 4]


def test_words() -> None:
    assert crank_words(crank_front(CLOCKWISE, 90.0, 540.0)) == (
        "Crank at 90°. Turn 1 turn and 90° (450°) clockwise, seen from the front, to 540°: "
        "cylinder 7 at TDC on compression (4 at overlap)."
    )
    assert crank_words(crank_front(COUNTER, None)) == (
        "The crank's place is not known. It turns counterclockwise, seen from the front."
    )
    assert crank_words(crank_front(CLOCKWISE, 90.0)) == (
        "Crank at 90°: cylinder 5 at TDC on compression (3 at overlap). It turns clockwise."
    )


def test_a_quarter_turn_at_the_smallest_size() -> None:
    grid = crank_cells(crank_front(CLOCKWISE, 0.0, 90.0), *SMALLEST_CRANK)
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
        " clockwise, from the front"
    )


@pytest.mark.parametrize("ascii_only", [False, True])
@pytest.mark.parametrize("engine", [CLOCKWISE, COUNTER])
def test_figures_stay_readable_at_every_angle(engine: object, ascii_only: bool) -> None:
    assert isinstance(engine, type(CLOCKWISE))
    for step in range(0, 720, 15):
        view = crank_front(engine, step + 0.5, step * 7.0)
        for width, height in (SMALLEST_CRANK, (33, 15), (60, 21)):
            grid = crank_cells(view, width, height, ascii_only)
            assert len(grid) == height
            assert all(len(row) == width for row in grid)
            text = text_of(grid)
            assert view.turn_deg is not None
            assert f"turn {round(view.turn_deg, 1):g}" in text
            assert f"at {step + 0.5:g}" in text
            assert text.isascii() or not ascii_only
            assert view.rotation in text


def test_below_the_smallest_size_it_is_said() -> None:
    view = crank_front(CLOCKWISE, 0.0, 90.0)
    width, height = SMALLEST_CRANK
    for size in ((width - 1, height), (width, height - 1)):
        assert text_of(crank_cells(view, *size)).startswith("Crank at 0°. Turn a")


def test_svgs_are_well_formed() -> None:
    for engine in (CLOCKWISE, COUNTER):
        for at, to in ((0.0, None), (None, None), (37.5, 100.0), (90.0, 540.0), (5.0, 5.0)):
            svg = crank_svg(crank_front(engine, at, to))
            well_formed(svg)
            assert ("path" in svg) is (to in (100.0, 540.0))
