"""`pushrods`: verdicts, lengths to try and to buy, worked by hand beside each check."""

from pathlib import Path

import pytest

from heelwise.commands.main import main
from tests.commands.running import SETUP, Runner

INCH = 25.4
READINGS = """
[[reading]]
valve = "1I"
pushrod = "7.000 in"
turns = "1 1/2"
[[reading]]
valve = "1E"
pushrod = "7.000 in"
turns = 0.25
[[reading]]
valve = "2I"
pushrod = "7.000 in"
turns = 0.75
"""


def test_by_the_sheets_travel(heelwise: Runner) -> None:
    """0.050 in a turn: 1I is 0.75 turn over the middle, so 0.0375 in too long: 6.950 or 6.975
    land at 0.5 and 1.0, both limits, equally near the middle: the longer. 1E is half a turn
    short: 7.025 lands on the middle exactly."""
    found = heelwise("pushrods", heelwise.setup(add=READINGS), "--json").json
    assert found["travel_per_turn_from"] == "sheet"
    assert found["travel_per_turn_mm"] == pytest.approx(0.050 * INCH)
    rows = {r["valve"]: r for r in found["valves"]}
    assert [rows[n]["verdict"] for n in ("1I", "1E", "2I")] == ["long", "short", "inside"]
    assert rows["1I"]["preload_mm"] == pytest.approx(0.075 * INCH)
    assert rows["1I"]["try_pushrod_mm"] == pytest.approx(6.975 * INCH)
    assert rows["1I"]["expect_turns"] == pytest.approx(1.0)
    assert rows["1E"]["try_pushrod_mm"] == pytest.approx(7.025 * INCH)
    assert rows["1E"]["expect_turns"] == pytest.approx(0.75)
    assert rows["2I"]["try_pushrod_mm"] is None
    assert rows["2I"]["expect_turns"] is None


def test_never_past_goes_by_the_largest_travel(heelwise: Runner) -> None:
    """The lever: 25.4/18 × (1 + 1/1.6) = 2.293 mm, against 1.27 mm by the sheet.
    0.180 in = 4.572 mm: 1.994 turns, less a quarter."""
    found = heelwise("pushrods", heelwise.setup(add=READINGS), "--json").json
    assert found["never_past_turns"] == pytest.approx(4.572 / (25.4 / 18 * 1.625) - 0.25)


def test_buy_covers_every_valve_read_with_the_fewest_lengths(heelwise: Runner) -> None:
    """In turns at 7.000: 1.5, .25, .75; a step of length is half a turn. 2I stands in the middle
    and lands outside with either neighbour, 1I needs a shorter one, 1E a longer: three lengths.
    A fourth valve at 1.25 shares 1I's: 0.75 there."""
    more = READINGS + '[[reading]]\nvalve = "2E"\npushrod = "7.000 in"\nturns = 1.25\n'
    found = heelwise("pushrods", heelwise.setup(add=more), "--json").json
    bought = {tuple(b["valves"]): b["pushrod_mm"] / INCH for b in found["buy"]}
    # By the sheet's travel 1I could share it at its limit; with any larger it can't.
    assert bought == {
        ("1I",): pytest.approx(6.950),
        ("2E",): pytest.approx(6.975),
        ("2I",): pytest.approx(7.000),
        ("1E",): pytest.approx(7.025),
    }
    assert all(b["count"] == len(b["valves"]) for b in found["buy"])
    assert found["not_served"] == []


def test_two_trials_of_one_valve_measure_the_travel(heelwise: Runner) -> None:
    """0.075 in shorter took 1.5 - 0.5 = 1 turn off: 0.075 in a turn."""
    more = READINGS + '[[reading]]\nvalve = "1I"\npushrod = "6.925 in"\nturns = 0.5\n'
    found = heelwise("pushrods", heelwise.setup(add=more), "--json").json
    assert found["travel_per_turn_from"] == "measured"
    assert found["travel_per_turn_mm"] == pytest.approx(0.075 * INCH)
    row = next(r for r in found["valves"] if r["valve"] == "1I")
    assert row["pushrod_mm"] == pytest.approx(6.925 * INCH)
    assert len([r for r in found["valves"] if r["valve"] == "1I"]) == 1


def test_without_a_sheet_it_is_worked_out(heelwise: Runner) -> None:
    setup = heelwise.setup(drop="travel_per_turn", add=READINGS)
    found = heelwise("pushrods", setup, "--json").json
    assert found["travel_per_turn_from"] == "worked out"
    assert found["travel_per_turn_mm"] == pytest.approx(25.4 / 18 * (1 + 1 / 1.6))


def test_near_is_within_half_the_resolution_inclusive(heelwise: Runner) -> None:
    rows = ["0.4375", "0.5625", "0.9375", "1.0625", "0.43", "0.57"]
    text = "".join(
        f'[[reading]]\nvalve = "{i}I"\npushrod = "7.000 in"\nturns = {turns}\n'
        for i, turns in enumerate(rows, start=1)
    )
    found = heelwise("pushrods", heelwise.setup(add=text), "--json").json
    assert [r["near"] for r in found["valves"]] == [True, True, True, True, False, False]


def test_words_for_people_say_where_each_figure_comes_from(heelwise: Runner) -> None:
    ran = heelwise("pushrods", heelwise.setup(add=READINGS))
    assert ran.code == 0
    for words in ("never past", "long", "short", "inside", "the lever"):
        assert words in ran.out


def test_a_stud_sets_preload_by_its_nut(heelwise: Runner) -> None:
    setup = heelwise.setup(SETUP.replace('"bolt-down"', '"stud"'), add=READINGS)
    ran = heelwise("pushrods", setup)
    assert ran.code == 1
    assert "rocker.mount" in ran.err
    assert "nut" in ran.err


def test_a_record_is_read_as_well_and_never_written(heelwise: Runner, tmp_path: Path) -> None:
    assert main(["rehearse", "--hands-off", "--folder", str(tmp_path), "--engine", "i4-1342"]) == 0
    record = tmp_path / "rehearsal-i4-1342.toml"
    before = record.read_bytes()
    found = heelwise("pushrods", record, "--json").json
    assert found["travel_per_turn_from"] in ("measured", "sheet")
    assert len(found["valves"]) == 8
    assert {r["verdict"] for r in found["valves"]} == {"inside"}
    assert record.read_bytes() == before


@pytest.mark.parametrize(
    ("drop", "where"),
    [("mount", "rocker.mount"), ("kind", "lifter.kind"), ("intake =", "pushrods.intake")],
)
def test_what_is_missing_is_named(heelwise: Runner, drop: str, where: str) -> None:
    ran = heelwise("pushrods", heelwise.setup(drop=drop, add=READINGS))
    assert ran.code == 1
    assert where in ran.err


def test_expected_turns_after_the_change_with_their_doubt(heelwise: Runner) -> None:
    """1E stays half a turn short by its reading: 0.025 in longer is half a turn more, 0.75. Its
    own count in eighths brings 0.125/√12 = 0.036 turn of doubt, so the whole is more than that."""
    found = heelwise("pushrods", heelwise.setup(add=READINGS), "--json").json
    expected = {e["valve"]: e for e in found["expect"]}
    assert set(expected) == {"1I", "1E", "2I"}
    assert expected["1E"]["turns"] == pytest.approx(0.75)
    assert 0.125 / 12**0.5 < expected["1E"]["uncertainty_turns"] < 0.25
    assert expected["1E"]["chance_inside"] > 0.7
    # 1I lands on its least by the sheet's travel, the smallest there may be: with any larger, which
    # is likely, a shorter pushrod takes fewer turns away, and it lands inside.
    assert expected["1I"]["turns"] == pytest.approx(0.5)
    assert expected["1I"]["chance_inside"] > 0.7


def test_one_length_for_each_kind(heelwise: Runner) -> None:
    """Intakes at 1.0 and 0.75 turns: 7.000 leaves both inside. The exhaust needs 7.025."""
    text = READINGS.replace('"1 1/2"', "1.0")
    found = heelwise("pushrods", heelwise.setup(add=text), "--by-kind", "--json").json
    bought = {tuple(b["valves"]): b["pushrod_mm"] / INCH for b in found["buy"]}
    assert bought == {("1I", "2I"): pytest.approx(7.0), ("1E",): pytest.approx(7.025)}


def test_when_nothing_sold_serves_it_says_what_else(heelwise: Runner) -> None:
    text = '[[reading]]\nvalve = "1I"\npushrod = "7.000 in"\nturns = 12\n'
    ran = heelwise("pushrods", heelwise.setup(add=text), "--json")
    assert ran.json["not_served"] == ["1I"]
    assert ran.json["buy"] == []
    # 11.25 turns over the middle, 0.050 in each: 6.4375 in is wanted.
    said = heelwise("pushrods", heelwise.setup(add=text)).out
    assert "6.438 in" in said or "6.437 in" in said
    assert "made to length" in said


def test_a_valve_its_kinds_length_does_not_suit_is_told_so(heelwise: Runner) -> None:
    """1I alone lands inside with 6.975; beside 2I, which only 7.000 suits, no length does both."""
    ran = heelwise("pushrods", heelwise.setup(add=READINGS), "--by-kind")
    _, before, rest = ran.out.partition("Before buying")
    assert "1I" in rest.partition("\n\n")[0]
    assert before
    assert "made to length" not in ran.out


def test_a_plunger_at_its_end_before_the_window_is_a_fault(heelwise: Runner) -> None:
    """0.020 in by the lever's 2.293 mm a turn is 0.22 turn, less a quarter; the window: 1/2."""
    setup = heelwise.setup(SETUP.replace('"0.180 in"', '"0.020 in"'), add=READINGS)
    for words in (("pushrods", setup), (setup, "--plain")):
        ran = heelwise(*words)
        assert ran.code == 1
        assert "lifter.plunger_travel" in ran.err


def test_a_count_past_never_past_is_not_inside(heelwise: Runner) -> None:
    """0.080 in = 2.032 mm: 0.886 turn by the lever, less a quarter: never past 0.636. The window's
    3/4 is past that, so it is long, and no length is tried that expects more."""
    setup = heelwise.setup(SETUP.replace('"0.180 in"', '"0.080 in"'), add=READINGS)
    found = heelwise("pushrods", setup, "--json").json
    assert found["never_past_turns"] == pytest.approx(2.032 / (25.4 / 18 * 1.625) - 0.25)
    rows = {r["valve"]: r for r in found["valves"]}
    assert rows["2I"]["verdict"] == "long"
    expected = [r["expect_turns"] for r in rows.values() if r["expect_turns"] is not None]
    assert all(turns <= found["never_past_turns"] for turns in expected)
    assert any("never to pass" in note for note in found["notes"])


def test_a_trial_that_can_not_be_is_told_with_why(heelwise: Runner) -> None:
    """A quarter turn for 0.050 in of pushrod would be 0.200 in a turn: no lever gives that."""
    text = "".join(
        f'[[reading]]\nvalve = "1I"\npushrod = "{pushrod} in"\nturns = "{turns}"\n'
        for pushrod, turns in (("7.050", "1 7/8"), ("7.000", "1 5/8"))
    )
    found = heelwise("pushrods", heelwise.setup(add=text), "--json").json
    assert found["travel_per_turn_mm"] < 0.1 * INCH
    assert {odd["valve"] for odd in found["odd_readings"]} == {"1I"}
    assert all(odd["why"] for odd in found["odd_readings"])
    assert found["pattern"] == []


def test_other_orders_are_told_with_their_worst_chances(heelwise: Runner) -> None:
    found = heelwise("pushrods", heelwise.setup(add=READINGS), "--json").json
    first, *_ = found["alternatives"]
    assert first["buy"] == found["buy"]
    assert first["worst_chance"] == pytest.approx(min(e["chance_inside"] for e in found["expect"]))
    assert all(each["rules"] for each in found["alternatives"])
