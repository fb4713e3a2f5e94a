"""Wrong order is impossible: what bars the crank, the count, the acceptance and the signature."""

from collections.abc import Callable
from datetime import timedelta

import pytest

from heelwise.documents.entries import (
    Accepted,
    Answered,
    Crank,
    NoClick,
    Proved,
    Read,
    Trouble,
    Unloaded,
)
from heelwise.walk.crank import BACK_OFF, HOLD, TURN
from heelwise.walk.prompts import Refused
from heelwise.walk.prove import CLOSED, SIGN
from heelwise.walk.state import RESUME_STEP
from heelwise.walk.valve_steps import OUTSIDE, UNLOAD
from tests.walk.driving import Drive, no_faults


def test_a_hold_is_refused_until_its_time_is_over() -> None:
    drive = no_faults(seed=1)  # soaked lifters: ten minutes
    prompt = drive.until(lambda p: p.id == HOLD)
    assert prompt.wait_until is not None
    early = prompt.wait_until - timedelta(seconds=1)
    with pytest.raises(Refused, match="0 min 01 s to run"):
        prompt.reply("y", (), early)
    assert prompt.reply("y", (), prompt.wait_until).drafts[0].body.kind == "held"


def test_the_hold_counts_from_the_last_bolt_tightened() -> None:
    drive = no_faults(seed=1)
    prompt = drive.until(lambda p: p.id == HOLD)
    last = max(e.at for e in drive.kept if isinstance(e.body, Read))
    assert prompt.wait_until == last + timedelta(minutes=10)


@pytest.mark.parametrize("answer", ["", " ", "\t"])
def test_nothing_that_guards_the_engine_is_answered_by_enter_alone(answer: str) -> None:
    drive = no_faults()
    guarded = 0
    while not drive.walker.closed:
        guarded += 1
        with pytest.raises(Refused):
            drive.walker.reply(answer)
        drive.step()
    assert guarded > 40


def test_a_trial_pushrod_bars_the_crank() -> None:
    drive = no_faults("v8-15426378")
    drive.until(lambda p: p.records == "count" and p.phase == "trial")
    drive.step()
    assert drive.walker.state.trial_loaded
    before = len(drive.kept)
    drive.until(lambda p: p.id == TURN)
    kinds = [e.body.kind for e in drive.kept[before:]]
    assert "backed off" in kinds
    assert any(p.id in (BACK_OFF, "walk/trial-outside") for p in drive.prompts)


def test_reaching_never_past_ends_the_count_and_can_not_be_accepted() -> None:
    drive = no_faults()
    drive.until(lambda p: p.records == "count" and p.phase == "fit")
    name = str(drive.prompt.valve)
    drive.step("c")
    assert isinstance(drive.kept[-1].body, NoClick)
    assert drive.prompt.id == OUTSIDE
    assert str(drive.prompt.valve) == name
    assert drive.prompt.option("4") is None
    with pytest.raises(Refused):
        drive.walker.reply("4", ("N. Body", "in a hurry"))


def test_a_count_past_the_ceiling_is_taken_as_bottomed_and_kept_as_typed() -> None:
    drive = no_faults()
    drive.until(lambda p: p.records == "count" and p.phase == "fit")
    count = drive.prompt.id
    assert drive.step("3 1/2").id == count
    assert isinstance(drive.kept[-1].body, Answered)
    drive.step("3 1/2")
    body = drive.kept[-1].body
    assert isinstance(body, NoClick)
    assert body.turns == "3 1/2"
    assert drive.prompt.option("4") is None


def test_outside_needs_a_name_and_a_reason() -> None:
    drive = no_faults()
    drive.until(lambda p: p.records == "count" and p.phase == "fit")
    drive.step("1/2")
    assert drive.prompt.id == OUTSIDE
    with pytest.raises(Refused, match="also needs"):
        drive.walker.reply("4", ("", "short on purpose"))
    with pytest.raises(Refused, match="also needs"):
        drive.walker.reply("4")
    drive.step("4", ("R. Signer", "short on purpose"))
    body = drive.kept[-1].body
    assert isinstance(body, Accepted)
    assert body.person == "R. Signer"


def test_a_valve_put_off_is_met_again_before_prove() -> None:
    drive = no_faults()
    drive.until(lambda p: p.records == "count" and p.phase == "fit")
    put_off = drive.prompt.valve
    drive.step("1/2")
    drive.step("3")
    drive.until(lambda p: p.phase == "fit" and p.valve == put_off)
    assert drive.prompt.phase == "fit"
    drive.to_the_end()
    assert all(o.proved for o in drive.outcome)


def test_a_valve_touched_after_its_proof_is_proved_again() -> None:
    drive = no_faults()
    drive.until(lambda p: p.id == "walk/recount-loosen")
    valve = drive.prompt.valve
    assert valve is not None
    assert drive.walker.state.valves[valve].proof is not None
    drive.step()
    assert drive.walker.state.valves[valve].proof is None
    before = len(drive.kept)
    drive.to_the_end()
    again = [e for e in drive.kept[before:] if isinstance(e.body, Proved)]
    assert str(valve) in {e.body.valve for e in again if isinstance(e.body, Proved)}


def test_used_lifters_are_unloaded_before_a_second_zero_lash() -> None:
    drive = no_faults(seed=3)
    assert drive.truth.lifters == "used"
    drive.until(lambda p: p.records == "count" and p.phase == "fit")
    drive.step("1/2")
    drive.step("1")
    assert drive.prompt.id == UNLOAD
    assert drive.prompt.wait_until is not None
    with pytest.raises(Refused, match="to run"):
        drive.prompt.reply("y", (), drive.kept[-1].at)


def test_sign_off_is_last_and_a_closed_record_only_reopens() -> None:
    drive = no_faults()
    drive.until(lambda p: p.id == SIGN)
    assert all(one.proof is not None for one in drive.walker.state.valves.values())
    drive.step()
    assert drive.prompt.id == CLOSED
    acts: tuple[Callable[[], object], ...] = (
        lambda: drive.walker.note("late"),
        lambda: drive.walker.cross_out(3, "late"),
        drive.walker.pause,
        lambda: drive.walker.hand_over("XY"),
        lambda: drive.walker.lose_crank("late"),
    )
    for act in acts:
        with pytest.raises(Refused, match="signed off"):
            act()
    drive.step("r", ("R. Signer", "a rocker was found loose"))
    assert drive.prompt.id == RESUME_STEP, "the engine may have turned since it was signed off"
    drive.step("y")
    assert drive.prompt.id == SIGN
    drive.step()
    assert drive.walker.closed


def test_a_bolt_that_moved_in_the_proof_loads_its_lifter_again() -> None:
    drive = no_faults(seed=1)
    drive.until(lambda p: p.records == "proof")
    *others, valve = drive.prompt.valves
    drive.step("3", (str(valve),))
    assert valve in drive.walker.state.load_times
    assert not set(others) & set(drive.walker.state.load_times)


def test_an_overshot_crank_has_its_margins_worked_out_anew() -> None:
    drive = no_faults("v8-15426378")
    drive.until(lambda p: p.id == TURN)
    target = drive.prompt.crank_target_deg
    assert target is not None
    drive.step("7")
    body = drive.kept[-1].body
    assert isinstance(body, Crank)
    assert body.how == "overshot"
    assert body.at_deg == pytest.approx((target + 7) % 720)
    with pytest.raises(Refused, match="out of reach"):
        drive.until(lambda p: p.id == TURN).reply("200", (), drive.clock.now())


def test_valves_that_lost_their_margin_by_overshooting_are_left_for_later() -> None:
    """Far past the position some valve's lobe is too near; it is not asked for there."""
    drive = Drive("v8-15426378", 0, planted=())
    drive.until(lambda p: p.id == TURN and p.phase == "fit")
    drive.step("19")
    while drive.prompt.phase == "fit" and drive.prompt.id not in (TURN, HOLD):
        if drive.prompt.valve is not None:
            margin = drive.scene.margin(drive.prompt.valve)
            assert margin is not None
            assert margin >= drive.build.margin_deg
        drive.step()
    drive.to_the_end()
    assert all(o.proved for o in drive.outcome)


def test_slack_lifters_of_a_position_are_given_their_minute_together() -> None:
    drive = no_faults("v8-18436572")
    drive.until(lambda p: p.records == "lifter_condition")
    drive.step("4")
    asked = drive.until(lambda p: p.id == UNLOAD and p.phase == "fit" and len(p.valves) > 1)
    first, last = asked.valves[0], asked.valves[-1]
    with pytest.raises(Refused):
        drive.step("n", ("9I",))
    drive.step("n", (str(last),))
    assert drive.kept[-1].body.about == (str(last),)
    assert isinstance(drive.kept[-1].body, Trouble)
    drive.step("1", ("bled and pumped by hand",))
    again = drive.until(lambda p: p.id == UNLOAD)
    assert first in again.valves
    number = len(drive.kept)
    drive.step("y")
    given = [e.body.valve for e in drive.kept[number:] if isinstance(e.body, Unloaded)]
    assert given == [str(valve) for valve in again.valves]
    drive.to_the_end()
