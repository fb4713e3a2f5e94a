"""`positions` and `where`: their JSON, their exit codes, and answers worked by hand.

The cam is 20/60/60/20, even firing 1-8-4-3-6-5-7-2, so cylinder k of the order has its TDC on
compression at 90·(k-1). An intake's lobe runs from phase + 340 to phase + 600, an exhaust's
from phase + 120 to phase + 380.
"""

import itertools
import xml.etree.ElementTree as ET

import pytest

from tests.commands.running import Runner

ORDER = (1, 8, 4, 3, 6, 5, 7, 2)
PHASE = {c: 90.0 * i for i, c in enumerate(ORDER)}


def _margin(valve: str, crank: float) -> float:
    """Degrees from the nearer end of the lobe, straight from the four events."""
    start = PHASE[int(valve[:-1])] + (340.0 if valve[-1] == "I" else 120.0)
    into = (crank - start) % 720.0
    length = 260.0
    if into < length:
        return -min(into, length - into)
    return min(into - length, 720.0 - into)


def test_every_valve_has_one_place_with_its_true_margin(heelwise: Runner) -> None:
    ran = heelwise("positions", heelwise.setup(), "--json")
    assert ran.code == 0
    plan = ran.json
    assert plan["method"] == "fewest"
    placed = [(v["valve"], p, v) for p in plan["positions"] for v in p["valves"]]
    assert sorted(name for name, _, _ in placed) == sorted(
        f"{c}{k}" for c, k in itertools.product(ORDER, "IE")
    )
    for name, position, row in placed:
        assert row["margin_deg"] == pytest.approx(_margin(name, position["crank_deg"]))
    assert plan["least_margin_deg"] == pytest.approx(min(v["margin_deg"] for _, _, v in placed))
    assert plan["least_margin_deg"] >= 10


def test_positions_grow_and_their_turns_add_up(heelwise: Runner) -> None:
    positions = heelwise("positions", heelwise.setup(), "--json").json["positions"]
    crank = [p["crank_deg"] for p in positions]
    assert crank == sorted(crank)
    assert all(0 <= c < 720 for c in crank)
    assert list(itertools.accumulate(p["turn_deg"] for p in positions)) == pytest.approx(crank)
    assert [p["number"] for p in positions] == list(range(1, len(crank) + 1))
    assert all(p["landmark"] for p in positions)


def test_also_free_are_on_their_heel_and_elsewhere_at_home(heelwise: Runner) -> None:
    for position in heelwise("positions", heelwise.setup(), "--json").json["positions"]:
        here = {v["valve"] for v in position["valves"]}
        free = {v["valve"] for v in position["also_free"]}
        assert not here & free
        for row in position["also_free"]:
            assert row["margin_deg"] >= 0
        on_heel = {
            f"{c}{k}"
            for c, k in itertools.product(ORDER, "IE")
            if _margin(f"{c}{k}", position["crank_deg"]) >= 0
        }
        assert here | free == on_heel


def test_marks_pistons_and_each(heelwise: Runner) -> None:
    setup = heelwise.setup()
    on_marks = heelwise("positions", setup, "--marks", "90", "--json").json
    assert {p["crank_deg"] % 90 for p in on_marks["positions"]} == {0.0}
    down = heelwise("positions", setup, "--pistons-down", "30", "--json").json
    for position in down["positions"]:
        for row in position["valves"]:
            cylinder = int(row["valve"][:-1])
            away = (position["crank_deg"] - PHASE[cylinder]) % 360
            assert min(away, 360 - away) >= 30 - 1e-9
            assert row["from_tdc_deg"] == pytest.approx(min(away, 360 - away))
    each = heelwise("positions", setup, "--each", "--json").json
    assert each["method"] == "each"
    assert [p["crank_deg"] for p in each["positions"]] == [90.0 * i for i in range(8)]
    assert [[v["valve"] for v in p["valves"]] for p in each["positions"]] == [
        [f"{c}I", f"{c}E"] for c in ORDER
    ]


def test_impossible_margins_say_the_most_that_can_be_had(heelwise: Runner) -> None:
    """720 - 260 leaves a heel of 460°: never more than 230° from both ends."""
    ran = heelwise("positions", heelwise.setup(), "--margin", "231", "--json")
    assert ran.code == 1
    assert ran.json["most_margin_deg"] == pytest.approx(230.0)
    assert ran.json["message"]
    plain = heelwise("positions", heelwise.setup(), "--margin", "231")
    assert plain.code == 1
    assert "230" in plain.err


@pytest.mark.parametrize(
    "words",
    [
        ("--marks", "50"),
        ("--marks", "0"),
        ("--marks", "nan"),
        ("--margin", "-1"),
        ("--margin", "nan"),
        ("--pistons-down", "181"),
        ("--each", "--marks", "90"),
        ("--margin", "ten"),
    ],
)
def test_words_that_are_off_are_usage(heelwise: Runner, words: tuple[str, ...]) -> None:
    ran = heelwise("positions", heelwise.setup(), *words)
    assert ran.code == 2
    assert ran.err
    assert "Traceback" not in ran.err


def test_engine_and_cam_are_enough(heelwise: Runner) -> None:
    setup = heelwise.setup(
        "format = 1\n[engine]\nfiring_order = [1, 3, 4, 2]\n[cam]\nknown = false\n"
    )
    ran = heelwise("positions", setup, "--json")
    assert ran.code == 0
    assert ran.json["method"] == "each"
    assert ran.json["least_margin_deg"] is None
    assert {v["margin_deg"] for p in ran.json["positions"] for v in p["valves"]} == {None}
    assert heelwise("where", setup, "--up", "1I").code == 1


def test_where_with_no_answers_is_the_whole_cycle(heelwise: Runner) -> None:
    found = heelwise("where", heelwise.setup(), "--json").json
    assert found["ranges"] == [{"from_deg": 0.0, "to_deg": 720.0}]
    assert found["feel_next"]


def test_where_worked_by_hand(heelwise: Runner) -> None:
    """1I up: 340 to 600. 1E up as well: 120 to 380. Both: 340 to 380."""
    found = heelwise("where", heelwise.setup(), "--up", "1I,1E", "--json").json
    assert found["ranges"] == [{"from_deg": 340.0, "to_deg": 380.0}]
    # Lobes begin at 340 + 90k and 120 + 90k, and end at 600 + 90k and 380 + 90k: none of these
    # lies between 340 and 380, so no lifter narrows it further.
    assert found["feel_next"] is None
    first = heelwise("where", heelwise.setup(), "--up", "1I", "--json").json
    assert first["feel_next"] not in ("1I", None)
    wraps = heelwise("where", heelwise.setup(), "--down", "1I,1E", "--json").json
    assert wraps["ranges"] == [{"from_deg": 600.0, "to_deg": 120.0}]


def test_where_contradiction(heelwise: Runner) -> None:
    ran = heelwise("where", heelwise.setup(), "--up", "1I,6I", "--json")
    assert (ran.code, ran.json["ranges"]) == (1, [])
    plain = heelwise("where", heelwise.setup(), "--up", "1I,6I")
    assert plain.code == 1
    assert "feel 1I or 6I again" in plain.err
    assert heelwise("where", heelwise.setup(), "--up", "1I", "--down", "1I").code == 1


@pytest.mark.parametrize("name", ["9I", "1X", "", "I1", "0E"])
def test_where_wants_valves_of_the_engine(heelwise: Runner, name: str) -> None:
    ran = heelwise("where", heelwise.setup(), "--up", name or ",,")
    assert ran.code == (2 if name else 0)


def test_positions_as_a_picture(heelwise: Runner) -> None:
    """Each position's number is written above the cycle, at its place."""
    plan = heelwise("positions", heelwise.setup(), "--json").json
    drawn = heelwise("positions", heelwise.setup(), "--as", "svg")
    assert drawn.code == 0
    root = ET.fromstring(drawn.out)
    texts = root.iter("{http://www.w3.org/2000/svg}text")
    above = {t.text: float(t.attrib["x"]) for t in texts if t.attrib["y"] == "16"}
    assert {float(number): x - 60 for number, x in above.items() if number} == {
        p["number"]: p["crank_deg"] // 10 * 10 for p in plan["positions"]
    }, "one unit a degree, ten a cell"
