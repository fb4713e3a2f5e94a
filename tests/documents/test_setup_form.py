"""A setup written from a form's fields: it reads back as what was typed, whatever that was."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heelwise.documents.fields import FormField
from heelwise.documents.files import parse_toml, read_toml
from heelwise.documents.form_check import check
from heelwise.documents.setup import load_setup, parse_setup
from heelwise.documents.setup_engine import EVENT_KEYS, NO_CARD
from heelwise.documents.setup_form import (
    FIELD,
    TABLES,
    fitting,
    form_values,
    missing,
    setup_from_form,
    setup_text,
)
from tests.documents.typed_forms import BOLT_DOWN, OWN_ORDER, SHAFT, SOLID, SOLID_BY_MATERIALS, STUD

SAMPLES = Path(__file__).parents[2] / "sample_builds"


def document(typed: dict[str, str]) -> dict[str, Any]:
    return tomllib.loads(setup_text(typed))


def test_what_has_no_field_is_kept_of_the_setup_the_form_began_with() -> None:
    first = {"rocker": {"ratio": 1.5, "stands": [["1I", "1E"]]}, "before": {"record": "x"}}
    kept = tomllib.loads(setup_text(BOLT_DOWN, first))
    assert kept["before"] == {"record": "x"}
    assert kept["rocker"] == {**document(BOLT_DOWN)["rocker"], "stands": [["1I", "1E"]]}


def test_only_what_is_filled_and_fits_is_written_in_the_order_of_the_form() -> None:
    assert check(BOLT_DOWN).whole
    found = document(BOLT_DOWN)
    assert [*found] == ["format", "engine", "cam", "rocker", "lifter", "pushrods", "wrench"]
    assert found["engine"] == {"card": "v8-18436572"}
    assert found["pushrods"] == {
        "intake": '7.400"',
        "exhaust": "187.96 mm",
        "on_hand": ["7.375 in", "7.400 in", "188.6 mm"],
    }
    cam = found["cam"]
    assert isinstance(cam, dict)
    assert cam["exhaust_duration"] == 267.0
    stud = document(STUD)
    assert [*stud] == ["format", "engine", "cam", "rocker", "lifter", "pushrods"]
    assert stud["rocker"] == {"mount": "stud", "ratio": 1.6, "thread": "M8x1.25"}
    assert stud["pushrods"] == {"intake": '7.400"', "exhaust": "187.96 mm"}


@pytest.mark.parametrize("typed", [OWN_ORDER, SHAFT, SOLID_BY_MATERIALS, STUD])
def test_other_forms_are_whole_too(typed: dict[str, str]) -> None:
    assert check(typed).whole
    assert parse_setup(document(typed), "x") == check(typed).setup


def test_a_solid_lifter_has_lash_and_no_window() -> None:
    typed = {**SOLID, "lifter.least_turns": "1/2"}
    assert check(typed).whole
    found = document(typed)
    assert found["lifter"] == {"kind": "solid roller"}
    assert found["cam"] == {"known": False}
    assert found["lash"] == {
        "intake": "0.020 in",
        "exhaust": "0.022 in",
        "measured": "hot",
        "chart": "iron block, iron heads",
    }
    cold = {**typed, "lash.measured": "cold"}
    assert check(cold).whole
    assert "chart" not in str(document(cold))


@pytest.mark.parametrize("name", ["timber-hauler-eight", "harbor-launch-six", "grain-truck-six"])
def test_a_sample_setup_fills_the_fields_and_comes_out_the_same(name: str) -> None:
    path = SAMPLES / f"{name}.toml"
    typed, left = form_values(read_toml(path))
    assert left in ([], ["reading"])
    again = parse_setup(document(typed | {"file.name": "again"}), "again")
    first = load_setup(path)
    assert check(typed | {"file.name": "again"}).whole
    assert again.make_engine() == first.make_engine()
    assert again.make_cam() == first.make_cam()
    assert again.window_sheet() == first.window_sheet()
    assert again.travel_in_play() == first.travel_in_play()
    assert again.lengths() == first.lengths()
    assert (again.rocker, again.wrench) == (first.rocker, first.wrench)


def test_what_has_no_field_is_told() -> None:
    raw = {"format": 1, "rocker": {"mount": "shaft", "stands": [["1I", "1E"]]}, "reading": [{}]}
    typed, left = form_values(raw)
    assert typed == {"rocker.mount": "shaft"}
    assert left == ["rocker.stands", "reading"]
    own = {"engine": {"card": "i4-1342", "firing_order": [1, 2, 4, 3]}}
    assert form_values(own)[1] == ["engine.firing_order"]


GOOD = {
    "name": ["block-12", "a"],
    "card": ["v8-18436572", "i4-1342", NO_CARD],
    "order": ["1-3-4-2", "1 2 3", "1, 3, 2"],
    "number": ["1.6", "1 1/2", "1.55"],
    "degrees": ["110", "104.5°", "120 deg"],
    "length": ["7.400 in", '0.05"', "1.5 mm", "50 thou"],
    "lengths": ["7.3 in, 7.4 in", "180 mm; 181 mm", "7.3 in"],
    "torque": ["21 lbf ft", "28 N·m", "250 in-lb"],
    "turns": ["3/4", "1 1/4", "0.75", "630°"],
    "thread": ["3/8-24", "M8x1.25"],
    "date": ["2026-03-02"],
    "people": ["MK = Mary King, JD = J. Doe"],
    "words": ['a "wrench"', "drawer 2 \\ left", "é = [x]"],
}


def texts_of(field: FormField) -> st.SearchStrategy[str]:
    given_well = [choice.partition(":")[0] for choice in field.choices] or GOOD[field.reads]
    return st.sampled_from(["", *given_well])


@st.composite
def forms(draw: st.DrawFn) -> dict[str, str]:
    """Fields filled with what each can take, or left empty."""
    return {field.where: draw(texts_of(field)) for field in FIELD.values()}


@given(forms())
@settings(max_examples=200, deadline=None)
def test_written_and_read_back_it_is_the_same(typed: dict[str, str]) -> None:
    laid_out, unread = setup_from_form(typed)
    assert unread == []
    assert parse_toml(setup_text(typed).encode(), "x") == laid_out
    again, _ = form_values(laid_out)
    written = {f.where for f in fitting(typed) if f.written and typed[f.where]}
    assert {where for where in again if FIELD[where].written} | {"engine.card"} == (
        written | {"engine.card"}
    )
    steering = {w: t for w, t in typed.items() if not FIELD[w].written or w == "engine.card"}
    assert setup_from_form(again | steering)[0] == laid_out
    found = check(typed)
    assert found.whole <= (not missing(typed))


@given(
    st.dictionaries(st.sampled_from([*FIELD]), st.one_of(st.text(max_size=30), st.just("7.4 in")))
)
@settings(max_examples=200, deadline=None)
def test_whatever_is_typed_is_told_and_never_raises(typed: dict[str, str]) -> None:
    found = check(BOLT_DOWN | typed)
    filled = {w for w, text in (BOLT_DOWN | typed).items() if text.strip()}
    assert found.faults.keys() <= filled
    assert found.understood.keys().isdisjoint(found.faults)
    for fault in [*found.faults.values(), *found.between]:
        assert fault.problem
        assert fault.instead


WRONG = [
    ("file.name", "block:12", "letters, digits and dashes", "block-12"),
    ("file.name", "con", "Windows keeps this name", "con-1"),
    ("engine.card", "v8-1843657", "there is no card", "did you mean v8-18436572?"),
    ("cam.intake_duration", "262,5", "has a comma", "write 262.5"),
    ("cam.intake_duration", "262 in", "isn't an angle", "30°"),
    ("cam.intake_duration", "900", "is 900", "write a number below 720"),
    ("cam.at_lift", "0.050", "has no unit", '"0.050 in"'),
    ("cam.at_lift", "0,050 in", "has a comma", "write 0.050 in"),
    ("cam.at_lift", "50 furlongs", '"furlongs" isn\'t known', "218.5 mm or 8.150 in"),
    ("rocker.ratio", "1.6:1", "isn't a plain number", "write it like 1.55"),
    ("rocker.ratio", "16", "is 16", "write a number below 10"),
    ("rocker.thread", "3/8", "doesn't state the thread's pitch", "3/8-24"),
    ("rocker.torque", "23 in", "is a length, not a torque", "30 lbf ft"),
    ("lifter.least_turns", "45", "isn't a number of turns", '"45°" for degrees'),
    ("lifter.least_turns", "2", "is more than most_turns", "the smaller"),
    ("lifter.travel_per_turn", "0.5 in", "can't come from a thread", "decimal point"),
    ("pushrods.on_hand", "7.375 in, 7.4", "has no unit", '"7.4 in"'),
    ("wrench.calibrated", "2026-02-30", "isn't a date", "2026-03-02"),
    ("wrench.calibrated", "2 March 2026", "isn't a date", "2026-03-02"),
]


@pytest.mark.parametrize(("where", "text", "problem", "instead"), WRONG)
def test_what_is_wrong_is_told_at_its_field(
    where: str, text: str, problem: str, instead: str
) -> None:
    found = check({**BOLT_DOWN, where: text})
    assert not found.whole
    assert [*found.faults] == [where]
    assert problem in found.faults[where].problem
    assert instead in found.faults[where].instead
    assert where not in found.understood
    assert found.between == ()


def test_what_is_understood_is_told_in_both_units() -> None:
    said = check({**BOLT_DOWN, "pushrods.intake": "7.400 in"}).understood
    assert said["pushrods.intake"] == "7.400 in = 187.96 mm"
    assert said["pushrods.exhaust"] == "187.96 mm = 7.400 in"
    assert said["rocker.torque"] == "23.0 lbf ft = 31.2 N·m"
    assert said["lifter.most_turns"] == "1 1/4 turns = 450°"
    assert said["rocker.thread"] == "pitch 0.0492 in = 1.250 mm"
    assert said["wrench.calibrated"] == "March 2, 2026"


def test_what_comes_of_a_groups_figures_is_told_before_the_rest_is_there() -> None:
    # IVO = 262/2 − 107.5 = 23.5 and EVC = 267/2 − (223 − 107.5) = 18: as on the card at 0.006 in.
    only_cam = {w: t for w, t in BOLT_DOWN.items() if w.startswith(("cam.", "file."))}
    ends = check(only_cam).notes["cam"][0]
    assert "IVO 23.5° BTDC" in ends
    assert "EVC 18° ATDC" in ends
    assert "nothing added" in ends
    high = check({**only_cam, "cam.at_lift": "0.050 in"}).notes["cam"][0]
    assert "IVO 48.5° BTDC" in high
    assert "each end of each lobe widened by 25°" in high
    # 1.25 mm × (1 + 1/1.6) = 2.031 mm = 0.080 in
    assert "0.080 in" in check(BOLT_DOWN).notes["rocker"][0]
    assert check({**SOLID, "rocker.thread": "3/8-24"}).notes["rocker"] == []


@pytest.mark.parametrize("typed", [BOLT_DOWN, SOLID], ids=["bolt-down", "solid"])
def test_each_needed_field_is_missed_by_name_and_by_nothing_else(typed: dict[str, str]) -> None:
    needed = [f.where for f in fitting(typed) if f.needed.holds(typed)]
    assert len(needed) >= 12
    for where in needed:
        found = check({**typed, where: "  "})
        assert where in [field.where for field in found.missing]
        assert found.faults == {}
        assert found.between == ()
        assert not found.whole


def labels(typed: dict[str, str]) -> set[str]:
    return {field.where for field in fitting(typed)}


def test_only_what_fits_is_offered() -> None:
    on_a_stud = labels({**BOLT_DOWN, "rocker.mount": "stud"})
    on_a_shaft = labels({**BOLT_DOWN, "rocker.mount": "shaft"})
    assert not {w for w in on_a_stud if w.startswith("wrench")}
    assert {"rocker.torque", "pushrods.sold_from", "pushrods.on_hand"}.isdisjoint(on_a_stud)
    assert {"rocker.torque", "pushrods.sold_from", "wrench.name"} <= on_a_shaft
    assert "pushrods.on_hand" not in labels({**BOLT_DOWN, "pushrods.sold_to": "8 in"})
    plunger = FIELD["lifter.plunger_travel"]
    assert plunger.needed.holds({**BOLT_DOWN, "rocker.mount": "shaft"})
    assert not plunger.needed.holds(BOLT_DOWN)
    assert {f"cam.{key}" for key in EVENT_KEYS} <= labels({**BOLT_DOWN, "cam._form": "events"})
    assert "cam.at_lift" not in labels({**BOLT_DOWN, "cam._form": "not known"})
    assert "engine.firing_order" in labels({**BOLT_DOWN, "engine.card": NO_CARD})
    solid = labels(SOLID)
    assert {"lifter.least_turns", "lifter.plunger_travel"}.isdisjoint(solid)
    assert {"lash.intake", "lash.chart"} <= solid
    grown = labels({**SOLID, "lash.block": "gray iron"})
    assert {"lash.heads_length", "lash.pushrod"} <= grown - solid
    assert "lash.chart" not in grown


def test_every_field_says_what_it_wants_and_what_leaving_it_out_means() -> None:
    assert {field.table for field in FIELD.values()} == {*TABLES}
    for field in FIELD.values():
        assert field.hint.endswith((".", "?")), field.where
        assert len(field.label) <= 22, field.where
        assert field.without or field.needed.holds({**BOLT_DOWN, **SOLID, **_steered(field)}), (
            field.where
        )
        assert bool(field.choices) == (field.reads == "choice"), field.where


def _steered(field: FormField) -> dict[str, str]:
    return {"wrench.least": "1 N·m"} if field.where == "wrench.name" else {}


def test_what_is_too_long_for_a_field_is_left_to_the_file() -> None:
    lengths = [f"{n} of 7.{300 + n} in" for n in range(1, 61)]
    typed, left = form_values({"format": 1, "pushrods": {"intake": "7 in", "on_hand": lengths}})
    assert "pushrods.on_hand" not in typed
    assert "pushrods.on_hand" in left


def test_a_name_with_spaces_is_saved_with_dashes() -> None:
    found = check({**BOLT_DOWN, "file.name": " harbor launch  six "})
    assert found.whole
    assert found.understood["file.name"] == "harbor-launch-six.toml"


def test_the_job_goes_into_the_file_and_back() -> None:
    job = {"job.customer": "Mill Creek", "job.people": "MK = Mary King; JD = J. Doe"}
    written = document({**BOLT_DOWN, **job})
    assert written["job"] == {
        "customer": "Mill Creek",
        "people": {"MK": "Mary King", "JD": "J. Doe"},
    }
    setup = parse_setup(written, "x")
    assert setup.job is not None
    assert setup.job.people == {"MK": "Mary King", "JD": "J. Doe"}
    again, left = form_values(written)
    assert left == []
    assert again["job.people"] == "MK = Mary King, JD = J. Doe"
    assert [*check({**BOLT_DOWN, "job.people": "MK"}).faults] == ["job.people"]


def test_an_odd_figure_is_noted_under_its_group_and_hinders_nothing() -> None:
    found = check({**BOLT_DOWN, "cam.lobe_separation": "11.5"})
    assert found.whole
    assert any("Lobe separation" in note for note in found.notes["cam"])
    half = {w: t for w, t in BOLT_DOWN.items() if w.startswith("rocker.")}
    assert any(
        "Torque" in n for n in check({**half, "rocker.torque": "230 lbf ft"}).notes["rocker"]
    )
