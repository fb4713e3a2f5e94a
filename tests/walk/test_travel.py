"""Travel per turn on the walk: an odd trial named, a second one asked, one figure at a time."""

from __future__ import annotations

import pytest

from heelwise.documents import quantities
from heelwise.documents.entries import Accepted, Answered, CrossedOut, Fitted, Read
from heelwise.valvetrain.engine import Valve
from heelwise.walk.buying import ORDER
from heelwise.walk.doubts import ODD_TRIAL
from heelwise.walk.prompts import Refused
from heelwise.walk.trials import FIT_TRIAL, GO_WITHOUT, TRIAL_OVER, go_without
from tests.rehearsal.setups import setup_for
from tests.walk.driving import Drive, no_faults

IN_PRELOAD = {
    "least_turns": None,
    "most_turns": None,
    "least_preload": "0.040 in",
    "most_preload": "0.080 in",
}


def _in_preload(**lifter: object) -> Drive:
    raw = setup_for("i4-1342", "bolt-down-rockers").to_toml_dict()
    changed = {**raw["lifter"], **IN_PRELOAD, **lifter}
    raw["lifter"] = {key: value for key, value in changed.items() if value is not None}
    return no_faults("i4-1342").on(raw)


def _trial(drive: Drive, length: str, turns: str) -> None:
    drive.until(lambda p: p.id == FIT_TRIAL)
    drive.step(length)
    if drive.prompt.id == FIT_TRIAL:
        drive.step(length)
    drive.until(lambda p: p.records == "count")
    drive.step(turns)


def test_a_miscount_is_named_and_counted_again_and_never_past_stays() -> None:
    """1I 1 7/8, then 1 5/8 with 0.050 in less, where 1 1/8 was right."""
    drive = no_faults("i4-1342")
    never = drive.scene.never_past
    _trial(drive, "7.425 in", "1 3/8")
    drive.step("y")
    _trial(drive, "7.350 in", "1 1/4")
    assert drive.prompt.id == ODD_TRIAL
    assert drive.scene.never_past == never
    number = drive.kept[-1].number
    drive.step("1")
    assert isinstance(drive.kept[-1].body, CrossedOut)
    assert number in drive.walker.state.void
    _trial(drive, "7.350 in", "1/2")
    assert drive.prompt.id != ODD_TRIAL
    assert drive.scene.never_past == never


def test_an_odd_count_can_be_vouched_for_or_the_other_one_crossed_out() -> None:
    for answer, texts in (("2", ("AO", "counted three times")), ("3", ())):
        drive = no_faults("i4-1342")
        _trial(drive, "7.425 in", "1 3/8")
        drive.step("y")
        _trial(drive, "7.350 in", "1 1/4")
        drive.step(answer, texts)
        kind = Accepted if answer == "2" else CrossedOut
        assert isinstance(drive.kept[-1].body, kind)
        assert drive.prompt.id != ODD_TRIAL


def test_with_a_window_in_preload_a_second_trial_is_asked_far_enough_from_the_first() -> None:
    drive = _in_preload()
    drive.until(lambda p: p.option(GO_WITHOUT) is not None)
    valve = drive.prompt.valve
    assert valve is not None
    tried = [e.body.pushrod for e in drive.walker.state.valves[valve].trials]
    step = drive.scene.travel.telling_step_mm()
    suggested = quantities.length_mm(drive.prompt.suggested)
    assert max(abs(suggested - quantities.length_mm(each)) for each in tried) >= step - 1e-6
    with pytest.raises(Refused):
        drive.step(tried[-1])
    drive.step()
    assert isinstance(drive.kept[-1].body, Fitted)
    drive.until(lambda p: p.id == ORDER)
    assert drive.scene.travel.measured
    assert not go_without(drive.scene)
    drive.to_the_end()
    assert all(drive.truth.inside(v, _in_engine(drive, str(v))) for v in drive.walker.state.valves)


def _in_engine(drive: Drive, valve: str) -> float:
    reads = [e.body for e in drive.kept if isinstance(e.body, Read) and e.body.valve == valve]
    return quantities.length_mm(reads[-1].pushrod)


def test_going_without_takes_a_name_and_a_reason() -> None:
    drive = _in_preload()
    drive.until(lambda p: p.option(GO_WITHOUT) is not None)
    with pytest.raises(Refused):
        drive.step(GO_WITHOUT)
    drive.step(GO_WITHOUT, ("A. Owner", "no second length here"))
    answer = go_without(drive.scene)
    assert answer is not None
    assert isinstance(answer.body, Answered)
    drive.until(lambda p: p.id == ORDER)
    assert not drive.scene.travel.measured


def test_a_trial_is_judged_by_the_travel_it_measures_and_a_change_is_told() -> None:
    drive = _in_preload(travel_per_turn="0.052 in")
    drive.until(lambda p: p.option(GO_WITHOUT) is not None)
    drive.step()
    drive.until(lambda p: p.records == "count")
    drive.step()
    body = drive.kept[-1].body
    assert isinstance(body, Read)
    assert body.travel_from == "measured"
    assert body.travel_mm == pytest.approx(drive.scene.travel.used.mm)
    for state in drive.walker.state.valves.values():
        for entry in state.trials:
            judged = drive.scene.judged(entry.body)
            assert judged.word == entry.body.verdict or judged.word.value.upper() in drive.said[-1]
    assert drive.prompt.id in (TRIAL_OVER, FIT_TRIAL, ORDER)


def test_a_trial_pushrod_measured_before_needs_no_second_measuring() -> None:
    drive = no_faults()
    drive.until(lambda prompt: prompt.id == FIT_TRIAL)
    assert drive.prompt.option("m") is None  # none is measured yet
    drive.until(lambda prompt: prompt.id == FIT_TRIAL and prompt.option("m") is not None)
    still_in = drive.scene.state.trial_in | drive.scene.state.trial_loaded
    fitted = [f.body for entry in drive.kept if (f := entry.when(Fitted))]
    out = {f.pushrod for f in fitted if Valve.parse(f.valve) not in still_in}
    drive.step("m")
    again = drive.kept[-1].when(Fitted)
    assert again is not None
    assert again.body.pushrod in out
