"""Crossing out, pausing, a crank that was moved, notes and hand-over."""

import pytest

from heelwise.documents.entries import (
    Answered,
    Crank,
    CrossedOut,
    Drawn,
    Felt,
    Noted,
    Paused,
    Proved,
    Read,
    Received,
)
from heelwise.documents.entry_base import Entry
from heelwise.valvetrain.engine import Valve
from heelwise.walk.crank import BACK_OFF, HOLD, TURN
from heelwise.walk.finding import FEEL
from heelwise.walk.prompts import Refused
from heelwise.walk.scene import Scene
from heelwise.walk.state import RESUME_STEP, fold
from heelwise.walk.trials import TRY_MORE
from heelwise.walk.walker import next_prompt
from tests.walk.driving import Drive, no_faults


def _number(drive: Drive, kind: type, **fields: object) -> int:
    return next(
        e.number
        for e in reversed(drive.kept)
        if isinstance(e.body, kind) and all(getattr(e.body, k) == v for k, v in fields.items())
    )


def test_a_crossed_out_reading_is_asked_again_and_stays_readable() -> None:
    drive = no_faults()
    drive.until(lambda p: p.id == TURN and p.phase == "fit")
    number = _number(drive, Read, phase="fit")
    name = drive.kept[number - 1].body.valve  # type: ignore[union-attr]
    drive.walker.cross_out(number, "wrong valve")
    assert drive.kept[number - 1].body.kind == "read"
    prompt = drive.until(lambda p: p.records == "count")
    assert str(prompt.valve) == name
    drive.to_the_end()
    assert all(o.proved for o in drive.outcome)


def test_a_crossed_out_reading_takes_its_proof_with_it() -> None:
    drive = no_faults()
    drive.until(lambda p: p.id == "walk/recount-loosen")
    proof = next(e for e in drive.kept if isinstance(e.body, Proved))
    assert isinstance(proof.body, Proved)
    valve = Valve.parse(proof.body.valve)
    read = _number(drive, Read, valve=str(valve), phase="fit")
    said = drive.walker.cross_out(read, "counted from the wrong mark")
    assert str(proof.number) in said.text
    assert drive.walker.state.valves[valve].proof is None
    drive.to_the_end()
    assert next(o for o in drive.outcome if o.valve == str(valve)).proved


def test_crossing_out_where_the_crank_stood_takes_every_reading_there() -> None:
    drive = no_faults()
    drive.until(lambda p: p.id == TURN and p.phase == "fit")
    here = drive.walker.state.crank
    assert here is not None
    readings = [e for e in drive.kept if isinstance(e.body, Read) and here.number in e.rests_on]
    assert readings
    drive.walker.cross_out(here.number, "the mark had slipped")
    assert {e.number for e in readings} <= drive.walker.state.void
    assert drive.walker.state.crank is None
    assert drive.prompt.id == "walk/hold" or drive.prompt.id == FEEL
    drive.to_the_end()
    assert all(o.proved for o in drive.outcome)


def test_crossing_out_the_reference_brings_everything_after_it_down() -> None:
    drive = no_faults()
    drive.until(lambda p: p.id == TURN and p.phase == "fit")
    reference = _number(drive, Answered, step="cylinder-one")
    fits = {e.number for e in drive.kept if isinstance(e.body, Read)}
    drive.walker.cross_out(reference, "that was overlap")
    assert fits <= drive.walker.state.void
    barred = []
    while drive.prompt.id != "cylinder-one":
        barred.append(drive.prompt.id)  # what was backed off rests on the crank's place too
        drive.step()
    assert set(barred) <= {BACK_OFF, HOLD}
    assert not drive.walker.state.trial_loaded | drive.walker.state.trial_in
    drive.to_the_end()
    assert all(o.proved for o in drive.outcome)


@pytest.mark.parametrize(
    ("number", "reason", "said"),
    [(1, "x", "stays"), (9999, "x", "no entry"), (3, "  ", "nothing was given")],
)
def test_what_can_not_be_crossed_out(number: int, reason: str, said: str) -> None:
    drive = no_faults()
    drive.walker.pause()
    drive.until(lambda p: p.id == "heads")
    with pytest.raises(Refused, match=said):
        drive.walker.cross_out(number, reason)


def test_an_entry_is_crossed_out_once() -> None:
    drive = no_faults()
    drive.until(lambda p: p.id == "heads")
    drive.walker.cross_out(2, "mistaken")
    with pytest.raises(Refused, match="doesn't count any more"):
        drive.walker.cross_out(2, "mistaken")


def test_a_resume_asks_for_the_crank_and_repeats_the_interrupted_step() -> None:
    drive = no_faults()
    drive.until(lambda p: p.records == "count" and p.phase == "fit")
    valve = drive.prompt.valve
    drive.walker.resume()
    assert drive.prompt.id == RESUME_STEP
    drive.step("y")
    assert isinstance(drive.kept[-1].body, Crank)
    assert drive.prompt.records == "count"
    assert drive.prompt.valve == valve


def test_a_pause_is_an_entry_that_says_what_it_holds_at() -> None:
    drive = no_faults()
    drive.until(lambda p: p.records == "count" and p.phase == "fit")
    asked = drive.prompt.question
    drive.walker.pause()
    paused = drive.kept[-1].when(Paused)
    assert paused is not None
    assert asked in paused.body.holding
    assert drive.prompt.id == RESUME_STEP


def test_a_moved_crank_is_found_by_feel_in_few_answers() -> None:
    drive = no_faults("v8-18436572")
    drive.until(lambda p: p.records == "count" and p.phase == "fit")
    drive.walker.resume()
    drive.step("m")
    cam, at = drive.build.cam, 222.0
    assert cam is not None
    felt = 0
    while drive.prompt.id == FEEL:
        valve = drive.prompt.valve
        assert valve is not None
        drive.step("u" if drive.truth.lift_mm(valve, at) > 0.3 else "d")
        felt += 1
        assert felt < 9
    assert drive.prompt.id == "walk/find-mark"
    assert drive.prompt.crank_target_deg == 360.0
    drive.step("y")
    assert drive.scene.crank_deg == 360.0
    drive.to_the_end()


def test_answers_that_contradict_are_felt_again() -> None:
    drive = no_faults("v8-18436572")
    drive.until(lambda p: p.records == "count" and p.phase == "fit")
    drive.walker.lose_crank("someone leaned on the bar")
    number = drive.kept[-1].number
    for name in ("1I", "6I"):  # half a cycle apart: never both; earlier versions took any valve
        number += 1
        body = Felt(valve=name, state="up")
        drive.kept.append(Entry(number, drive.kept[-1].at, "T1", body))
    asked = drive.from_the_record()
    assert asked.id == FEEL
    assert str(asked.valve) in " ".join(f.text for f in asked.facts)
    with pytest.raises(Refused):
        drive.walker.reply("1I up")


def test_a_lifter_that_can_not_be_told_is_not_asked_again() -> None:
    drive = no_faults("v8-18436572")
    drive.until(lambda p: p.records == "count" and p.phase == "fit")
    drive.walker.lose_crank("moved")
    first = drive.prompt.valve
    drive.step("c")
    assert isinstance(drive.kept[-1].body, Felt)
    assert drive.prompt.valve != first


def test_notes_belong_to_a_valve_and_a_hand_over_changes_the_initials() -> None:
    drive = no_faults()
    drive.walker.note("scratched seat", Valve.parse("2E"))
    assert isinstance(drive.kept[-1].body, Noted)
    history = drive.walker.state.valves[Valve.parse("2E")].history
    assert [e.number for e in history] == [1]
    drive.walker.hand_over("Z9")
    drive.step()
    assert drive.kept[-1].by == "Z9"
    with pytest.raises(Refused):
        drive.walker.note("   ")


def test_a_clock_that_went_backwards_is_noted() -> None:
    drive = no_faults()
    drive.until(lambda p: p.id == "heads")
    drive.clock._now = drive.kept[0].at.replace(year=2030)
    drive.walker.resume()
    assert drive.kept[-1].body.clock_went_back is True  # type: ignore[union-attr]


def test_a_note_may_name_a_photograph_but_no_folder() -> None:
    drive = no_faults()
    drive.walker.note("scratched seat", Valve.parse("2E"), "IMG_0042.jpg")
    body = drive.kept[-1].body
    assert isinstance(body, Noted)
    assert body.photo == "IMG_0042.jpg"
    assert drive.walker.state.valves[Valve.parse("2E")].history[-1].body == body
    for bad in ("../x.jpg", "a/b.jpg", "C:x.jpg", "photo", ".jpg", "con.jpg", "a b.jpg"):
        with pytest.raises(Refused, match="without a folder"):
            drive.walker.note("scratched seat", None, bad)
    assert len(drive.kept) == 1


def test_a_valve_s_history_has_all_that_was_said_of_it() -> None:
    drive = no_faults()
    drive.until(lambda p: p.records == "count" and p.phase == "fit")
    valve = drive.prompt.valve
    assert valve is not None
    drive.step("1/2")
    read = drive.kept[-1].number
    drive.step("4", ("R. Signer", "short on purpose"))
    drive.walker.note("a nick in its cup", valve, "nick-1.png")
    drive.walker.cross_out(read, "wrong mark")
    kinds = [e.body.kind for e in drive.walker.state.valves[valve].history]
    assert kinds[-3:] == ["read", "accepted", "noted"]
    assert read in drive.walker.state.void


def test_crossing_out_that_a_pushrod_was_seated_brings_its_count_and_proof_down() -> None:
    drive = no_faults(name="solid-lifters")
    drive.until(lambda p: p.id == "walk/sign-off")
    seated = _number(drive, Answered, step="seated", valve="1I")
    drive.walker.cross_out(seated, "was not seated")
    assert drive.walker.state.valves[Valve.parse("1I")].proof is None
    assert drive.prompt.id != "walk/sign-off"
    drive.to_the_end()
    assert all(o.proved for o in drive.outcome)


def test_a_trial_crossed_out_in_prove_is_tried_again_and_its_valve_done_over() -> None:
    drive = no_faults()
    drive.until(lambda p: p.id == "walk/sign-off")
    trial = _number(drive, Read, phase="trial")
    body = drive.kept[trial - 1].body
    assert isinstance(body, Read)
    said = drive.walker.cross_out(trial, "counted on the wrong valve")
    assert "asked again" in said.text
    again = drive.until(lambda p: p.records == "count")
    assert again.phase == "trial"
    assert str(again.valve) == body.valve
    drive.until(lambda p: p.id == "walk/order")
    assert drive.walker.state.valves[Valve.parse(body.valve)].proof is None
    before = len(drive.kept)
    drive.to_the_end()
    later = [e.body for e in drive.kept[before:]]
    assert any(isinstance(b, Proved) and b.valve == body.valve for b in later)
    assert all(o.proved for o in drive.outcome)


def test_a_received_pushrod_crossed_out_in_prove_is_measured_counted_and_proved_again() -> None:
    drive = no_faults()
    drive.until(lambda p: p.id == "walk/sign-off")
    received = _number(drive, Received, valve="2E")
    count = _number(drive, Read, valve="2E")
    drive.walker.cross_out(received, "read the caliper wrong")
    assert count in drive.walker.state.void
    assert drive.prompt.id == "walk/receive"
    assert drive.prompt.valve == Valve.parse("2E")
    before = len(drive.kept)
    drive.to_the_end()
    mine = [e.body.kind for e in drive.kept[before:] if getattr(e.body, "valve", None) == "2E"]
    assert mine.index("received") < mine.index("read") < mine.index("proved")
    assert all(o.proved for o in drive.outcome)


def test_each_step_of_a_stand_brings_its_drawing_down_with_it() -> None:
    drive = Drive("i4-1342", 1, planted=(), name="shaft-rockers")
    drive.until(lambda p: p.id == "walk/sign-off")
    drawn = _number(drive, Drawn)
    body = drive.kept[drawn - 1].body
    assert isinstance(body, Drawn)
    steps = [s for s in drive.build.steps("fit", "stand") if s.records != "drawn"]
    assert steps
    for step in steps:
        told = _number(drive, Answered, step=step.id, valve=body.valves[0])
        assert told in drive.kept[drawn - 1].rests_on
    drive.walker.cross_out(told, "the stand was not seated")
    assert drawn in drive.walker.state.void
    assert drive.prompt.id != "walk/sign-off"
    drive.to_the_end()
    assert all(o.proved for o in drive.outcome)


PROCEDURES = (
    "bolt-down-rockers",
    "adjustable-checking-pushrod",
    "solid-checking-lifter",
    "stud-rockers",
    "shaft-rockers",
    "solid-lifters",
    "recheck-running-engine",
)
NOT_ASKED = ("begun", "noted", "felt", "backed off", "not yet", "held")
"""What is no answer to a question of its own: said freely, or done on the way to a reading."""


@pytest.mark.parametrize("name", PROCEDURES)
def test_whatever_is_crossed_out_before_the_signature_bars_it(name: str) -> None:
    """The latest of each answer, reading and deed: without it the signature is out of reach."""
    drive = Drive("i4-1342", 1, planted=(), name=name)
    drive.until(lambda p: p.id == "walk/sign-off")
    latest = {}
    for entry in drive.kept:
        body = entry.body
        about = getattr(body, "valve", None) or tuple(getattr(body, "valves", ()))
        latest[body.kind, getattr(body, "step", None), about] = entry
    asked = [e for e in latest.values() if e.body.kind not in NOT_ASKED]
    asked = [e for e in asked if getattr(e.body, "step", None) != TRY_MORE]
    assert len(asked) > 20
    for entry in asked:
        number, at = len(drive.kept) + 1, drive.kept[-1].at
        crossed = Entry(number, at, "T1", CrossedOut(of=entry.number, reason="mistaken"))
        standing = fold(drive.build.engine.valves, [*drive.kept, crossed])
        assert next_prompt(Scene(drive.build, standing)).id != "walk/sign-off", entry
