"""Whatever goes wrong can be said, and leads to the right next step."""

from __future__ import annotations

from string import ascii_lowercase

import pytest

from heelwise.documents.entries import (
    Accepted,
    BackedOff,
    Crank,
    CrossedOut,
    Drawn,
    Held,
    NoClick,
    Noted,
    PutRight,
    Read,
    Trouble,
)
from heelwise.walk.crank import HOLD, TURN
from heelwise.walk.doubts import EARLY_CLICK
from heelwise.walk.finding import FEEL, FIND_MARK, WATCH_ONE
from heelwise.walk.prompts import Prompt, Refused
from heelwise.walk.state import FIRST_MOVE, NAMED_TROUBLE, WENT_SOLID
from heelwise.walk.trials import FIT_TRIAL, TRIAL_OVER
from heelwise.walk.troubles import PUT_IT_RIGHT, SOLID_CAUSE, SOLID_ROCKERS, TROUBLES
from heelwise.walk.valve_steps import OUTSIDE, UNLOAD
from heelwise.walk.walker import outstanding
from tests.walk.driving import Drive, no_faults


def _went_solid(prompt_id: str, phase: str = "fit") -> Drive:
    drive = no_faults("i4-1342")
    drive.until(lambda prompt: prompt.id == prompt_id and prompt.phase == phase)
    drive.step("x")
    return drive


@pytest.mark.parametrize(
    ("prompt_id", "phase"),
    [
        (TURN, "trial"),
        (TURN, "fit"),
        (TURN, "prove"),
        ("first-turn", "prove"),
        ("reference", "prepare"),
    ],
)
def test_a_crank_that_went_solid_moves_only_once_its_cause_is_put_right(
    prompt_id: str, phase: str
) -> None:
    drive = no_faults("i4-1342")
    prompt = drive.until(lambda p: p.phase == phase and p.turns_crank and _is(p, prompt_id))
    assert prompt.option("x")
    drive.step("x")
    assert isinstance(drive.kept[-1].body, Trouble)
    down = [v for v, state in drive.walker.state.valves.items() if state.rocker_down]
    if down:
        assert drive.prompt.id == SOLID_ROCKERS
        drive.step("y")
        off = [e.body for e in drive.kept if isinstance(e.body, BackedOff)][-1]
        assert off.valves == [str(valve) for valve in down]
    assert drive.prompt.id == SOLID_CAUSE
    drive.step("n")
    assert drive.prompt.id == SOLID_CAUSE
    drive.step("1", ("the intake was bent, a new one is in",))
    right = drive.kept[-1].when(PutRight)
    assert right is not None
    assert right.body.words == "the intake was bent, a new one is in"
    drive.until(lambda p: p.id not in (HOLD,))
    assert drive.prompt.id == FIRST_MOVE
    drive.step("y")
    if phase != "prepare":
        assert drive.scene.crank_deg is None
        assert drive.prompt.id in (FEEL, FIND_MARK, WATCH_ONE, HOLD)
    drive.to_the_end()


def _is(prompt: Prompt, prompt_id: str) -> bool:
    return prompt_id in (prompt.id, "reference") or prompt.id == prompt_id


def test_no_turn_is_asked_while_it_stands_and_it_can_not_be_crossed_out() -> None:
    drive = _went_solid(TURN)
    number = drive.kept[-1].number
    with pytest.raises(Refused):
        drive.walker.cross_out(number, "no")
    drive.walker.pause()
    drive.step()
    assert drive.prompt.id in (SOLID_ROCKERS, SOLID_CAUSE)
    assert WENT_SOLID in outstanding(drive.scene)


def test_a_crank_said_to_be_solid_in_words_is_never_told_to_turn_on() -> None:
    drive = no_faults("i4-1342")
    drive.until(lambda p: p.id == TURN and p.phase == "fit")
    kept = len(drive.kept)
    with pytest.raises(Refused):
        drive.step("n", ("It went SOLID",))
    assert len(drive.kept) == kept


def test_only_the_rockers_named_come_off() -> None:
    drive = no_faults("i4-1342")
    drive.until(lambda p: p.id == TURN and p.phase == "prove")
    drive.step("x")
    with pytest.raises(Refused):
        drive.step("9E")
    drive.step("3E 4i")
    off = [e.body for e in drive.kept if isinstance(e.body, BackedOff)][-1]
    assert off.valves == ["3E", "4I"]
    drive.step("2", ("a shorter pushrod",))
    drive.to_the_end()
    reads = [e.body.valve for e in drive.kept if isinstance(e.body, Read)]
    assert reads.count("4I") >= 2


def test_answered_by_mistake_the_place_is_found_anew() -> None:
    drive = _went_solid(TURN)
    if drive.prompt.id == SOLID_ROCKERS:
        drive.step("n")
    drive.step("m", ("AO", "a slip of the finger"))
    assert drive.prompt.id in (FEEL, FIND_MARK, WATCH_ONE, HOLD)
    drive.to_the_end()


# ------------------------------------------------------------- lash and bottomed


@pytest.mark.parametrize("name", ["bolt-down-rockers", "stud-rockers"])
def test_a_hydraulic_valve_with_lash_left_is_never_accepted(name: str) -> None:
    drive = no_faults("i4-1342", name=name)
    drive.until(lambda p: p.records == "count" and p.phase == "fit")
    drive.step("0")
    while drive.prompt.id == EARLY_CLICK:
        drive.step("1")
    assert drive.prompt.id == OUTSIDE
    assert drive.prompt.option("4") is None
    with pytest.raises(Refused):
        drive.step("4", ("AO", "no"))
    drive.to_the_end()
    assert not [e for e in drive.kept if isinstance(e.body, Accepted)]


def test_a_gap_that_shows_no_preload_is_never_accepted() -> None:
    drive = no_faults("i4-1342", name="shaft-rockers")
    drive.until(lambda p: p.records == "gauge")
    drive.step("0.400 in")
    assert drive.prompt.id == OUTSIDE
    assert drive.prompt.option("4") is None


# ------------------------------------------------------------------- nut creep


def test_a_nut_that_came_round_is_set_again_from_zero_lash() -> None:
    drive = no_faults("i4-1342", name="stud-rockers")
    drive.until(lambda p: p.records == "locked")
    valve = drive.prompt.valve
    drive.step("n")
    assert isinstance(drive.kept[-1].body, BackedOff)
    again = drive.until(lambda p: p.records == "count")
    assert again.valve == valve
    drive.to_the_end()


# ---------------------------------------------------------------- not yet up


def test_a_lifter_that_has_not_risen_stays_open_until_it_has() -> None:
    drive = _with_lifters("4")
    drive.until(lambda p: p.id == UNLOAD)
    valve = drive.prompt.valve
    drive.step("n")
    assert drive.prompt.id == PUT_IT_RIGHT
    assert drive.prompt.option("2") is None
    assert f"{valve}" in "".join(outstanding(drive.scene))
    drive.step("3")
    assert drive.prompt.id != PUT_IT_RIGHT
    drive.to_the_end()
    assert [e for e in drive.kept if isinstance(e.body, PutRight)]


def _with_lifters(key: str) -> Drive:
    """Lifters in a condition: 1 dry, 2 soaked, 3 pumped, 4 used."""
    drive = no_faults("i4-1342")
    drive.until(lambda p: p.records == "lifter_condition")
    drive.step(key)
    return drive


def test_a_lifter_still_up_after_its_hold_bars_the_turn() -> None:
    drive = _with_lifters("3")
    drive.until(lambda p: p.id == HOLD)
    held = drive.prompt
    with pytest.raises(Refused):
        drive.step("n", ("99E",))
    valve = next(v for v in drive.walker.state.load_times)
    drive.step("n", (str(valve),))
    assert drive.prompt.id == PUT_IT_RIGHT
    drive.step("1", ("bled down by hand",))
    assert drive.until(lambda p: p.id != HOLD).id != held.id
    drive.to_the_end()


# ------------------------------------------------------------- anything else


_OFFERED = {
    "bolt-down-rockers": len(TROUBLES) - 2,
    "stud-rockers": len(TROUBLES),
    "shaft-rockers": len(TROUBLES) - 2,
    "solid-lifters": len(TROUBLES) - 2,
}
"""By what the setup has: hydraulic lifters, studs."""


@pytest.mark.parametrize(
    ("name", "letter"),
    [(name, ascii_lowercase[i]) for name, many in _OFFERED.items() for i in range(many)],
)
def test_every_trouble_has_a_next_step_and_ends(name: str, letter: str) -> None:
    drive = no_faults("i4-1342", name=name)
    drive.until(lambda p: p.records in ("count", "gauge") and p.phase == "fit")
    valve = drive.prompt.valve
    drive.step("t", ("something gave",))
    assert (drive.prompt.id, drive.prompt.valve) == (NAMED_TROUBLE, valve)
    assert len(drive.prompt.options) == _OFFERED[name]
    drive.step(letter)
    assert drive.prompt.id == PUT_IT_RIGHT
    assert drive.prompt.question
    going_on = drive.prompt.option("2")
    drive.step(*(("2", ("AO", "the maker says so")) if going_on else ("1", ("a new one",))))
    assert not drive.walker.state.troubles
    drive.to_the_end()


# --------------------------------------------------------- a click far too early


def test_a_click_far_too_early_first_asks_for_thread_hole_bolt_wrench_and_cups() -> None:
    drive = no_faults("i4-1342")
    drive.until(lambda p: p.records == "count" and p.phase == "trial")
    drive.step("1/8")
    assert drive.prompt.id == EARLY_CLICK
    number = drive.kept[-1].number
    drive.step("3")
    assert isinstance(drive.kept[-1].body, CrossedOut)
    assert number in drive.walker.state.void
    assert drive.until(lambda p: p.id != UNLOAD).id == FIT_TRIAL
    drive.until(lambda p: p.records == "count" and p.phase == "trial")
    drive.step("1/8")
    drive.step("1")
    assert drive.prompt.id == TRIAL_OVER
    drive.to_the_end()


# ------------------------------------------------------------ asked once more


def test_a_length_far_from_those_sold_is_asked_once_more() -> None:
    drive = no_faults("i4-1342")
    drive.until(lambda p: p.id == FIT_TRIAL)
    before = len(drive.scene.trials)
    assert drive.step("6.303 in").id == FIT_TRIAL
    assert all(state.fitted is None for state in drive.walker.state.valves.values())
    assert drive.step("6.304 in").id == FIT_TRIAL
    assert drive.step("6.304 in").id != FIT_TRIAL
    assert len(drive.scene.trials) == before
    with pytest.raises(Refused):
        no_faults("i4-1342").until(lambda p: p.id == FIT_TRIAL).reply("0 in", (), drive.clock.now())


def test_a_count_past_never_past_is_asked_once_more() -> None:
    drive = no_faults("i4-1342")
    count = drive.until(lambda p: p.records == "count" and p.phase == "fit")
    assert drive.step("8").id == count.id
    assert not [e for e in drive.kept if isinstance(e.body, NoClick)]
    drive.step("1")
    assert isinstance(drive.kept[-1].body, Read)


def test_a_stand_goes_solid_too() -> None:
    drive = no_faults("i4-1342", name="shaft-rockers")
    drive.until(lambda p: p.id == TURN and bool(drive.walker.state.valves))
    drive.until(lambda p: p.id == TURN and any(isinstance(e.body, Drawn) for e in drive.kept))
    drive.step("x")
    drive.to_the_end()
    assert isinstance([e.body for e in drive.kept if isinstance(e.body, Crank)][-1], Crank)


# ------------------------------------------------------------------------ holds


def test_a_hold_stands_only_before_a_turn_and_only_for_lifters_that_hold_oil() -> None:
    for key in "13":
        drive = _with_lifters(key)
        while not drive.walker.closed:
            before = drive.prompt
            drive.step()
            if before.id == HOLD:
                assert drive.prompt.turns_crank or drive.prompt.id == HOLD
        held = [prompt for prompt in drive.prompts if prompt.id == HOLD]
        assert bool(held) is (key == "3")


def test_a_named_person_ends_a_hold_early_with_a_reason() -> None:
    drive = _with_lifters("3")
    drive.until(lambda p: p.id == HOLD)
    with pytest.raises(Refused):
        drive.step("e", ("AO",))
    drive.step("e", ("AO", "plungers seen down"))
    held, note = (entry.body for entry in drive.kept[-2:])
    assert isinstance(held, Held)
    assert held.minutes < drive.build.procedure.defaults.hold_minutes["pumped"]
    assert isinstance(note, Noted)
    assert "AO" in note.text
    assert drive.prompt.id != HOLD


def test_valves_that_share_the_heel_are_worked_on_while_a_hold_runs() -> None:
    drive = _with_lifters("3")
    drive.until(lambda p: p.id == HOLD and p.option("w") is not None)
    arrived = drive.walker.state.arrived
    drive.step("w")
    assert drive.prompt.phase == "fit"
    assert drive.prompt.valve is not None
    assert drive.scene.on_heel(drive.prompt.valve)
    assert drive.walker.state.arrived == arrived
    drive.to_the_end()
