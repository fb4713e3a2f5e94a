"""Whole walks against the virtual engine: they end, and what they end in is true."""

import pytest

from heelwise.documents import quantities
from heelwise.documents.entries import Proved, Read, Received
from heelwise.rehearsal.scenario import EngineFault
from heelwise.valvetrain.engine import Valve
from heelwise.walk.crank import TURN
from heelwise.walk.prompts import Prompt
from tests.walk.driving import Drive, no_faults, with_fault

CARDS = ("v8-15426378", "v8-18726543", "i6-153624", "i4-1342")


@pytest.mark.parametrize("card", CARDS)
@pytest.mark.parametrize("seed", range(4))
def test_every_valve_ends_truly_inside_its_window(card: str, seed: int) -> None:
    drive = Drive(card, seed)
    drive.to_the_end()
    lower, upper = drive.scene.window.least_turns, drive.scene.window.most_turns
    for row in drive.outcome:
        valve = Valve.parse(row.valve)
        assert row.pushrod is not None
        assert row.turns is not None
        true = drive.truth.turns(valve, quantities.length_mm(row.pushrod))
        assert row.proved in ("clicked", "settled")
        assert row.verdict == "inside"
        # Read in eighths with a hand's 0.03: the truth lies within a sixteenth and that.
        assert abs(true - quantities.turns(row.turns)) <= 1 / 16 + 0.03 + 1e-9
        assert lower - 0.1 <= true <= upper + 0.1
    assert len(drive.outcome) == len(drive.build.engine.valves)


@pytest.mark.parametrize("card", CARDS)
def test_measured_travel_wins_over_a_false_sheet(card: str) -> None:
    drive = Drive(card, 2)
    drive.to_the_end()
    used = drive.scene.travel.used
    sheet = quantities.length_mm("0.052 in")
    assert used.origin.value == "measured"
    assert abs(used.mm - drive.truth.travel_mm) < abs(sheet - drive.truth.travel_mm) / 3


@pytest.mark.parametrize("card", ["v8-18436572", "v8-13726548", "i4-1243", "single"])
def test_other_layouts_come_to_an_end(card: str) -> None:
    drive = Drive(card, 3)
    drive.to_the_end()
    assert {row.proved for row in drive.outcome} <= {"clicked", "settled"}


def _served(prompt: Prompt) -> bool:
    return prompt.records in ("count", "proof")


def test_no_valve_is_asked_for_off_its_heel_and_margins_are_kept() -> None:
    drive = Drive("v8-15426378", 3)
    while not drive.walker.closed:
        prompt = drive.prompt
        if _served(prompt):
            for valve in prompt.valves or (prompt.valve,):
                assert valve is not None
                margin = drive.scene.margin(valve)
                assert margin is not None
                assert margin >= drive.build.margin_deg
        if prompt.id == TURN:
            assert not drive.walker.state.load_times
            assert not drive.walker.state.trial_loaded
        drive.step()
    for entry in drive.kept:
        if isinstance(entry.body, Read | Proved):
            assert entry.body.margin_deg is not None
            assert entry.body.margin_deg >= drive.build.margin_deg


def test_never_past_is_told_with_every_count() -> None:
    drive = no_faults()
    drive.to_the_end()
    counts = [p for p in drive.prompts if p.records == "count"]
    assert len(counts) >= 8
    for prompt in counts:
        assert prompt.heading.startswith("never past ")
        assert any(f.text.startswith("never past") and f.source for f in prompt.facts)


def test_what_the_record_says_is_what_stands() -> None:
    """The prompt is a pure function of the entries: a fresh fold gives the same at each step."""
    drive = Drive("i4-1342", 3)
    while not drive.walker.closed:
        assert drive.from_the_record() == drive.prompt
        drive.step()
    assert drive.from_the_record() == drive.prompt


def test_a_pushrod_beside_its_cup_is_caught_before_the_count() -> None:
    drive = with_fault(EngineFault.NOT_SEATED, "3E")
    drive.to_the_end()
    told = [e.body.kind for e in drive.kept if getattr(e.body, "valve", None) == "3E"]
    assert told.index("not yet") < told.index("read")


def test_a_valve_a_length_off_gets_another_pushrod() -> None:
    drive = with_fault(EngineFault.LENGTH_OFF, "7E")
    drive.to_the_end()
    row = next(o for o in drive.outcome if o.valve == "7E")
    ordered = next(
        e.body for e in drive.kept if isinstance(e.body, Received) and e.body.valve == "7E"
    )
    assert row.pushrod is not None
    longer = quantities.length_mm(row.pushrod) - quantities.length_mm(ordered.pushrod)
    assert 0.04 * 25.4 < longer < 0.09 * 25.4
    assert row.verdict == "inside"


@pytest.mark.parametrize("name", ["1I", "2E", "7I", "8E"])
def test_a_count_taken_up_the_lobe_is_found_by_the_re_count(name: str) -> None:
    drive = with_fault(EngineFault.UP_THE_LOBE, name, seed=0)
    drive.to_the_end()
    reads = [e.body for e in drive.kept if isinstance(e.body, Read) and e.body.valve == name]
    last = [r for r in reads if r.recount]
    assert last, f"{name} was not counted again"
    row = next(o for o in drive.outcome if o.valve == name)
    assert row.pushrod is not None
    assert row.turns is not None
    true = drive.truth.turns(Valve.parse(name), quantities.length_mm(row.pushrod))
    assert abs(true - quantities.turns(row.turns)) <= 1 / 16 + 0.03 + 1e-9
    assert any("NOT the first count" in said for said in drive.said)


def test_a_bolt_that_moves_is_counted_and_proved_again() -> None:
    drive = with_fault(EngineFault.BOLT_MOVES, "5I")
    drive.to_the_end()
    mine = [e for e in drive.kept if getattr(e.body, "valve", None) == "5I"]
    moved = next(
        i for i, e in enumerate(mine) if isinstance(e.body, Proved) and e.body.outcome == "moved"
    )
    after = [e.body.kind for e in mine[moved + 1 :]]
    assert after.index("read") < after.index("proved")


def test_trial_pushrods_that_are_too_long_are_backed_off_before_any_turn() -> None:
    drive = no_faults("v8-15426378")
    drive.until(lambda p: p.phase == "trial" and p.id == "walk/trial-outside")
    loaded = set(drive.walker.state.trial_loaded)
    assert loaded
    drive.until(lambda p: p.id == TURN)
    assert not drive.walker.state.trial_loaded


def test_a_valve_that_alone_stands_out_is_told_in_its_own_questions() -> None:
    """6E's trial pushrod is a length off: its count stands out of fifteen that agree."""
    drive = with_fault(EngineFault.LENGTH_OFF, "6E")
    told = set()
    while not drive.walker.closed:
        prompt = drive.prompt
        if any(fact.source == "the counts compared" for fact in prompt.facts):
            assert prompt.phase in ("fit", "prove")
            told.add(str(prompt.valve))
        drive.step()
    assert told == {"6E"}
