"""One line of words for every kind of entry."""

from datetime import UTC, datetime
from typing import Any

import pytest

from heelwise.documents import entries as e
from heelwise.documents.entries import AnyBody
from heelwise.documents.entry_base import Entry, NotKnown
from heelwise.plain_text import plain
from heelwise.sheet.sections import LONGEST
from heelwise.sheet.words import (
    entry_valves,
    entry_words,
    name_list,
    step_name,
    turns_words,
)
from tests.documents.test_entries import BODIES
from tests.sheet.records import HOSTILE, every_kind, reading

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)

TOLD: list[tuple[AnyBody, tuple[str, ...]]] = [
    (
        e.Begun(procedure="bolt-down", procedure_digest="ab" * 32, program="heelwise 0.1.0"),
        ("heelwise 0.1.0", "bolt-down"),
    ),
    (e.Answered(step="heads-on", answer="yes", said="torqued"), ("heads on", "torqued")),
    (e.NotYet(step="heads", said="gasket", valve="1I"), ("1I", "heads", "gasket")),
    (e.Skipped(step="dry", reason="oiled"), ("dry", "oiled")),
    (e.Measured(step="wheel", reading="31°", what="degrees"), ("wheel", "31°")),
    (e.Noted(text="cup", valve="8E", photo="a.jpg"), ("8E", "cup", "a.jpg")),
    (e.Crank(at_deg=450.5, how="turned", seen="4I falls"), ("450.5°", "turned", "4I falls")),
    (e.CrankLost(reason="bumped"), ("bumped",)),
    (e.Felt(valve="2E", state="up"), ("2E", "lobe")),
    (e.Fitted(valve="1I", pushrod="7.400 in", phase="trial"), ("1I", "trial", "7.400 in")),
    (
        reading("1I", turns="495°", near=True, recount=True),
        ("1I", "again", "1 3/8 turns", "inside, near", "3/4 to 1 1/4", "7.400 in"),
    ),
    (
        e.NoClick(valve="1I", phase="fit", pushrod="7.4 in", never_past_turns=2.25),
        ("1I", "2 1/4", "7.4 in"),
    ),
    (e.Unloaded(valve="1I", minutes=1.0), ("1I", "1 min")),
    (e.BackedOff(valves=["1I", "2E", "5I"], why="trial over"), ("1I, 2E and 5I", "trial over")),
    (e.Held(minutes=20.0, valves=["1I"]), ("1I", "20 min")),
    (
        e.Accepted(valve="1I", of=61, person="A. Builder", reason="agreed"),
        ("1I", "61", "A. Builder", "agreed"),
    ),
    (e.Settled(valves=["1I"], pushrod="7.4 in", reason="none longer"), ("1I", "7.4 in", "none")),
    (
        e.Ordered(valves=["1I", "1E", "2I"], pushrods=["7.4 in", "7.5 in", "7.4 in"]),
        ("2 of 7.4 in for 1I and 2I", "1 of 7.5 in for 1E"),
    ),
    (
        e.Received(valve="1I", pushrod="7.5 in", ordered="7.4 in", as_ordered=False),
        ("1I", "7.5 in", "7.4 in", "NOT"),
    ),
    (
        e.Proved(valve="1I", outcome="moved", torque="24 lbf ft", setting="20 lbf ft", at_deg=1.0),
        ("1I", "24 lbf ft", "20 lbf ft", "moved"),
    ),
    (
        e.IndependentProof(valve="1I", outcome="held", torque="24 lbf ft", at_deg=1.0),
        ("1I", "independently", "held"),
    ),
    (
        e.Gauged(
            valve="1I",
            reading="0.016 in",
            what="lash",
            phase="fit",
            locked=True,
            at_deg=1.0,
            least_mm=0.3302,
            most_mm=0.381,
            limits_from="the sheet",
            step_mm=0.0254,
            verdict="loose",
            near=False,
        ),
        ("1I", "lash", "0.016 in", "loose", "0.013 in", "0.015 in"),
    ),
    (
        e.Checked(
            valve="1I",
            length="7.300 in",
            lash="0.051 in",
            cup_above_mm=-0.508,
            zero_lash_mm=186.69,
            at_deg=1.0,
            preload_mm=1.27,
            preload_from="the sheet",
            wanted_mm=187.96,
        ),
        ("1I", "0.051 in", "7.300 in", "0.020 in", "lower", "7.350 in", "7.400 in"),
    ),
    (
        e.Drawn(valves=["1I", "1E"], stand="1", torque="24 lbf ft", at_deg=0.0, on_lobe=["1E"]),
        ("1I and 1E", "24 lbf ft", "1E on a lobe"),
    ),
    (e.CrossedOut(of=12, reason="misread"), ("12", "misread")),
    (e.Paused(holding="holding at: Go on?"), ("paused", "Go on?")),
    (e.Resumed(clock_went_back=True), ("resumed", "clock")),
    (e.Recovered(bytes_set_aside=20, aside="a.end"), ("20", "a.end")),
    (e.HandedOver(to="CD"), ("CD",)),
    (e.SignedOff(person="A. Builder"), ("A. Builder",)),
    (e.Reopened(person="A. Builder", reason="8E"), ("A. Builder", "8E")),
    (e.Trouble(what="went solid", phase="prove", words="at 40"), ("went solid", "at 40")),
    (
        e.PutRight(of=6, cause="stop left in", words="taken out", person="CD"),
        ("6", "stop left in", "taken out", "CD"),
    ),
]


@pytest.mark.parametrize(("body", "parts"), TOLD, ids=[body.kind for body, _ in TOLD])
def test_words_hold_what_the_entry_holds(body: AnyBody, parts: tuple[str, ...]) -> None:
    words = entry_words(Entry(7, AT, "AB", body))
    for part in parts:
        assert part in words


@pytest.mark.parametrize("body", BODIES, ids=lambda body: str(body.kind))
def test_every_kind_has_words_and_tells_its_valves(body: Any) -> None:
    """Made from the kinds themselves, so that a new one is tried without a line here."""
    words = entry_words(Entry(7, AT, "AB", body))
    assert words.strip()
    assert "{" not in words
    assert all(valve in words for valve in entry_valves(Entry(7, AT, "AB", body)))


def test_what_this_version_does_not_know_is_shown_as_it_stands() -> None:
    words = entry_words(Entry(7, AT, "AB", NotKnown(named="honed"), unknown={"bore": "4.0 in"}))
    assert [part in words for part in ("honed", "bore = 4.0 in", "not known")] == [True] * 3
    known = Entry(7, AT, "AB", e.HandedOver(to="CD"), unknown={"shift": 2})
    assert "shift = 2" in entry_words(known)


def test_a_checked_length_without_lash() -> None:
    body = e.Checked(
        valve="1I",
        length="7.000 in + 7",
        zero_lash_mm=186.69,
        at_deg=1.0,
        preload_mm=1.27,
        preload_from="the sheet",
        wanted_mm=187.96,
    )
    words = entry_words(Entry(7, AT, "AB", body))
    assert ["7.000 in + 7" in words, "7.350 in" in words, "7.400 in" in words] == [True] * 3
    assert "186.69 mm" in words.painted("mm")
    assert "in" not in words.painted("mm").replace("7.000 in + 7", "").split()


def test_lengths_are_painted_in_the_unit_asked_for() -> None:
    fitted = Entry(7, AT, "AB", e.Fitted(valve="1I", pushrod="7.400 in", phase="trial"))
    assert "7.400 in = 187.96 mm" in entry_words(fitted).painted("mm")
    assert "=" not in entry_words(fitted).painted("in")


def test_a_step_goes_by_its_title_or_its_id_in_words() -> None:
    assert step_name("walk/back-off") == "back off"
    assert step_name("dry-run") == "dry run"


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_is_one_plain_line(text: str) -> None:
    for body in every_kind(text):
        said = entry_words(Entry(7, AT, "AB", body))
        assert said == plain(said)
        assert "\n" not in said
        assert 0 < len(said) <= LONGEST


def test_turns_are_written_the_trade_s_way_or_left_as_typed() -> None:
    typed = ["1.375", "495°", "1-3/4", "0", "0.3", "a bit"]
    assert [turns_words(text) for text in typed] == [
        "1 3/8 turns",
        "1 3/8 turns",
        "1 3/4 turns",
        "0 turns",
        "0.30 turn",
        "a bit",
    ]


def test_valves_of_an_entry() -> None:
    held = Entry(1, AT, "AB", e.Held(minutes=2.0, valves=["1I", "2E"]))
    noted = Entry(2, AT, "AB", e.Noted(text="x"))
    felt = Entry(3, AT, "AB", e.Felt(valve="2E", state="down"))
    assert [entry_valves(each) for each in (held, noted, felt)] == [("1I", "2E"), (), ("2E",)]
    assert name_list([]) == "none"
