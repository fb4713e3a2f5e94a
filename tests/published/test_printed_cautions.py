"""Times, cautions and steps as manuals print them, against the procedures that come with it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from heelwise.documents.procedure import Procedure, Step, load_procedure

FOLDER = Path(__file__).parents[2] / "procedures"
PROCEDURES = {path.stem: load_procedure(path) for path in FOLDER.glob("*.toml")}
EVERY = sorted(PROCEDURES)
HYDRAULIC = sorted(set(EVERY) - {"solid-lifters"})


def step(procedure: Procedure, name: str) -> Step:
    found = procedure.step(name)
    assert found is not None
    return found


def told(each: Step) -> str:
    parts = [each.say, each.why, each.if_not or ""]
    if each.caution:
        parts += [each.caution.hazard, each.caution.consequence, each.caution.avoid]
    return " ".join(parts).lower()


def test_the_seven_ways_are_there() -> None:
    assert len(EVERY) >= 7


@pytest.mark.parametrize("name", HYDRAULIC)
def test_holds_lie_within_what_is_printed(name: str) -> None:
    # Up to 20 min (1995 5.9 L service manual), 5 to 10 min (a V-twin manual), both seen, for
    # lifters with oil in them. Dry ones: our own 2 min (common practice, no source).
    hold = PROCEDURES[name].defaults.hold_minutes
    assert all(5 <= hold[state] <= 20 for state in ("soaked", "pumped", "used"))
    assert hold["pumped"] == hold["used"] == 20
    assert 5 <= hold["soaked"] <= 10
    assert "common practice" in PROCEDURES[name].defaults.hold_source


@pytest.mark.parametrize("name", HYDRAULIC)
def test_used_lifters_are_unloaded_for_about_a_minute(name: str) -> None:
    # Used lifters: unload about a minute before zero lash (common practice, no source).
    assert PROCEDURES[name].defaults.unload_minutes == 1


def test_a_quarter_turn_at_a_time_where_pistons_are_near() -> None:
    # ¼-turn steps, bleeding between, where valves come near pistons (Engine Builder 2011, seen).
    words = told(step(PROCEDURES["stud-rockers"], "count"))
    assert "quarter turn" in words
    assert "bleed down in between" in words


@pytest.mark.parametrize("name", EVERY)
def test_cautions_found_in_print(name: str) -> None:
    """Battery off, plugs out, running direction only (TM 5-3820-233-12, seen), eyes (practice)."""
    procedure = PROCEDURES[name]
    assert "battery lead off" in told(step(procedure, "battery-off"))
    assert "plugs" in told(step(procedure, "plugs-out"))
    direction = told(step(procedure, "plugs-out"))
    assert "in the direction of rotation only" in direction
    assert "turning backward can loosen the crank bolt" in direction
    assert step(procedure, "battery-off").caution is not None
    assert "spring" in told(step(procedure, "battery-off"))


@pytest.mark.parametrize("name", ["stud-rockers", "solid-lifters"])
def test_checked_again_after_locking(name: str) -> None:
    # Re-check after locking: some adjusters shift (seen; which manual was not noted).
    ids = [each.id for each in PROCEDURES[name].steps]
    after = {"stud-rockers": "play", "solid-lifters": "gauge-locked"}[name]
    assert ids.index("locked") < ids.index(after)
    assert "shift" in told(step(PROCEDURES[name], after))


@pytest.mark.parametrize("name", [name for name in HYDRAULIC if PROCEDURES[name].step("wrench")])
def test_the_wrench_is_stored_low_and_not_to_loosen_with(name: str) -> None:
    # Store at the lowest setting; not to loosen with (ISO 6789-1:2017 as makers cite it, seen).
    words = told(step(PROCEDURES[name], "wrench"))
    assert "lowest setting" in words
    assert "never loosen" in words
    assert "12 months or 5,000 cycles" in words


README = FOLDER / "README.md"


def test_each_caution_has_the_level_of_what_can_happen_to_a_person() -> None:
    text = README.read_text(encoding="utf-8")
    rows = re.findall(r"^\| (`[a-z`, -]+`) \| ([A-Z]+) \| (.+) \|$", text, re.MULTILINE)
    table = {name: level for names, level, _ in rows for name in re.findall(r"`([a-z-]+)`", names)}
    given = {
        each.id: each.caution.level
        for procedure in PROCEDURES.values()
        for each in procedure.steps
        if each.caution
    }
    assert given == table
    harmless = {level for _, level, harm in rows if harm.startswith("nothing")}
    assert harmless == {"NOTICE"}
