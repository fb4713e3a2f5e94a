"""Setups: every fault at once, in words; what they come to; a round trip through TOML."""

import copy
import tomllib
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import tomli_w
from hypothesis import given, settings
from hypothesis import strategies as st

from heelwise.documents.faults import Faulty
from heelwise.documents.fields import as_far_as_read
from heelwise.documents.oddities import notes
from heelwise.documents.setup import Setup, load_setup, parse_setup
from heelwise.valvetrain.engine import Valve, ValveKind
from heelwise.valvetrain.travel import Origin
from heelwise.valvetrain.trials import Reading

SAMPLES = Path(__file__).parents[2] / "sample_builds"

WHOLE = """
format = 1
[engine]
cylinders = 4
firing_order = [1, 3, 4, 2]
firing_gaps = [180.0, 180.0, 180.0, 180.0]
banks = { head = [1, 2, 3, 4] }
valve_rows = { head = ["1E", "1I", "2I", "2E", "3E", "3I", "4I", "4E"] }
rotation = "counterclockwise"
damper_diameter = "150 mm"
damper_marks = 90.0
[cam]
intake_duration = 260.0
exhaust_duration = 264.0
lobe_separation = 110.0
intake_centerline = 106.0
advance = 2.0
at_lift = "0.05 in"
ramp_allowance = 30.0
[rocker]
mount = "bolt-down"
ratio = 1.5
thread = "3/8-24"
torque = "20 lbf ft"
[lifter]
kind = "hydraulic roller"
least_turns = "1/2"
most_turns = 1
least_preload = "0.5 mm"
most_preload = "1.5 mm"
travel_per_turn = "0.07 in"
plunger_travel = "4 mm"
seat_turns = "1/16"
[pushrods]
intake = "7.0 in"
exhaust = "7.1 in"
sold_from = "6.9 in"
sold_to = "7.2 in"
sold_step = "0.1 in"
[wrench]
name = "click wrench"
least = "5 N·m"
most = "50 N·m"
calibrated = 2026-01-02
cycles = 300
[[reading]]
valve = "1i"
pushrod = "7.0 in"
turns = "270°"
[[reading]]
valve = "1I"
pushrod = "7.1 in"
turns = 2.25
"""


def whole() -> dict[str, Any]:
    return copy.deepcopy(tomllib.loads(WHOLE))


def told(change: Callable[[dict[str, Any]], object]) -> list[str]:
    raw = whole()
    change(raw)
    with pytest.raises(Faulty) as refused:
        parse_setup(raw, "s.toml")
    return [str(fault) for fault in refused.value.faults]


def test_what_a_whole_setup_comes_to() -> None:
    setup = parse_setup(whole(), "s.toml")
    engine = setup.make_engine()
    assert engine.firing_order == (1, 3, 4, 2)
    assert not engine.clockwise
    assert engine.damper_diameter_mm == 150.0
    assert [str(valve) for valve in engine.banks[0].valve_row][:3] == ["1E", "1I", "2I"]
    cam = setup.make_cam()
    assert cam is not None
    # D/2 − ICL = 130 − 104 (106 advanced by 2) = 26, and 132 − (220 − 106 + 2) = 16.
    assert cam.events.ivo_btdc == 26.0
    assert cam.events.evc_atdc == 16.0
    assert cam.at_lift_mm == 1.27
    assert cam.ramp_allowance_deg == 30.0
    sheet = setup.window_sheet()
    assert sheet.turns == (0.5, 1.0)
    assert sheet.preload_mm == (0.5, 1.5)
    assert setup.figure("lifter.plunger_travel") == 4.0
    assert setup.lengths() == pytest.approx((175.26, 177.8, 180.34, 182.88))
    assert setup.lifter is not None
    assert setup.lifter.seat_turns == 1 / 16
    assert setup.rocker is not None
    assert setup.rocker.figure("torque") == pytest.approx(27.1164, abs=1e-4)
    assert setup.pushrods is not None
    assert setup.pushrods.length(ValveKind.EXHAUST) == pytest.approx(180.34)
    one = Valve.parse("1I")
    taken = [each.reading for each in setup.readings()]
    assert taken == [Reading(one, 177.8, 0.75), Reading(one, 180.34, 2.25)]
    assert all(each.counted and not each.lash_left for each in setup.readings())


def test_readings_measure_the_travel_and_outrank_the_sheet() -> None:
    setup = parse_setup(whole(), "s.toml")
    assert setup.travel_in_play().used.origin is Origin.SHEET
    measured = setup.travel_in_play(setup.trials()).used
    assert measured.origin is Origin.MEASURED
    assert measured.mm == pytest.approx(2.54 / 1.5)


@pytest.mark.parametrize(
    ("cam", "ivo"),
    [
        ("known = false", None),
        ("duration = 260.0\nlobe_separation = 110.0\nintake_centerline = 106.0", 24.0),
        (
            "intake_opens_btdc = 20.0\nintake_closes_abdc = 60.0\n"
            "exhaust_opens_bbdc = 60.0\nexhaust_closes_atdc = 20.0\nadvance = 3.0",
            23.0,
        ),
    ],
)
def test_the_other_forms_of_a_cam(cam: str, ivo: float | None) -> None:
    raw = whole() | {"cam": tomllib.loads(cam)}
    made = parse_setup(raw, "s.toml").make_cam()
    assert (None if made is None else made.events.ivo_btdc) == ivo


def test_only_the_engine_is_needed_until_more_is() -> None:
    setup = parse_setup({"format": 1, "engine": {"firing_order": [1, 2]}}, "s.toml")
    assert setup.make_cam() is None
    assert setup.lengths() == ()
    with pytest.raises(Faulty) as refused:
        setup.require("engine", "lifter", "rocker.torque", file="s.toml")
    assert [fault.where for fault in refused.value.faults] == ["lifter", "rocker.torque"]
    with pytest.raises(Faulty, match="lifter"):
        setup.window_sheet()


@pytest.mark.parametrize(
    ("table", "change", "said"),
    [
        ("engine", {"cylinders": 6}, "engine.cylinders: "),
        ("engine", {"firing_order": [1, 3, 3, 2]}, "engine.firing_order: 1-3-3-2"),
        ("engine", {"firing_gaps": [180.0] * 3 + [170.0]}, "engine.firing_gaps: the gaps sum"),
        ("engine", {"firing_order": ["1", 3, 4, 2]}, "engine.firing_order 1: "),
        ("engine", {"banks": {"head": [1, 2, 3]}, "valve_rows": {}}, "engine.banks: "),
        ("engine", {"valve_rows": {"head": ["1I"]}}, "engine.valve_rows.head: "),
        ("engine", {"valve_rows": {"head": ["x"]}}, "engine.valve_rows.head 1: "),
        ("engine", {"rotation": "left"}, 'engine.rotation: is "left"; write one of: clockwise'),
        ("engine", {"damper_marks": 7.0}, "engine.damper_marks: "),
        ("engine", {"damper_diameter": "0 mm"}, 'engine.damper_diameter: is "0 mm"'),
        ("engine", {"firing_ordr": [1]}, "engine.firing_ordr: there is no such key; did you mean"),
        ("engine", {"card": "../../x"}, 'engine.card: there is no card "../../x"'),
        ("engine", {"card": "i4-134"}, "did you mean i4-1342?"),
        ("cam", {"known": False}, "cam.known: is false, and stands beside"),
        ("cam", {"intake_opens_btdc": 1.0}, "are two forms of one thing"),
        ("cam", {"duration": 260.0}, "cam.duration: stands beside"),
        ("cam", {"intake_duration": "268"}, 'cam.intake_duration: "268" is text, not a number'),
        ("cam", {"intake_duration": 720.0}, "cam.intake_duration: is 720; write a number below"),
        ("cam", {"intake_duration": float("nan")}, "cam.intake_duration: isn't a finite number"),
        ("cam", {"at_lift": 0.05}, "cam.at_lift: 0.05 isn't a length; write text with its unit"),
        ("rocker", {"ratio": 0}, "rocker.ratio: is 0; write a number above 0"),
        ("rocker", {"thread": "M8"}, "rocker.thread: \"M8\" doesn't state the thread's pitch"),
        ("rocker", {"torque": "20"}, "rocker.torque: \"20\" has no unit"),
        ("rocker", {"mount": "bolt down"}, 'did you mean bolt-down?'),
        ("lifter", {"least_turns": 2}, 'lifter.least_turns: 2 is more than most_turns, 1'),
        ("lifter", {"least_preload": "1.6 mm"}, "lifter.least_preload: "),
        ("lifter", {"most_preload": "5 mm"}, "is more than plunger_travel"),
        ("lifter", {"travel_per_turn": "0.7 in"}, "can't come from a thread of 1.06 mm pitch"),
        ("lifter", {"kind": "solid roller"}, "has no plunger: least_turns"),
        ("lifter", {"most_turns": "nan"}, "lifter.most_turns: \"nan\" doesn't begin with a number"),
        ("pushrods", {"on_hand": ["7 in"]}, "pushrods.on_hand: stands beside sold_from"),
        ("pushrods", {"sold_from": "8 in"}, 'pushrods.sold_from: "8 in" is more than sold_to'),
        ("pushrods", {"sold_step": "0.00001 in"}, "pushrods.sold_step: "),
        ("pushrods", {"sold_step": "0 in"}, 'pushrods.sold_step: is "0 in"; write more than 0'),
        ("wrench", {"least": "60 N·m"}, "wrench.least: "),
        ("wrench", {"name": "a\nb"}, "wrench.name: "),
        ("wrench", {"calibrated": "2026-01-02"}, "write a date without quotes"),
    ],
)  # fmt: skip
def test_one_thing_wrong_is_one_fault(table: str, change: dict[str, object], said: str) -> None:
    faults = told(lambda raw: raw[table].update(change))
    assert len(faults) == 1
    assert said in faults[0]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda raw: raw.pop("format"), ["format: is missing; write format = 1 as the first line"]),
        (lambda raw: raw.update(format="1"), ['format: is "1"; write format = 1']),
        (lambda raw: raw.pop("engine"), ["engine: is missing; add it, like [engine] with card"]),
        (lambda raw: raw.update(engine=[{}]), ["engine: is an array of tables; write [name]"]),
        (lambda raw: raw.update(cam={}), ["cam: has no figures; give intake_duration"]),
        (lambda raw: raw.update(lifter={"kind": "hydraulic roller"}), ["lifter: has no window"]),
        (
            lambda raw: raw.update(cam={"exhaust_opens_bbdc": 10.0}),
            [
                "cam.intake_opens_btdc: is missing",
                "cam.intake_closes_abdc: is missing",
                "cam.exhaust_closes_atdc: is missing",
            ],
        ),
        (
            lambda raw: (raw["rocker"].pop("thread"), raw["lifter"].pop("travel_per_turn")),
            ["rocker.thread: is missing; add it, or lifter.travel_per_turn"],
        ),
        (
            lambda raw: raw["reading"].append({"valve": "9I", "pushrod": "7", "turns": "x"}),
            [
                'reading 3.pushrod: "7" has no unit',
                'reading 3.turns: "x" doesn\'t begin with a number',
                'reading 3.valve: the engine has no valve "9I"',
            ],
        ),
        (lambda raw: raw["pushrods"].pop("sold_to"), ["pushrods.sold_to: is missing"]),
        (lambda raw: raw["lifter"].pop("most_turns"), ["lifter.most_turns: is missing"]),
    ],
)
def test_what_is_missing_or_of_the_wrong_shape(
    change: Callable[[dict[str, Any]], object], said: list[str]
) -> None:
    faults = told(change)
    assert len(faults) == len(said)
    for fault, begins in zip(faults, said, strict=True):
        assert fault.startswith(begins)


def test_everything_wrong_is_told_at_once_in_the_order_of_the_file() -> None:
    def spoil(raw: dict[str, Any]) -> None:
        raw["engine"]["firing_gaps"][0] = 170.0
        raw["cam"]["intake_duration"] = "268"
        del raw["cam"]["lobe_separation"]
        raw["rocker"]["thread"] = "3/8"
        raw["lifter"] |= {"least_turns": 2, "plunger_travel": "25 ft-lb"}
        raw["colour"] = "red"

    places = [fault.split(": ")[0] for fault in told(spoil)]
    assert places == [
        "engine.firing_gaps",
        "cam.intake_duration",
        "cam.lobe_separation",
        "rocker.thread",
        "lifter.plunger_travel",
        "lifter.least_turns",
        "colour",
    ]


def test_a_newer_format_is_refused_politely_and_nothing_else_is_said() -> None:
    def spoil(raw: dict[str, Any]) -> None:
        raw.update(format=2, engine=7, whatever=1)

    assert told(spoil) == ["format: made for a newer Heelwise: format 2; this one reads format 1"]


def test_a_card_gives_what_is_not_given_beside_it() -> None:
    raw = {"format": 1, "engine": {"card": "v8-18726543", "rotation": "counterclockwise"}}
    setup = parse_setup(raw, "s.toml")
    engine = setup.make_engine()
    assert engine.firing_order == (1, 8, 7, 2, 6, 5, 4, 3)
    assert not engine.clockwise
    kept = setup.to_toml_dict()["engine"]
    assert kept["card"] == "v8-18726543"
    assert kept["firing_order"] == [1, 8, 7, 2, 6, 5, 4, 3]


def test_a_records_head_stands_without_its_card() -> None:
    raw = whole()
    raw["engine"]["card"] = "a-card-of-another-shop"
    setup = parse_setup(raw, "s.toml", resolve=False)
    assert setup.make_engine().firing_order == (1, 3, 4, 2)


@pytest.mark.parametrize(
    "sample",
    sorted(SAMPLES.glob("*-eight.toml")) + sorted(SAMPLES.glob("*-six.toml")),
    ids=lambda path: path.stem,
)
def test_the_samples_are_whole_and_come_back_from_toml_as_they_were(sample: Path) -> None:
    setup = load_setup(sample).require("cam", "rocker", "lifter", "pushrods", "wrench")
    again = parse_setup(tomllib.loads(tomli_w.dumps(setup.to_toml_dict())), "r", resolve=False)
    assert again == setup
    assert again.make_engine() == setup.make_engine()
    assert setup.travel_in_play(setup.trials()).largest_mm > 1.0
    assert setup.make_cam() is not None
    assert setup.readings() or len(setup.lengths()) > 10


def test_what_the_rockers_leave_out_is_not_made_up() -> None:
    raw = whole()
    raw["rocker"] = {"mount": "shaft", "ratio": 1.5}
    raw["pushrods"] = {"intake": "7 in", "exhaust": "7 in", "on_hand": ["7.1 in", "7 in"]}
    setup = parse_setup(raw, "s.toml")
    assert setup.rocker is not None
    assert (setup.rocker.figure("thread"), setup.rocker.figure("torque")) == (None, None)
    assert setup.lengths() == pytest.approx((177.8, 180.34))
    assert setup.travel_in_play().used.mm == pytest.approx(1.778)


def test_quantities_stay_as_typed() -> None:
    kept = parse_setup(whole(), "s.toml").to_toml_dict()
    assert kept["lifter"]["least_turns"] == "1/2"
    assert kept["rocker"]["torque"] == "20 lbf ft"
    assert kept["reading"][0] == {"valve": "1I", "pushrod": "7.0 in", "turns": "270°"}


@pytest.mark.parametrize(
    ("table", "change"),
    [
        ("engine", {"firing_order": [1] * 100_000}),
        ("engine", {f"firing_{n}": 1 for n in range(20_000)}),
        ("engine", {"valve_rows": {f"row {n}": ["1I"] for n in range(20_000)}}),
        ("engine", {"card": "../" * 300_000}),
        ("pushrods", {"on_hand": ["1 i"] * 50_000}),
        ("wrench", {"name": "x" * 1_000_000}),
        ("lifter", {"kind": "\x1b" * 1_000_000}),
    ],
    ids=["order", "keys", "rows", "card", "lengths", "name", "kind"],
)
def test_a_flood_becomes_a_few_short_lines(table: str, change: dict[str, object]) -> None:
    faults = told(lambda raw: raw[table].update(change))
    assert len(faults) <= 201
    assert max(map(len, faults)) <= 500


_ODD = st.one_of(
    st.none().map(lambda _: "DROP"),
    st.integers(-(10**19), 10**19),
    st.floats(),
    st.booleans(),
    st.text(max_size=30),
    st.sampled_from(["1 in", "25 ft-lb", "M8", "1 3/4", "nan", "9I", "v8-18726543", "\x1b[2J"]),
    st.lists(st.integers(-3, 30) | st.text(max_size=3), max_size=4),
    st.dictionaries(st.text(max_size=5), st.integers() | st.lists(st.integers()), max_size=3),
)
_TABLES = [name for name, table in tomllib.loads(WHOLE).items() if isinstance(table, dict)]


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_any_values_make_a_setup_or_faults_and_a_setup_works(data: st.DataObject) -> None:
    raw = whole()
    for _ in range(data.draw(st.integers(1, 4))):
        table = data.draw(st.sampled_from(_TABLES))
        if not isinstance(raw[table], dict) or not raw[table]:
            continue
        key = data.draw(st.sampled_from(sorted(raw[table])) | st.text(max_size=8))
        value = data.draw(_ODD)
        if value == "DROP":
            raw[table].pop(key, None)
        else:
            raw[table][key] = value
        if data.draw(st.integers(0, 9)) == 0:
            raw[table] = value
    try:
        setup: Setup | None = parse_setup(raw, "s.toml")
    except Faulty as refused:
        setup = None
        for line in refused.lines():
            assert "pydantic" not in line
            assert "\x1b" not in line
            assert ": " in line
    notes(as_far_as_read(Setup, raw), date(2026, 11, 26))
    if setup is not None:
        notes(setup, date(2026, 11, 26))
        setup.make_engine()
        setup.make_cam()
        setup.lengths()
        setup.readings()
        if setup.lifter and setup.rocker:
            assert setup.travel_in_play().used.mm > 0


def test_what_a_record_holds_that_this_version_does_not_know_is_carried_along() -> None:
    raw = whole() | {"fuel": {"octane": 98}}
    raw["lifter"]["color"] = "blue"
    raw["reading"][1]["weather"] = "dry"
    setup = parse_setup(raw, "r.toml", resolve=False)
    assert setup.unknown == {
        "fuel": {"octane": 98},
        "lifter.color": "blue",
        "reading 2.weather": "dry",
    }
    assert parse_setup(whole(), "r.toml", resolve=False).unknown == {}
    with pytest.raises(Faulty) as refused:
        parse_setup(raw, "s.toml")
    assert {fault.where for fault in refused.value.faults} == {
        *("fuel", "lifter.color", "reading 2.weather"),
    }


def test_a_table_written_once_where_an_array_is_wanted_is_a_fault() -> None:
    faults = told(lambda raw: raw.update(reading={"valve": "1I"}))
    assert any(fault.startswith("reading: is a table") for fault in faults)
