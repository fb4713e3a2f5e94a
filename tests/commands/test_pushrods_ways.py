"""`pushrods`: other ways to a length, stock, repeats, growth; worked by hand beside each check."""

from pathlib import Path

import pytest

from heelwise.commands.main import main
from tests.commands.running import SETUP, Runner

INCH = 25.4
CUPS = '[lifter]\ncup_height = "1.760 in"\nchecking_cup_height = "1.750 in"\n'
WITH_CUPS = SETUP.replace("[lifter]\n", CUPS)


def reading(**keys: object) -> str:
    """One [[reading]] table."""
    lines = "".join(
        f"{key} = {str(value).lower() if isinstance(value, bool) else repr(value)}\n"
        for key, value in keys.items()
    )
    return f"[[reading]]\n{lines}"


def test_lash_over_a_solid_checking_lifter(heelwise: Runner) -> None:
    """0.096 in at the valve is 0.060 at the pushrod (ratio 1.6); the hydraulic cup stands 0.010
    higher: zero lash at 7.000 + 0.060 - 0.010 = 7.050. The middle, 3/4 turn of 0.050, asks for
    0.0375 more: 7.0875; sold are 7.075 (half a turn: a limit) and 7.100 (one turn: a limit)."""
    setup = heelwise.setup(WITH_CUPS, add=reading(valve="1I", pushrod="7.000 in", lash="0.096 in"))
    found = heelwise("pushrods", setup, "--json").json
    (row,) = found["valves"]
    assert row["pushrod_mm"] == pytest.approx(7.050 * INCH)
    assert row["turns"] == 0.0
    assert not row["lash_left"]
    assert row["try_pushrod_mm"] == pytest.approx(7.100 * INCH)
    assert row["expect_turns"] == pytest.approx(1.0)
    assert "solid checking lifter" in heelwise("pushrods", setup).out


def test_a_checking_pushrod_by_its_length_or_by_its_own_turns(heelwise: Runner) -> None:
    """6.800 and 5 turns of 0.050 make 7.050; so does 6.900 and 6 of 0.025."""
    told = reading(valve="1I", pushrod="7.050 in", zero_lash=True)
    told += reading(valve="2I", shortest="6.800 in", turns_out=5)
    told += reading(valve="3I", shortest="6.900 in", turns_out=6, pitch="0.025 in")
    found = heelwise("pushrods", heelwise.setup(add=told), "--json").json
    assert [r["pushrod_mm"] for r in found["valves"]] == [pytest.approx(7.050 * INCH)] * 3
    assert [r["verdict"] for r in found["valves"]] == ["short"] * 3
    assert [b["count"] for b in found["buy"]] == [3]
    assert found["travel_per_turn_from"] == "sheet"  # none of them was counted


@pytest.mark.parametrize(
    ("keys", "told"),
    [
        ({"pushrod": "7 in"}, "reading 1.turns: is missing"),
        ({"pushrod": "7 in", "turns": 1, "lash": "0.1 in"}, "reading 1.lash: turns and lash"),
        ({"turns": 1}, "reading 1.pushrod: is missing"),
        ({"turns_out": 1}, "reading 1.shortest: is missing"),
        ({"pushrod": "7 in", "lash": "0.1 in"}, "needs lifter.cup_height"),
        ({"pushrod": "7 in", "zero_lash": False}, "reading 1.zero_lash: is false"),
        ({"pushrod": "7 in", "turns": 1, "pitch": "0.05 in"}, "reading 1.pitch: has no meaning"),
    ],
)
def test_a_reading_says_one_thing(heelwise: Runner, keys: dict[str, object], told: str) -> None:
    ran = heelwise("pushrods", heelwise.setup(add=reading(valve="1I", **keys)))
    assert ran.code == 1
    assert told in ran.err


def test_one_cup_height_alone_is_a_fault(heelwise: Runner) -> None:
    setup = heelwise.setup(SETUP.replace("[lifter]\n", '[lifter]\ncup_height = "1.7 in"\n'))
    ran = heelwise("pushrods", setup)
    assert ran.code == 1
    assert "lifter.checking_cup_height: is missing" in ran.err


STOCKED = SETUP.replace(
    'sold_from = "6.800 in"\nsold_to = "7.200 in"\nsold_step = "0.025 in"\n',
    'on_hand = ["2 of 7.000 in", "1 of 7.010 in", "7.300 in"]\n',
)


def test_no_more_are_bought_than_there_are(heelwise: Runner) -> None:
    """Four valves want 7.000 and would take 7.010 (0.2 turn on): two and one of them, and one
    valve is left over. 7.300 is without limit and too long for any."""
    told = "".join(reading(valve=f"{n}I", pushrod="7.000 in", turns=0.75) for n in (1, 2, 3, 4))
    setup = heelwise.setup(STOCKED, add=told)
    found = heelwise("pushrods", setup, "--json").json
    bought = {round(b["pushrod_mm"] / INCH, 3): b["count"] for b in found["buy"]}
    assert bought == {7.000: 2, 7.010: 1}
    assert len(found["not_served"]) == 1
    before = heelwise("pushrods", setup).out.partition("Before buying")[2]
    assert found["not_served"][0] in before


@pytest.mark.parametrize("text", ["many of 7.0 in", "3 of", "3 of 7.0", "of 7.0 in", "3 of -1 in"])
def test_what_is_on_hand_is_a_length_or_so_many_of_one(heelwise: Runner, text: str) -> None:
    ran = heelwise("pushrods", heelwise.setup(STOCKED.replace("2 of 7.000 in", text)))
    assert ran.code == 1
    assert "pushrods.on_hand" in ran.err


def test_repeats_are_put_together_and_queried(heelwise: Runner) -> None:
    """3/4 and 7/8 agree within an eighth, mean 0.8125; 1/2 and 1 don't."""
    told = "".join(
        reading(valve=valve, pushrod="7.000 in", turns=turns)
        for valve, turns in (("1I", "3/4"), ("2I", "1/2"), ("1I", "7/8"), ("2I", "1"))
    )
    setup = heelwise.setup(add=told)
    found = {r["valve"]: r for r in heelwise("pushrods", setup, "--json").json["repeats"]}
    assert (found["1I"]["mean_turns"], found["1I"]["agree"]) == (0.8125, True)
    assert (found["2I"]["spread_turns"], found["2I"]["agree"]) == (0.5, False)
    said = heelwise("pushrods", setup).out
    assert "they agree" in said
    assert "they disagree" in said


def test_a_count_of_nothing_says_only_that_lash_was_left(heelwise: Runner) -> None:
    """It is no trial either: by 0 and 1.0 turns 0.075 in apart it would measure 0.075 a turn."""
    told = reading(valve="1I", pushrod="7.000 in", turns=0)
    told += reading(valve="2I", pushrod="7.000 in", turns=0)
    told += reading(valve="2I", pushrod="7.075 in", turns=1)
    found = heelwise("pushrods", heelwise.setup(add=told), "--json").json
    assert [r["lash_left"] for r in found["valves"]] == [True, False]
    assert found["travel_per_turn_from"] == "sheet"
    assert "1I left lash at the click" in heelwise("pushrods", heelwise.setup(add=told)).out


def test_preload_hot_by_hand(heelwise: Runner) -> None:
    """8 in of aluminum less 7 in of 4140 over 70 K: 0.01204 - 0.00603 = 0.0060 in lost. At 3/4
    turn of 0.050 in, 0.0375 cold, 0.0315 hot; at 1/2, 0.025 is the least, so 0.0190 is below."""
    growth = (
        '[growth]\nblock = "aluminum 356.0"\nblock_length = "4 in"\nheads = "aluminum 356.0"\n'
        'heads_length = "4 in"\npushrod = "steel 4140"\n'
    )
    told = reading(valve="1I", pushrod="7.000 in", turns="3/4")
    told += reading(valve="1E", pushrod="7.000 in", turns="1/2")
    setup = heelwise.setup(add=growth + told)
    rows = heelwise("pushrods", setup, "--json").json["valves"]
    lost = 70e-6 * (8 * 21.5 - 7 * 12.3)
    assert rows[0]["hot_preload_mm"] / INCH == pytest.approx(0.0375 - lost)
    assert rows[1]["hot_preload_mm"] / INCH == pytest.approx(0.025 - lost)
    said = heelwise("pushrods", setup).out
    assert "hot, preload loses 0.006 in" in said
    assert "Callister" in said
    assert "below the 0.025 in" in said


def test_a_plunger_that_hot_comes_nearer_its_end_lowers_never_past(heelwise: Runner) -> None:
    """A 304 pushrod in an iron engine of the same 7 in: 70e-6 x 7 x (17.2 - 11.4) gained."""
    growth = (
        '[growth]\nblock = "gray iron"\nblock_length = "3 in"\nheads = "gray iron"\n'
        'heads_length = "4 in"\npushrod = "stainless steel 304"\n'
    )
    told = reading(valve="1I", pushrod="7.000 in", turns="3/4")
    cold = heelwise("pushrods", heelwise.setup(add=told), "--json").json["never_past_turns"]
    hot = heelwise("pushrods", heelwise.setup(add=growth + told), "--json").json
    gained = 70e-6 * 7 * INCH * (17.2 - 11.4)
    lever = 25.4 / 18 * (1 + 1 / 1.6)
    assert cold - hot["never_past_turns"] == pytest.approx(gained / lever)


def test_lengths_checked_in_a_walk_are_read_from_its_record(
    heelwise: Runner, tmp_path: Path
) -> None:
    """Cut after the last lash reading, where nothing was counted yet."""
    words = ["--engine", "i4-1342", "--procedure", "solid-checking-lifter"]
    assert main(["rehearse", *words, "--hands-off", "--folder", str(tmp_path)]) == 0
    (file,) = tmp_path.glob("*.toml")
    text = file.read_text(encoding="utf-8")
    end = text.index("seal = ", text.rindex('kind = "checked"'))
    cut = tmp_path / "cut.toml"
    cut.write_text(text[: text.index("\n", end) + 1], encoding="utf-8")
    found = heelwise("pushrods", cut, "--json").json
    assert len(found["valves"]) == 2
    assert all("solid checking lifter" in row["reading_from"] for row in found["valves"])
    assert sum(b["count"] for b in found["buy"]) == 2
    assert all(row["verdict"] == "short" for row in found["valves"])


def test_what_seats_the_rocker_makes_no_preload(heelwise: Runner) -> None:
    """1/8 turn seats it: a length at zero lash is a count of 1/8, and 3/4 turn, the middle, is
    0.625 turn of 0.050 in over it."""
    seated = SETUP.replace("[lifter]\n", "[lifter]\nseat_turns = 0.125\n")
    told = reading(valve="1I", pushrod="7.000 in", zero_lash=True)
    (row,) = heelwise("pushrods", heelwise.setup(seated, add=told), "--json").json["valves"]
    assert row["turns"] == 0.125
    assert row["preload_mm"] == 0.0
    assert row["expect_turns"] == pytest.approx(0.625)  # 0.025 in longer is half a turn more
    faulty = SETUP.replace("[lifter]\n", "[lifter]\nseat_turns = 0.5\n")
    assert "lifter.seat_turns" in heelwise("pushrods", heelwise.setup(faulty, add=told)).err


@pytest.mark.parametrize(
    ("setup", "lash", "told"),
    [
        (WITH_CUPS, "0.400 in", "reading 1.lash"),
        (WITH_CUPS.replace("1.750 in", "4.8 in"), "0.1 in", "lifter.checking_cup_height: stands"),
    ],
)
def test_the_walks_own_limits_hold_on_paper(
    heelwise: Runner, setup: str, lash: str, told: str
) -> None:
    given = reading(valve="1I", pushrod="7.000 in", lash=lash)
    ran = heelwise("pushrods", heelwise.setup(setup, add=given))
    assert ran.code == 1
    assert told in ran.err


def test_nothing_is_expected_of_a_count_that_left_lash(heelwise: Runner) -> None:
    given = reading(valve="1I", pushrod="7.000 in", turns=0)
    setup = heelwise.setup(add=given)
    found = heelwise("pushrods", setup, "--json").json
    assert found["expect"] == []
    assert sum(b["count"] for b in found["buy"]) == 1
    assert "1I left lash" in heelwise("pushrods", setup).out.partition("Before buying")[2]


def test_lengths_without_a_count_have_no_preload_hot(heelwise: Runner) -> None:
    growth = (
        '[growth]\nblock = "gray iron"\nblock_length = "3 in"\nheads = "gray iron"\n'
        'heads_length = "4 in"\npushrod = "steel 4130"\n'
    )
    given = reading(valve="1I", pushrod="7.000 in", zero_lash=True)
    (row,) = heelwise("pushrods", heelwise.setup(add=growth + given), "--json").json["valves"]
    assert row["hot_preload_mm"] is None
    assert row["counted"] is False


def test_a_record_of_solid_lifters_has_no_window_and_says_so(
    heelwise: Runner, tmp_path: Path
) -> None:
    words = ["--engine", "i4-1342", "--procedure", "solid-lifters", "--hands-off"]
    assert main(["rehearse", *words, "--folder", str(tmp_path)]) == 0
    ran = heelwise("pushrods", next(tmp_path.glob("*.toml")))
    assert ran.code == 1
    assert ran.err
    assert "Traceback" not in ran.err
