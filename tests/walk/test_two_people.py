"""A second person's proof: blind, by somebody else, and asked for before the signature."""

import re

import pytest

from heelwise.documents.entries import HandedOver, IndependentProof, Proved
from heelwise.walk.prompts import Refused
from heelwise.walk.prove import SECOND_PERSON, SIGN
from tests.walk.driving import Drive

NAMES = ("bolt-down-rockers", "stud-rockers", "shaft-rockers")


def _wanted(name: str = NAMES[0], card: str = "i4-1342") -> Drive:
    drive = Drive(card, 1, planted=(), name=name)
    drive.until(lambda p: p.records == "second_person")
    drive.step("2")
    return drive


@pytest.mark.parametrize("name", NAMES)
def test_every_valve_is_proved_apart_by_another_person(name: str) -> None:
    drive = _wanted(name)
    drive.to_the_end()
    assert len(drive.outcome) == 8
    for row in drive.outcome:
        assert (row.proved_by, row.apart_by) == ("T1", "BR")
        assert row.apart in ("clicked", "settled", "held")


def _unnamed(question: str) -> str:
    """A question without the names of the valves it is about."""
    return re.sub(r"\d+[IE](, | and )?", "", question)


def test_the_second_person_is_not_shown_what_the_first_one_found() -> None:
    drive = _wanted()
    drive.until(lambda p: p.id == SECOND_PERSON)
    firsts = {_unnamed(p.question) for p in drive.prompts if p.records == "proof"}
    drive.step()
    while drive.prompt.phase == "prove":
        prompt = drive.prompt
        assert prompt.blind
        if prompt.records == "proof":
            assert _unnamed(prompt.question) in firsts, "asked in the very words of the first"
            shown = f"{prompt.question} {prompt.why} {prompt.facts} {prompt.heading}"
            assert "clicked" not in shown.replace("clicked, did not move", "")
            assert "T1" not in shown
        drive.step()
    assert all(not p.blind for p in drive.prompts if p.phase in ("trial", "fit"))


def test_one_person_twice_is_measured_again_and_not_taken() -> None:
    drive = _wanted()
    drive.until(lambda p: p.id == SECOND_PERSON)
    before = len(drive.kept)
    for same in ("T1", " t1 "):
        with pytest.raises(Refused):
            drive.walker.reply("o", (same,))
    assert len(drive.kept) == before
    drive.step("o", ("QQ",))
    assert isinstance(drive.kept[-1].body, HandedOver)
    drive.step()
    assert drive.kept[-1].by == "QQ"
    assert isinstance(drive.kept[-1].body, IndependentProof)


def test_the_first_person_coming_back_is_not_asked_for_the_second_proof() -> None:
    drive = _wanted()
    drive.until(lambda p: p.id == SECOND_PERSON)
    drive.step()
    drive.step()
    drive.walker.hand_over("T1")
    assert drive.prompt.id == SECOND_PERSON


def test_what_the_second_person_finds_moved_is_done_again_by_both() -> None:
    drive = _wanted()
    drive.until(lambda p: p.id == SECOND_PERSON)
    drive.step()
    drive.until(lambda p: p.records == "proof")
    valve = drive.prompt.valve
    assert valve is not None
    drive.step("3")
    assert drive.walker.state.valves[valve].proof is None
    drive.to_the_end()
    row = next(o for o in drive.outcome if o.valve == str(valve))
    # The second person counted and proved it anew: so a third pair of hands proves it apart.
    assert row.proved_by == "BR"
    assert row.apart_by == "CR"


def test_without_it_nobody_else_is_asked_and_crossing_the_wish_out_does_without() -> None:
    drive = _wanted()
    drive.until(lambda p: p.id == SECOND_PERSON)
    wish = next(e for e in drive.kept if getattr(e.body, "fills", None) == "second_person")
    drive.walker.cross_out(wish.number, "nobody else is here today")
    assert drive.prompt.records == "second_person"
    drive.step("1")
    drive.until(lambda p: p.id == SIGN)
    assert not any(isinstance(e.body, IndependentProof) for e in drive.kept)


def test_crossing_out_the_first_proof_takes_the_second_with_it() -> None:
    drive = _wanted()
    drive.until(lambda p: p.id == "nothing-left")
    first = next(e for e in drive.kept if isinstance(e.body, Proved))
    assert isinstance(first.body, Proved)
    name = first.body.valve
    mine = [e for e in drive.kept if getattr(e.body, "valve", None) == name]
    proof = [e for e in mine if isinstance(e.body, Proved)][-1]
    drive.walker.cross_out(proof.number, "the wrench was set low")
    one = drive.walker.state.by_name[name]
    assert one.proof is None
    assert one.independent_proof is None
    drive.to_the_end()
