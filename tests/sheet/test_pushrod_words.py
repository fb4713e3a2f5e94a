"""The set of pushrods in words: what was read, what to buy, what to expect."""

from heelwise.documents.setup_lifters import Counted
from heelwise.pictures.cells import ValveSign
from heelwise.sheet.pushrod_words import pushrod_sections
from heelwise.sheet.sections import Section
from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.trials import Reading
from heelwise.walk.buying import PushrodSet, repeated
from heelwise.walk.scene import scene_of
from tests.sheet.records import bolt_down
from tests.sheet.test_setup_words import setup_of


def set_of_counts(*counts: tuple[str, float, float], **setup: object) -> PushrodSet:
    """Counts of a valve, a pushrod in mm, turns; the latest of a valve is judged."""
    sold = {"sold_from": "214.0 mm", "sold_to": "226.0 mm", "sold_step": "0.5 mm"}
    pushrods = {"intake": "218.0 mm", "exhaust": "218.0 mm", **sold}
    built = setup_of(**{"pushrods": pushrods, **setup})
    scene = scene_of(built, bolt_down())
    readings = [Reading(Valve.parse(valve), mm, turns) for valve, mm, turns in counts]
    latest = {reading.valve: reading for reading in readings}
    return PushrodSet(scene, tuple(map(Counted, latest.values())), repeated(readings))


def sections_of(pushrods: PushrodSet) -> dict[str, Section]:
    return {part.key: part for part in pushrod_sections(pushrods, pushrods.order())}


def test_a_short_count_says_what_to_try_and_an_inside_one_nothing() -> None:
    found = sections_of(set_of_counts(("1I", 218.0, 0.125), ("1E", 218.0, 0.75)))
    table = found["readings"]
    rows = {row.valves[0]: row for row in table.rows}
    cells = {
        name: dict(zip(table.heads, row.painted("mm"), strict=True)) for name, row in rows.items()
    }
    assert (rows["1I"].state, rows["1E"].state) == (ValveSign.SHORT, ValveSign.INSIDE)
    assert cells["1I"]["try"].endswith("mm")
    assert cells["1E"]["try"] == cells["1E"]["expect"] == ""
    assert cells["1I"]["pushrod"] == "218.00 mm"
    assert rows["1I"].bar is not None


def test_the_order_and_its_odds_cover_every_valve_read() -> None:
    found = sections_of(set_of_counts(("1I", 218.0, 0.125), ("1E", 218.0, 0.75)))
    bought = [valve for row in found["buy"].rows for valve in row.valves]
    assert sorted(bought) == ["1E", "1I"]
    assert [row.valves for row in found["expect"].rows] == [("1I",), ("1E",)]
    assert sum(int(row.cells[0]) for row in found["buy"].rows) == 2


def test_other_orders_stand_with_their_worst_odds() -> None:
    counts = (("1I", 218.0, 0.125), ("1E", 218.0, 0.75), ("2I", 218.0, 1.5), ("2E", 218.0, 0.5))
    pushrods = set_of_counts(*counts)
    others = [choice for choice in pushrods.choices if choice.order != pushrods.order()]
    found = sections_of(pushrods)
    assert len(found["other orders"].rows if others else ()) == len(others)
    for row, choice in zip(found["other orders"].rows if others else (), others, strict=True):
        assert row.cells[1] == f"{choice.worst_chance:.0%}"


def test_lash_left_is_said_before_buying() -> None:
    found = sections_of(set_of_counts(("1I", 218.0, 0.0)))
    assert "1I" in found["before buying"].rows[0].cells[0]
    assert "expect" not in found


def test_counts_of_one_length_stand_together() -> None:
    found = sections_of(set_of_counts(("1I", 218.0, 0.5), ("1I", 218.0, 0.75)))
    (row,) = found["repeats"].rows
    assert row.valves == ("1I",)
    assert "repeats" not in sections_of(set_of_counts(("1I", 218.0, 0.5), ("1I", 219.0, 0.75)))


def test_what_nothing_serves_is_said() -> None:
    on_hand = {"intake": "218.0 mm", "exhaust": "218.0 mm", "on_hand": ["218.0 mm"]}
    found = sections_of(set_of_counts(("1I", 218.0, 0.125), pushrods=on_hand))
    assert any("1I" in row.cells[0] for row in found["before buying"].rows)
    table = found["readings"]
    assert table.rows[0].cells[table.heads.index("expect")] == ""


def test_figures_name_their_sources() -> None:
    pushrods = set_of_counts()
    rows = {row.cells[0]: row.cells for row in sections_of(pushrods)["figures"].rows}
    assert rows["window"][2] == pushrods.scene.window.source
    assert rows["travel per turn"][2] != ""
