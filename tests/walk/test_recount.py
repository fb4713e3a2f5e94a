"""A count is never checked where it was made; one found false widens the sample."""

from __future__ import annotations

from itertools import pairwise

from heelwise.documents.entries import Proved, Read
from heelwise.documents.typed_numbers import turns
from heelwise.walk.recount import LOOSEN, false_first, sample
from tests.walk.driving import Drive, no_faults


def _reads(drive: Drive, valve: str) -> list[Read]:
    return [e.body for e in drive.kept if isinstance(e.body, Read) and e.body.valve == valve]


def test_a_bolt_that_moved_in_its_proof_is_counted_again_at_another_place() -> None:
    drive = no_faults("i4-1342")
    drive.until(lambda p: p.records == "proof")
    valve = str(drive.prompt.valve)
    drive.step("3")
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
    pair = false_first(drive.scene, drive.walker.state.valves[valve])
    assert pair is not None
    assert pair[0].body.turns == first.turns
    widened = sample(drive.scene)
    assert set(before) < set(widened)
    assert len(widened) == len(drive.walker.state.valves)


def test_what_was_put_on_a_bolt_is_asked_again_once_it_was_backed_off() -> None:
    drive = no_faults("i4-1342")
    drive.until(lambda p: p.id == LOOSEN)
    valve = drive.prompt.valve
    before = [p.id for p in drive.prompts if p.valve == valve and p.phase == "fit"]
    drive.step()
    drive.until(lambda p: p.records == "count")
    again = [p.id for p in drive.prompts if p.valve == valve and p.phase == "prove"]
    asked = set(before[: before.index(drive.prompt.id)])
    assert asked
    assert asked <= set(again)
