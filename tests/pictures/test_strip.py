"""The 720° strip: what is drawn free is free."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heelwise.pictures.cells import UNIT, grid_svg
from heelwise.pictures.strip import LEFT, PRINTED_WIDTH, Strip, strip_cells
from heelwise.valvetrain.cam import Arc, Cam, Events, margin
from heelwise.valvetrain.engine import Engine, Valve, ValveKind, make_engine
from heelwise.valvetrain.positions import fewest_positions
from tests.pictures.engines import SVG, every_engine, inline, text_of, v8, well_formed

CAM = Cam(Events(20.0, 60.0, 60.0, 20.0), at_lift_mm=0.15)


def test_one_cylinder_worked_by_hand() -> None:
    """Exhaust 120 to 380, intake 340 to 600; 48 columns of 15 degrees; margin 10."""
    view = Strip(inline(1), CAM, 10.0, at_deg=30.0)
    assert view.size == (54, 4)
    lines = text_of(strip_cells(view, 54, 4)).splitlines()
    assert lines[0].index("▼") == LEFT + 2
    assert lines[1] == " 1 IE T │ · ·░▄▄▄▄▄▄▄▄E▄▄▄▄▄████▀▀▀▀▀I▀▀▀▀▀▀▀▀░ · · ·"
    assert lines[2].split() == ["0", "90", "180", "270", "360", "450", "540", "630"]


def test_what_is_free_here_stands_at_the_left() -> None:
    """At 115 the exhaust has 5 degrees of the 10 asked for; at 360 both are on their lobes."""
    free = [Strip(inline(1), CAM, 10.0, at_deg=at).free(1) for at in (30.0, 115.0, 360.0)]
    assert free == [[ValveKind.INTAKE, ValveKind.EXHAUST], [ValveKind.INTAKE], []]


def test_a_crank_that_is_only_imagined_has_a_line_of_its_own() -> None:
    view = Strip(inline(1), CAM, 10.0, at_deg=0.0, ghost_deg=360.0)
    grid = strip_cells(view, 54, 4)
    assert view.free(1) == []
    assert [grid[row][LEFT + 24].char for row in (0, 1)] == ["▽", "┆"]
    assert grid[1][LEFT].char == "│"


def test_rows_are_in_firing_order_from_cylinder_one() -> None:
    view = Strip(make_engine([6, 3, 7, 8, 1, 5, 4, 2]), CAM, 10.0)
    lines = text_of(strip_cells(view, *view.size)).splitlines()
    assert [int(line[:3]) for line in lines[1:-2]] == [1, 5, 4, 2, 6, 3, 7, 8]


def test_positions_crank_and_ranges_are_marked() -> None:
    places = fewest_positions(v8(), CAM).crank_degs
    view = Strip(v8(), CAM, 10.0, 450.0, places, (Arc(690.0, 60.0),))
    lines = text_of(strip_cells(view, 78, 12)).splitlines()
    for number, deg in enumerate(places, start=1):
        column = LEFT + int(deg / 10)
        assert str(number) in lines[0][column : column + 2]
    assert lines[0][LEFT + 45] == "▼"
    assert lines[9].replace("│", " ") == "may   ███" + " " * 66 + "███"


def test_with_the_cam_not_known_only_compression_is_shown() -> None:
    text = text_of(strip_cells(Strip(v8(), None, 10.0), 78, 11))
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
    view = Strip(engine, cam, asked)
    grid = strip_cells(view, width, view.size.height)
    many = min((width - LEFT) // 12 * 12, 144)
    step = 720.0 / many
    order = sorted(range(1, count + 1), key=engine.phase)
    for cylinder, line in zip(order, grid[1:], strict=False):
        for column, cell in enumerate(line[LEFT : LEFT + many]):
            if cell.char not in " ·":
                continue
            for kind in ValveKind:
                for deg in (column * step + 1e-3, (column + 1) * step - 1e-3):
                    assert margin(engine, cam, Valve(cylinder, kind), deg) >= asked - 1e-3


def test_every_count_is_drawn_at_its_smallest_size_and_not_below_it() -> None:
    for engine in every_engine():
        view = Strip(engine, CAM, 10.0, 0.0)
        width, height = view.size
        grid = strip_cells(view, width, height)
        assert len(grid) == height
        assert all(len(row) == width for row in grid)
        text = text_of(grid)
        shown = sorted(int(line[:3]) for line in text.splitlines()[1:-2])
        assert shown == list(range(1, engine.cylinders + 1))
        for size in ((width - 1, height), (width, height - 1)):
            assert text_of(strip_cells(view, *size)).strip() == "no room to draw it"


@pytest.mark.parametrize("engine", [inline(1), inline(24), v8()])
@pytest.mark.parametrize("cam", [None, CAM])
def test_an_svg_draws_each_lobe_where_it_is(engine: Engine, cam: Cam | None) -> None:
    """To the cell, 10 degrees wide here; the lobe's letter and the TDC mark are left out."""
    view = Strip(engine, cam, 10.0, 90.0, (), (Arc(700.0, 40.0),))
    root = well_formed(grid_svg(strip_cells(view, PRINTED_WIDTH, view.size.height), "cycle"))
    drawn = {
        (place, int(float(rect.attrib["y"])) // UNIT.height)
        for rect in root.iter(f"{SVG}rect")
        if rect.attrib["height"] in ("11", "22") and rect.attrib["width"] != "2"
        for place in range(int(rect.attrib["x"]), int(rect.attrib["x"]) + int(rect.attrib["width"]))
    }
    order = sorted(range(1, engine.cylinders + 1), key=engine.phase)
    for row, cylinder in enumerate(order, start=1):
        lobes = view.lobes(cylinder).values()
        assert bool(lobes) is (cam is not None)
        missing = [
            deg
            for deg in range(0, 720, 10)
            if any(lobe.shared(deg, 10.0) > 1e-6 for lobe in lobes)
            and (UNIT.width * (LEFT + deg // 10), row) not in drawn
        ]
        assert len(missing) <= len(lobes) + 2
