"""One line of words for every kind of entry."""

from datetime import UTC, datetime
from typing import get_args

import pytest

from heelwise.documents import entries as e
from heelwise.documents.entries import AnyBody, Entry
from heelwise.documents.entry_base import NotKnown
from heelwise.plain_text import plain
from heelwise.sheet.words import LONGEST, entry_valves, entry_words, names_said, turns_said
from tests.sheet.records import HOSTILE, every_kind, reading

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)

SAID: list[tuple[AnyBody, str]] = [
    (
        e.Begun(procedure="bolt-down", procedure_digest="ab" * 32, program="heelwise 0.1.0"),
        "begun with heelwise 0.1.0, procedure bolt-down (digest abababababab…)",
    ),
    (e.Answered(step="heads", answer="yes", said="torqued"), "heads: torqued"),
    (
        e.Answered(step="seated", answer="yes", said="in both cups", valve="1I"),
        "1I seated: in both cups",
    ),
    (e.NotYet(step="heads", said="gasket"), "heads: not yet, gasket"),
    (e.Skipped(step="dry", reason="oiled"), "dry: left out, because oiled"),
    (e.Measured(step="wheel", reading="31°", what="degrees"), "wheel: 31°"),
    (e.Noted(text="photo 3", valve="8E"), "8E note: photo 3"),
    (
        e.Crank(at_deg=450.5, how="turned", seen="4I falls"),
        "crank at 450.5° (turned): 4I falls",
    ),
    (e.CrankLost(reason="bumped"), "the crank's place is not known: bumped"),
    (e.Felt(valve="2E", state="up"), "2E felt up on the lobe"),
    (
        e.Fitted(valve="1I", pushrod="7.400 in", phase="trial"),
        "1I trial pushrod 7.400 in fitted",
    ),
    (reading("1I", turns="1.375"), "1I 1 3/8 turns: inside (3/4 to 1 1/4, pushrod 7.400 in)"),
    (
        reading("1I", turns="495°", near=True, recount=True),
        "1I counted again, 1 3/8 turns: inside, near a limit (3/4 to 1 1/4, pushrod 7.400 in)",
    ),
    (
        reading("1I", turns="1/2", phase="trial", verdict="short"),
        "1I trial, 1/2 turn: short (3/4 to 1 1/4, pushrod 7.400 in)",
    ),
    (
        e.Ceiling(valve="1I", phase="fit", pushrod="7.4 in", never_past_turns=2.25),
        "1I 2 1/4 turns reached without a click: count ended there (pushrod 7.4 in)",
    ),
    (
        e.Unloaded(valve="1I", minutes=1.0),
        "1I loosened, its lifter left to rise for 1 min",
    ),
    (
        e.BackedOff(valves=["1I", "2E", "5I"], why="trial over"),
        "1I, 2E and 5I backed off: trial over",
    ),
    (e.Held(minutes=20.0, valves=["1I"]), "1I left 20 min to bleed down"),
    (
        e.Accepted(valve="1I", of=61, person="A. Builder", reason="agreed"),
        "1I entry 61 accepted as is by A. Builder: agreed",
    ),
    (
        e.Settled(valves=["1I"], pushrod="7.4 in", reason="none longer"),
        "1I settled at pushrod 7.4 in, untried: none longer",
    ),
    (
        e.Ordered(valves=["1I", "1E", "2I"], pushrods=["7.4 in", "7.5 in", "7.4 in"]),
        "pushrods to buy: 2 of 7.4 in for 1I and 2I; 1 of 7.5 in for 1E",
    ),
    (
        e.Received(valve="1I", pushrod="7.5 in", ordered="7.4 in", as_ordered=False),
        "1I pushrod received, measures 7.5 in, NOT as ordered (7.4 in)",
    ),
    (
        e.Proved(valve="1I", outcome="moved", torque="24 lbf ft", at_deg=1.0),
        "1I 24 lbf ft again on the heel: moved: counted again from zero lash",
    ),
    (
        e.ProvedApart(valve="1I", outcome="held", torque="24 lbf ft", at_deg=1.0),
        "1I proved apart, lock tried on the heel: held",
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
        "1I lash after locking 0.016 in: loose (0.013 in to 0.015 in)",
    ),
    (
        e.Checked(
            valve="1I",
            length="7.350 in",
            at_deg=1.0,
            preload_mm=1.27,
            preload_from="the sheet",
            wanted_mm=187.96,
        ),
        "1I 7.350 in long at zero lash, so 7.400 in is wanted",
    ),
    (
        e.Checked(
            valve="1I",
            length="7.000 in + 7",
            zero_lash_mm=186.69,
            at_deg=1.0,
            preload_mm=1.27,
            preload_from="the sheet",
            wanted_mm=187.96,
        ),
        "1I 7.000 in + 7 out, 7.350 in long at zero lash, so 7.400 in is wanted",
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
        "1I 0.051 in of lash over a pushrod 7.300 in on the solid lifter, the hydraulic cup "
        "0.020 in lower: zero lash at 7.350 in, so 7.400 in is wanted",
    ),
    (
        e.Drawn(valves=["1I", "1E"], stand="1I", torque="24 lbf ft", at_deg=0.0, on_lobe=["1E"]),
        "stand of 1I and 1E drawn down evenly to 24 lbf ft; 1E on a lobe",
    ),
    (
        e.Noted(text="chipped", valve="8E", photo="IMG_7.jpg"),
        "8E note: chipped (photograph IMG_7.jpg)",
    ),
    (e.CrossedOut(of=9, reason="misread"), "entry 9 crossed out: misread"),
    (e.Paused(holding="holding at: 1I"), "laid down, holding at: 1I"),
    (e.Resumed(clock_went_back=True), "taken up again; the clock had gone back"),
    (
        e.Recovered(bytes_set_aside=31, aside="r.torn"),
        "a torn end of 31 bytes was set aside in r.torn",
    ),
    (e.HandedOver(to="CD"), "handed over to CD"),
    (e.SignedOff(person="A. Builder"), "signed off by A. Builder"),
    (e.Reopened(person="A. Builder", reason="8E"), "reopened by A. Builder: 8E"),
]


@pytest.mark.parametrize(("body", "said"), SAID, ids=[body.kind for body, _ in SAID])
def test_words(body: AnyBody, said: str) -> None:
    assert entry_words(Entry(7, AT, "AB", body)) == said


def test_every_kind_has_words() -> None:
    assert {type(body) for body, _ in SAID} | {NotKnown} == set(get_args(AnyBody))


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_is_one_plain_line(text: str) -> None:
    for body in every_kind(text):
        said = entry_words(Entry(7, AT, "AB", body))
        assert said == plain(said)
        assert "\n" not in said
        assert 0 < len(said) <= LONGEST


def test_turns_are_said_the_trade_s_way_or_left_as_typed() -> None:
    typed = ["1.375", "495°", "1-3/4", "0", "0.3", "a bit"]
    assert [turns_said(text) for text in typed] == [
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
    assert names_said([]) == "none"
