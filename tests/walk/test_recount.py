"""A count is never checked where it was made; one found false widens the sample."""

from __future__ import annotations

from itertools import pairwise

import pytest

from heelwise.documents.entries import Proved, Read
from heelwise.documents.quantities import turns
from heelwise.walk.recount import false_first, sample
from tests.walk.driving import Drive, no_faults


def _reads(drive: Drive, valve: str) -> list[Read]:
    return [e.body for e in drive.kept if isinstance(e.body, Read) and e.body.valve == valve]


def test_a_bolt_that_moved_in_its_proof_is_counted_again_at_another_place() -> None:
    drive = no_faults("i4-1342")
    drive.until(lambda p: p.records == "proof")
    valve = str(drive.prompt.valves[0])
    drive.step("3", (valve,))
    moved = drive.kept[-1].body
    assert isinstance(moved, Proved)
    assert moved.outcome == "moved"
    drive.to_the_end()
    first, again = [read for read in _reads(drive, valve) if read.phase != "trial"][:2]
    assert again.recount
    assert abs(again.at_deg - first.at_deg) >= 1.0


def test_no_recount_is_made_at_the_angle_of_the_count_it_checks() -> None:
    drive = Drive("v8-15426378", 2, planted=())
    drive.to_the_end()
    for valve in map(str, drive.walker.state.valves):
        reads = [read for read in _reads(drive, valve) if read.phase != "trial"]
        for before, after in pairwise(reads):
            assert not after.recount or abs(after.at_deg - before.at_deg) >= 1.0


def test_a_false_count_widens_the_sample_to_its_place_and_its_session() -> None:
    drive = no_faults("i4-1342")
    drive.until(lambda p: p.records == "count" and p.phase == "prove")
    valve = drive.prompt.valve
    assert valve is not None
    before = sample(drive.scene)
    first = drive.walker.state.valves[valve].reads[-1].body
    drive.step(f"{turns(first.turns) - 0.25:g}")
    false = false_first(drive.scene, drive.walker.state.valves[valve])
    assert false is not None
    assert false.body.turns == first.turns
    widened = sample(drive.scene)
    assert set(before) < set(widened)
    assert len(widened) == len(drive.walker.state.valves)


@pytest.mark.parametrize("holes", ["1", "2"])
def test_what_was_put_on_a_bolt_is_told_again_with_every_count(holes: str) -> None:
    drive = no_faults("i4-1342")
    drive.until(lambda p: p.id == "through-bolts")
    drive.step(holes)
    asked = {}
    for phase in ("fit", "prove"):
        while drive.prompt.records != "count" or drive.prompt.phase != phase:
            drive.step()
        prompt = drive.prompt
        asked[phase] = prompt.question.removeprefix(str(prompt.valve))
        drive.step()
    step = drive.build.procedure.step("count")
    assert step is not None
    plain = step.say.format(valve="", sealed="", torque=drive.build.torque)
    assert asked["fit"] == asked["prove"]
    assert (len(asked["fit"]) > len(plain)) is (holes == "1")
