"""What a sheet says of a record: rows, figures, what was crossed out, what is outstanding."""

from dataclasses import replace
from pathlib import Path

import pytest

from heelwise.documents import entries as e
from heelwise.documents.entries import AnyBody, Draft
from heelwise.documents.record_reading import Record, read_record
from heelwise.documents.record_writing import OpenRecord
from heelwise.pictures.roles import ValveState
from heelwise.sheet.laying_out import lay_out
from heelwise.sheet.layout import SheetLayout, ValveRow
from tests.sheet.records import AT, begun, reading


def row(layout: SheetLayout, valve: str) -> ValveRow:
    return next(row for row in layout.rows if row.valve == valve)


def with_entries(folder: Path, bodies: list[AnyBody]) -> SheetLayout:
    with begun(folder) as record:
        for body in bodies:
            record.keep(Draft(body), AT, "AB")
        return lay_out(record.as_record())


def test_a_signed_build(signed: Record) -> None:
    layout = lay_out(signed)
    assert layout.name == "block-12"
    last = signed.entries[-1]
    assert layout.status.startswith("signed off by A. Rehearser on 2026-03-02 ")
    assert layout.status.endswith(f"(entry {last.number})")
    assert layout.last_seal == last.seal
    assert [bank.name for bank in layout.banks] == ["right", "left"]
    assert len(layout.rows) == 16
    for each in layout.rows:
        assert (each.verdict, each.state, each.outstanding) == ("inside", ValveState.PROVED, "")
        assert each.window == "3/4 to 1 1/4"
        assert each.proof == "clicked at 24 lbf ft"
    assert sum(each.recount == "yes" for each in layout.rows) >= 2
    assert layout.not_checked == tuple(signed.head.procedure.covers_not)
    assert "no signature" in layout.seal_says
    assert [note.rpartition(" (entry")[0] for note in layout.notes] == [
        "photograph 12 shows the cup"
    ]


def test_figures_say_where_they_come_from(signed: Record) -> None:
    layout = lay_out(signed)
    figures = {figure.label: figure for figure in (*layout.header, *layout.figures)}
    assert figures["engine"].source == "engine card v8-15426378"
    assert figures["engine"].text.startswith("8 cylinders, firing order 1-5-4-2-6-3-7-8, turns cl")
    assert figures["cam"].text.endswith("intake centerline 107°, at 0.006 in of lift")
    assert figures["rocker"].text == (
        "bolt-down, ratio 1.7, thread M8x1.25, torque 24.0 lbf·ft = 32.5 N·m"
    )
    assert figures["wrench"].text.endswith("calibration not stated")
    assert figures["travel per turn"].source.startswith("a reading: measured from")
    assert figures["window"].source == "the maker's sheet: turns"
    assert figures["never past"].source.startswith("worked out (plunger travel 0.200 in")
    assert figures["its digest"].text == signed.head.build.procedure_digest
    assert figures["rehearsal"].text.startswith("no real engine: seed 1, faults planted: ")


def test_preload_is_turns_times_the_travel_it_was_judged_with(folder: Path) -> None:
    """1 1/8 turns of 2.0 mm are 2.25 mm, 0.0886 in."""
    one = row(with_entries(folder, [reading("1I", turns="1 1/8")]), "1I")
    assert (one.preload, one.preload_from) == ("0.089 in", "travel measured")
    assert one.bar is not None
    assert (one.bar.turns, one.bar.never_past_turns) == (1.125, 2.0)


def test_what_was_crossed_out_is_shown_so_and_what_fell_with_it(folder: Path) -> None:
    with begun(folder) as record:
        crank = keep(record, e.Crank(at_deg=90.0, how="turned"))
        count = keep(record, reading("1I"), crank)
        accepted = keep(record, e.Accepted(valve="1I", of=count, person="A", reason="b"), count)
        crossing = keep(record, e.CrossedOut(of=crank, reason="wrong mark"))
        layout = lay_out(record.as_record())
    struck = {each.number: each.struck for each in layout.timeline if each.struck}
    assert struck == {
        crank: f"crossed out by entry {crossing}",
        count: f"fell with entry {crank}",
        accepted: f"fell with entry {count}",
    }
    assert [each.number for each in layout.of_valve("1I")] == [count, accepted]
    assert row(layout, "1I").turns == ""
    assert row(layout, "1I").outstanding == "count"
    assert layout.positions == ()


def keep(record: OpenRecord, body: AnyBody, *rests_on: int) -> int:
    return record.keep(Draft(body, rests_on), AT, "AB").number


PROOF = e.Proved(valve="1I", outcome="settled", torque="24 lbf ft", at_deg=90.0)
CEILING = e.Ceiling(valve="1I", phase="fit", pushrod="7.4 in", never_past_turns=2.0)


@pytest.mark.parametrize(
    ("bodies", "verdict", "outstanding", "proof"),
    [
        ([], "", "count", ""),
        ([reading("1I")], "inside", "proof", ""),
        ([reading("1I"), PROOF], "inside", "", "settled, clicked at 24 lbf ft"),
        (
            [reading("1I", verdict="long")],
            "long",
            "outside its window: count again, change the pushrod, or accept as is",
            "",
        ),
        (
            [CEILING],
            "",
            "no click before the turns never to pass: another pushrod, and count again",
            "",
        ),
        (
            [reading("1I"), PROOF, e.Unloaded(valve="1I", minutes=1.0)],
            "",
            "count again: touched since",
            "",
        ),
    ],
)
def test_outstanding(
    folder: Path, bodies: list[AnyBody], verdict: str, outstanding: str, proof: str
) -> None:
    one = row(with_entries(folder, bodies), "1I")
    assert (one.verdict, one.outstanding, one.proof) == (verdict, outstanding, proof)


def test_an_acceptance_names_who_and_why(folder: Path) -> None:
    accepted = e.Accepted(valve="1I", of=2, person="A. Builder", reason="agreed with the maker")
    one = row(with_entries(folder, [reading("1I", verdict="long"), accepted]), "1I")
    assert one.accepted == "as is by A. Builder: agreed with the maker"
    assert one.state is ValveState.ACCEPTED
    assert one.outstanding == "proof"


def test_pushrods_ordered_and_received(folder: Path) -> None:
    layout = with_entries(
        folder,
        [
            e.Ordered(valves=["1I", "1E"], pushrods=["7.400 in", "7.450 in"]),
            e.Received(valve="1I", pushrod="7.420 in", ordered="7.400 in", as_ordered=False),
        ],
    )
    first, second = layout.pushrods
    assert (first.ordered, first.received, first.remark) == (
        "7.400 in",
        "7.420 in",
        "not as ordered",
    )
    assert (second.valve, second.received) == ("1E", "")


def test_positions_worked_at(folder: Path) -> None:
    layout = with_entries(
        folder,
        [
            reading("1I", at_deg=450.0, margin_deg=63.5),
            reading("1E", at_deg=90.0),
            e.Proved(valve="1E", outcome="clicked", torque="24 lbf ft", at_deg=450.0),
        ],
    )
    shown = [(p.number, p.crank_deg, p.counted, p.proved) for p in layout.positions]
    assert shown == [(1, 90.0, "1E", ""), (2, 450.0, "1I (63.5°)", "1E")]
    assert layout.positions[0].place == "cylinder 5 at TDC on compression (3 at overlap)"
    assert layout.strip.positions == ((1, 90.0), (2, 450.0))


def test_under_way_and_reopened(going: Record, folder: Path) -> None:
    assert lay_out(going).status == ("under way: 5 of 16 valves counted and settled, 0 proved")
    layout = with_entries(
        folder, [e.SignedOff(person="A"), e.Reopened(person="B", reason="a noise")]
    )
    assert layout.status.startswith("reopened, under way: 0 of 16")


def test_steps_left_out_are_named(folder: Path) -> None:
    layout = with_entries(folder, [e.Skipped(step="dry-run", reason="no time")])
    assert layout.left_out == ("dry run: left out, because no time (entry 2)",)


def test_a_torn_end_and_a_recovery_are_told(going: Record, folder: Path) -> None:
    torn = folder / "torn.toml"
    torn.write_bytes(going.file.read_bytes() + b"\n[[entry]]\nnumber = 9")
    notes = lay_out(read_record(torn)).file_notes
    assert len(notes) == 1
    assert f"what follows entry {len(going.entries)} was never finished" in notes[0]
    recovered = e.Recovered(bytes_set_aside=20, aside="torn-1.end")
    layout = with_entries(folder, [recovered, e.Resumed(clock_went_back=True)])
    assert layout.file_notes == (
        "Entry 2: a torn end of 20 bytes was set aside in torn-1.end.",
        "Entry 3: the clock had gone back. Number is the order.",
    )


def test_a_record_with_no_travel_to_work_with_is_still_laid_out(going: Record) -> None:
    rocker = going.head.setup.rocker
    lifter = going.head.setup.lifter
    assert rocker is not None
    assert lifter is not None
    setup = going.head.setup.model_copy(
        update={
            "rocker": rocker.model_copy(update={"thread": None}),
            "lifter": lifter.model_copy(update={"travel_per_turn": None}),
        }
    )
    bare = replace(going, head=replace(going.head, setup=setup), entries=going.entries[:1])
    labels = {figure.label: figure.text for figure in lay_out(bare).figures}
    assert labels["travel per turn"] == "not known"


def test_a_wrench_passed_over_is_told_with_the_one_used(folder: Path) -> None:
    reason = "the long one from bay 3, in date"
    layout = with_entries(folder, [e.Skipped(step="wrench", reason=reason)])
    told = [figure for figure in layout.header if figure.label == "wrench used"]
    assert [figure.text for figure in told] == [reason]
