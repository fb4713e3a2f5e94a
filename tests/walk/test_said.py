"""What is said and asked where a slip would mislead: which way, how far, which valves, why."""

from __future__ import annotations

import pytest

from heelwise.documents.entries import Accepted, Read
from heelwise.documents.library import find_procedures
from heelwise.valvetrain.engine import Bank, Valve
from heelwise.walk.build import Build
from heelwise.walk.buying import ANOTHER, RECEIVE, ordered_lengths
from heelwise.walk.limits import unwalkable
from heelwise.walk.recount import sample
from heelwise.walk.walker import phase_of
from tests.walk.driving import bolt_down, changed_setup, no_faults


@pytest.mark.parametrize(
    ("rotation", "way"),
    [(None, " clockwise from the front"), ("counterclockwise", "counterclockwise from the front")],
)
def test_every_turn_says_which_way_round(rotation: str | None, way: str) -> None:
    setup = changed_setup("i4-1342", engine={"rotation": rotation})
    drive = no_faults("i4-1342").on(setup.to_toml_dict())
    drive.to_the_end()
    said = [f" {p.heading} {p.question} {p.why}" for p in drive.prompts]
    told = [text for text in said if "clockwise" in text]
    assert told
    assert all(way in text for text in told)


def bank_of(banks: tuple[Bank, ...], name: str) -> Bank:
    return next(bank for bank in banks if bank.name == name)


def test_one_valve_of_each_bank_is_counted_again_and_no_even_one_besides() -> None:
    drive = no_faults("v8-15426378")
    drive.until(lambda prompt: prompt.phase == "prove")
    scene = drive.scene
    chosen = sample(scene)
    banks = drive.build.engine.banks
    assert len(banks) == 2
    for bank in banks:
        assert any(valve.cylinder in bank.cylinders for valve in chosen)
    for valve, reason in chosen.items():
        if reason.startswith("on bank "):
            name = reason.removeprefix("on bank ").partition(",")[0]
            assert valve.cylinder in bank_of(banks, name).cylinders
            mine = scene.state.valves[valve].reads[-1].body
            assert isinstance(mine, Read)
            others = [
                one.reads[-1].body
                for v, one in scene.state.valves.items()
                if v.cylinder in bank_of(banks, name).cylinders
            ]
            margins = [read.margin_deg for read in others if isinstance(read, Read)]
            assert mine.margin_deg == min(m for m in margins if m is not None)
    # Nothing was crossed out, settled or accepted here.
    assert not any("crossed out" in reason for reason in chosen.values())


def test_a_pushrod_that_is_not_as_ordered_is_asked_for_again() -> None:
    drive = no_faults("i4-1342")
    first = drive.until(lambda prompt: prompt.id == RECEIVE).valves[0]
    wrong = drive.step(f"{first} 7.000 in")
    assert (wrong.id, wrong.valve) == (ANOTHER, first)
    right = drive.step(ordered_lengths(drive.scene)[first])
    assert right.id == RECEIVE
    assert first not in right.valves


def test_a_pushrod_kept_though_not_as_ordered_says_by_whom_and_why() -> None:
    drive = no_faults("i4-1342")
    first = drive.until(lambda prompt: prompt.id == RECEIVE).valves[0]
    assert drive.step(f"{first} 7.000 in").id == ANOTHER
    after = drive.step("k", ("A. Builder", "it measures so on our gauge"))
    body = drive.kept[-1].body
    assert isinstance(body, Accepted)
    assert (body.person, body.reason) == ("A. Builder", "it measures so on our gauge")
    assert first not in after.valves


@pytest.mark.parametrize(
    ("off", "said"), [(0.25, "more than the median of the intakes"), (0.0, "")]
)
def test_of_three_of_a_kind_one_that_stands_out_is_counted_again(off: float, said: str) -> None:
    setup = changed_setup("i3-132", lifter={"least_turns": 0, "most_turns": 2.5})
    drive = no_faults("i3-132").on(setup.to_toml_dict())
    counts = {"1I": 1.0, "2I": 1.0 + off, "3I": 1.0, "1E": 1.0, "2E": 1.0, "3E": 1.0}
    while drive.prompt.phase != "prove":
        if drive.prompt.phase == "fit" and drive.prompt.records == "count":
            drive.step(str(counts[str(drive.prompt.valve)]))
        else:
            drive.step()
    reason = sample(drive.scene).get(Valve.parse("2I"), "")
    assert (said in reason) if said else ("median" not in reason)


def test_what_would_stop_a_walk_is_found_before_it() -> None:
    assert unwalkable(Build(changed_setup("i4-1342"), bolt_down())) == ()
    long_cam = changed_setup("i4-1342", cam={"intake_duration": 719.0, "exhaust_duration": 719.0})
    assert [fault.where for fault in unwalkable(Build(long_cam, bolt_down()))] == ["cam"]


@pytest.mark.parametrize("name", find_procedures())
def test_the_phase_told_is_that_of_the_question_by_every_method(name: str) -> None:
    drive = no_faults("i4-1342", name=name)
    phases: dict[str, None] = {}
    work = ("count", "gauge", "locked", "recheck", "proof")
    while not drive.walker.closed:
        if drive.prompt.phase == "prepare" or drive.prompt.records in work:
            assert phase_of(drive.scene) == drive.prompt.phase, drive.prompt
        phases[phase_of(drive.scene)] = None
        drive.step()
    order = ["prepare", "trial", "fit", "prove", "sign off"]
    assert list(phases) == [phase for phase in order if phase in phases]
    assert len(phases) >= 3
