"""Engines for the pictures' tests: every cylinder count, in one bank and in two."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Iterator

from heelwise.pictures.cells import Grid
from heelwise.valvetrain.engine import Engine, make_engine

SVG = "{http://www.w3.org/2000/svg}"


def inline(count: int, rows: bool = False) -> Engine:
    """One bank of so many cylinders; with a valve row E I E I ... or without."""
    order = range(1, count + 1)
    row = [f"{c}{kind}" for c in order for kind in "EI"]
    return make_engine(list(order), valve_rows={"all": row} if rows else None)


def two_banks(count: int) -> Engine:
    """Odd cylinders on one bank, even on the other."""
    order = range(1, count + 1)
    return make_engine(list(order), banks={"odd": list(order)[::2], "even": list(order)[1::2]})


def every_engine() -> Iterator[Engine]:
    """1 to 24 cylinders, in every form."""
    for count in range(1, 25):
        yield inline(count)
        yield inline(count, rows=True)
        if count > 1:
            yield two_banks(count)


def v8() -> Engine:
    """A V8 whose valve rows are known."""
    return make_engine(
        [1, 5, 4, 2, 6, 3, 7, 8],
        banks={"right": [1, 2, 3, 4], "left": [5, 6, 7, 8]},
        valve_rows={
            "right": ["1I", "1E", "2I", "2E", "3I", "3E", "4I", "4E"],
            "left": ["5E", "5I", "6E", "6I", "7E", "7I", "8E", "8I"],
        },
    )


def well_formed(svg: str) -> ET.Element:
    """Parse an SVG; nothing in it may run or be fetched."""
    root = ET.fromstring(svg)
    assert root.tag == f"{SVG}svg"
    for element in root.iter():
        assert element.tag.removeprefix(SVG) in (
            "svg",
            "title",
            "rect",
            "circle",
            "polygon",
            "line",
            "path",
            "text",
        )
        for name, value in element.attrib.items():
            assert not name.lower().startswith("on")
            assert "href" not in name
            assert "url(" not in value
    return root


def text_of(grid: Grid) -> str:
    """A grid's characters without their tones, no spaces at the ends of lines."""
    return "\n".join("".join(cell.char for cell in row).rstrip() for row in grid)
