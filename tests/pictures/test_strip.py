"""The 720° strip: what is drawn free is free."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heelwise.pictures.cells import text_of
from heelwise.pictures.roles import Role
from heelwise.pictures.strip import LEFT, strip, strip_cells, strip_size, strip_svg
from heelwise.valvetrain.cam import Arc, Cam, Events, margin
from heelwise.valvetrain.engine import Engine, Valve, ValveKind, make_engine
from heelwise.valvetrain.positions import fewest_positions
from tests.pictures.engines import SVG, every_engine, inline, v8, well_formed

CAM = Cam(Events(20.0, 60.0, 60.0, 20.0), at_lift_mm=0.15)


def test_one_cylinder_worked_by_hand() -> None:
    """Exhaust 120 to 380, intake 340 to 600; 48 columns of 15 degrees; margin 10."""
    view = strip(inline(1), CAM, 10.0, at_deg=30.0)
    assert strip_size(view) == (54, 4)
    lines = text_of(strip_cells(view, 54, 4)).splitlines()
    assert lines[0].index("▼") == LEFT + 2
    assert lines[1] == " 1 IE T │ · ·░▄▄▄▄▄▄▄▄E▄▄▄▄▄▀▀▀▀▀▀▀▀▀I▀▀▀▀▀▀▀▀░ · · ·"
    assert lines[2].split() == ["0", "90", "180", "270", "360", "450", "540", "630"]
    bare = text_of(strip_cells(view, 54, 4, ascii_only=True)).splitlines()
    assert bare[1] == " 1 IE T | . .:EEEEEEEEEEEEEE####IIIIIIIIIIIIII: . . ."


def test_what_is_free_here_stands_at_the_left() -> None:
    """At 115 the exhaust has 5 degrees of the 10 asked for; at 360 both are on their lobes."""
    free = [strip(inline(1), CAM, 10.0, at_deg=at).rows[0].free for at in (30.0, 115.0, 360.0)]
    assert free == [(ValveKind.EXHAUST, ValveKind.INTAKE), (ValveKind.INTAKE,), ()]


def test_overlap_has_a_fill_of_its_own_without_color() -> None:
    view = strip(inline(1), CAM, 10.0)
    roles = {
        (cell.char, cell.role)
        for color in (True, False)
        for cell in strip_cells(view, 54, 4, color=color)[1]
        if cell.role is Role.OVERLAP
    }
    assert roles == {("▀", Role.OVERLAP), ("█", Role.OVERLAP)}


def test_a_crank_that_is_only_imagined_has_a_line_of_its_own() -> None:
    view = strip(inline(1), CAM, 10.0, at_deg=0.0, ghost_deg=360.0)
    grid = strip_cells(view, 54, 4)
    assert view.rows[0].free == ()
    assert [grid[row][LEFT + 24].role for row in (0, 1)] == [Role.GHOST, Role.GHOST]
    assert grid[1][LEFT].role is Role.CRANK


def test_the_lobes_as_arcs() -> None:
    (row,) = strip(inline(1), CAM, 10.0).rows
    assert row.lobes == {ValveKind.EXHAUST: Arc(120.0, 260.0), ValveKind.INTAKE: Arc(340.0, 260.0)}
    assert row.near[ValveKind.INTAKE] == Arc(330.0, 280.0)


def test_rows_are_in_firing_order_from_cylinder_one() -> None:
    view = strip(make_engine([6, 3, 7, 8, 1, 5, 4, 2]), CAM, 10.0)
    assert [row.cylinder for row in view.rows] == [1, 5, 4, 2, 6, 3, 7, 8]


def test_positions_crank_and_ranges_are_marked() -> None:
    plan = fewest_positions(v8(), CAM)
    view = strip(v8(), CAM, 10.0, 450.0, plan, [Arc(690.0, 60.0)])
    lines = text_of(strip_cells(view, 78, 12)).splitlines()
    for number, deg in view.positions:
        column = LEFT + int(deg / 10)
        assert str(number) in lines[0][column : column + 2]
    assert lines[0][LEFT + 45] == "▼"
    assert lines[9].replace("│", " ") == "may   ███" + " " * 66 + "███"
    assert "It may be at 690° to 30°." in view.words
    assert view.words.startswith("Crank at 450°: cylinder 3 at TDC on compression (5 at overlap).")


def test_words_tell_what_is_free() -> None:
    assert strip(inline(1), CAM, 10.0, at_deg=115.0).words.endswith("by 10°: 1I.")


def test_with_the_cam_not_known_only_compression_is_shown() -> None:
    text = text_of(strip_cells(strip(v8(), None, 10.0), 78, 11))
    assert text.count("T ") + text.count("T\n") >= 8
    assert not set("EIX") & set("".join(line[LEFT:] for line in text.splitlines()[1:9]))


@settings(max_examples=150, deadline=None)
@given(
    count=st.integers(1, 24),
    events=st.tuples(*[st.floats(0, 110)] * 4),
    asked=st.floats(0, 40),
    width=st.integers(54, 150),
)
def test_what_is_drawn_free_is_free(
    count: int, events: tuple[float, float, float, float], asked: float, width: int
) -> None:
    engine, cam = inline(count), Cam(Events(*events), at_lift_mm=0.1)
    view = strip(engine, cam, asked)
    grid = strip_cells(view, width, strip_size(view).height)
    step = 720.0 / min((width - LEFT) // 12 * 12, 144)
    for row, line in zip(view.rows, grid[1:], strict=False):
        for column, cell in enumerate(line[LEFT:]):
            if cell.role is not Role.HEEL:
                continue
            for kind in row.lobes:
                for deg in (column * step + 1e-3, (column + 1) * step - 1e-3):
                    assert margin(engine, cam, Valve(row.cylinder, kind), deg) >= asked - 1e-3


def test_every_count_is_drawn_at_its_smallest_size_and_said_below_it() -> None:
    for engine in every_engine():
        view = strip(engine, CAM, 10.0, 0.0)
        width, height = strip_size(view)
        grid = strip_cells(view, width, height, ascii_only=True)
        assert len(grid) == height
        assert all(len(row) == width for row in grid)
        text = text_of(grid)
        assert text.isascii()
        assert [int(line[:3]) for line in text.splitlines()[1:-2]] == [
            row.cylinder for row in view.rows
        ]
        for size in ((width - 1, height), (width, height - 1)):
            assert text_of(strip_cells(view, *size)).startswith("Crank at 0°: cyl")


@pytest.mark.parametrize("engine", [inline(1), inline(24), v8()])
@pytest.mark.parametrize("cam", [None, CAM])
def test_svgs_are_well_formed_and_draw_each_lobe_where_it_is(
    engine: Engine, cam: Cam | None
) -> None:
    plan = fewest_positions(engine, cam) if cam else None
    view = strip(engine, cam, 10.0, 90.0, plan, [Arc(700.0, 40.0)])
    root = well_formed(strip_svg(view))
    spans = [
        (round(float(rect.attrib["x"]) - 44, 1), round(float(rect.attrib["width"]), 1))
        for rect in root.iter(f"{SVG}rect")
        if rect.attrib["height"] == "10"
    ]
    for row in view.rows:
        for lobe in row.lobes.values():
            first = min(lobe.length, 720 - lobe.start)
            assert (round(lobe.start, 1), round(first, 1)) in spans
    assert bool(view.rows[0].lobes) is (cam is not None)
