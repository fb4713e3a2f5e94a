"""The engine from above: where valves are, and what is drawn."""

from itertools import cycle

from heelwise.pictures.cells import ValveSign, grid_svg
from heelwise.pictures.top_view import engine_cells, engine_height
from heelwise.valvetrain.engine import Valve, make_engine
from tests.pictures.engines import SVG, every_engine, inline, text_of, v8, well_formed

PROVED, INSIDE, SHORT = ValveSign.PROVED, ValveSign.INSIDE, ValveSign.SHORT


def valve(name: str) -> Valve:
    return Valve.parse(name)


def test_a_v8_at_its_smallest_size() -> None:
    states = {valve("1I"): PROVED, valve("1E"): INSIDE, valve("5E"): SHORT}
    assert engine_height(v8(), 26) == 7
    assert text_of(engine_cells(v8(), states, valve("2I"), 26, 7)) == (
        "◄ front, from above\n"
        "right\n"
        " 1I 1E►2I 2E 3I 3E 4I 4E\n"
        "  ●  ○  ►  ·  ·  ·  ·  ·\n"
        "left\n"
        " 5E 5I 6E 6I 7E 7I 8E 8I\n"
        "  ▼  ·  ·  ·  ·  ·  ·  ·"
    )


def test_a_row_too_long_goes_on_under_itself() -> None:
    text = text_of(engine_cells(inline(6, rows=True), {}, None, 26, 6))
    assert text.splitlines()[2::2] == [" 1E 1I 2E 2I 3E 3I 4E 4I", " 5E 5I 6E 6I"]


def test_two_cylinders_with_the_legend() -> None:
    text = text_of(engine_cells(inline(2), {}, valve("2E"), 26, 7))
    assert text == ("◄ front, from above\nall\n 1I 2I\n  ·  ·\n 1E►2E\n  ·  ►\n· not done   ► next")


def test_the_next_valve_keeps_a_state_already_known() -> None:
    text = text_of(engine_cells(inline(2), {valve("1I"): SHORT}, valve("1I"), 26, 7))
    assert "►1I" in text
    assert [text.count(sign) for sign in ("▼ short", "► next")] == [1, 0]


def test_every_count_is_drawn_whole_at_its_smallest_sizes() -> None:
    for engine in every_engine():
        states = dict(zip(engine.valves, cycle(ValveSign), strict=False))
        for width in (26, 200):
            height = engine_height(engine, width)
            grid = engine_cells(engine, states, engine.valves[-1], width, height)
            assert len(grid) == height
            assert all(len(row) == width for row in grid)
            text = text_of(grid)
            words = text.replace("►", " ").replace(">", " ").split()
            for each in engine.valves:
                assert words.count(str(each)) == 1, f"{each} in\n{text}"
            glyphs = sum(
                cell.tone in set(ValveSign) and len(cell.char) == 1
                for row in grid
                for cell in row
                if not cell.char.isalnum()
            )
            assert glyphs > 0


def test_below_its_size_nothing_is_drawn() -> None:
    for size in ((60, 6), (25, 40)):
        assert text_of(engine_cells(v8(), {}, None, *size)).strip() == "no room to draw it"


def test_every_svg_is_well_formed_and_names_every_valve_inside_its_frame() -> None:
    for engine in every_engine():
        states = dict(zip(engine.valves, cycle(ValveSign), strict=False))
        grid = engine_cells(engine, states, None, 60, engine_height(engine, 60) + 6)
        root = well_formed(grid_svg(grid, "the engine"))
        texts = {text.text: text for text in root.iter(f"{SVG}text")}
        places = set()
        for each in engine.valves:
            place = float(texts[str(each)].attrib["x"]), float(texts[str(each)].attrib["y"])
            assert 0 < place[0] < float(root.attrib["width"])
            assert 0 < place[1] < float(root.attrib["height"])
            places.add(place)
        assert len(places) == len(engine.valves)


def test_a_bank_may_have_any_name() -> None:
    name = "<script>&\"'汉字 a very long name indeed"
    engine = make_engine([1, 2], banks={name: [1], "b": [2]})
    grid = engine_cells(engine, {}, None, 26, engine_height(engine, 26))
    assert all(len(row) == 26 for row in grid)
    assert name[:8] in text_of(grid)
    well_formed(grid_svg(grid, name))
