"""What a sheet says of a record: rows, figures, what was crossed out, what is outstanding."""

from dataclasses import replace
from pathlib import Path

import pytest

from heelwise.documents import entries as e
from heelwise.documents.entries import AnyBody, Draft
from heelwise.documents.procedure import LeftOut
from heelwise.documents.record import OpenRecord, Record, open_record, read_record
from heelwise.pictures.cells import ValveSign
from heelwise.sheet.contents import sheet_of
from heelwise.sheet.sections import Row, Section, Sheet
from tests.sheet.records import AT, begun, reading


def section(sheet: Sheet, key: str) -> Section:
    found = sheet.section(key)
    assert found is not None, f"no section {key}"
    return found


def row(sheet: Sheet, valve: str) -> Row:
    return next(row for row in section(sheet, "valves").rows if row.valves == (valve,))


def cell(sheet: Sheet, valve: str, head: str, key: str = "valves") -> str:
    """A valve's cell, lengths painted in the unit of the sheet."""
    table = section(sheet, key)
    found = next(row for row in table.rows if row.valves == (valve,))
    return found.painted(sheet.unit)[table.heads.index(head)]


def facts_of(sheet: Sheet, key: str) -> dict[str, tuple[str, str]]:
    return {r.cells[0]: (r.cells[1], r.cells[2]) for r in section(sheet, key).rows}


def with_entries(folder: Path, bodies: list[AnyBody]) -> Sheet:
    with begun(folder) as record:
        for body in bodies:
            record.keep(Draft(body), AT, "AB")
        return sheet_of(record.as_record())


def keep(record: OpenRecord, body: AnyBody, *rests_on: int) -> int:
    return record.keep(Draft(body, rests_on), AT, "AB").number


def test_a_signed_build(signed: Record) -> None:
    sheet = sheet_of(signed)
    assert sheet.name == "block-12"
    assert sheet.result.startswith("16 proved, 16 inside")
    assert sheet.status.endswith(f"(entry {signed.entries[-1].number})")
    assert len(section(sheet, "valves").rows) == 16
    assert [row.cells[0] for row in section(sheet, "valves").rows] == ["right"] * 8 + ["left"] * 8
    for each in section(sheet, "valves").rows:
        name = each.valves[0]
        assert each.state is ValveSign.PROVED
        assert cell(sheet, name, "window") == "3/4 to 1 1/4"
        assert cell(sheet, name, "verdict").startswith("inside")
        assert cell(sheet, name, "proof") == "clicked"
        assert "STILL" not in cell(sheet, name, "remarks")
    recounted = sum(
        "again" in cell(sheet, r.valves[0], "remarks") for r in section(sheet, "valves").rows
    )
    assert recounted >= 2
    assert "24 lbf ft" in section(sheet, "valves").caption
    not_checked = [row.cells[0] for row in section(sheet, "not checked").rows]
    assert not_checked == list(signed.head.procedure.covers_not)
    (note,) = section(sheet, "notes").rows
    assert note.cells[0].startswith("photograph 12 shows the cup (entry ")


def test_sections_come_in_the_order_a_reader_asks_for(signed: Record) -> None:
    keys = [section.key for section in sheet_of(signed).sections]
    assert keys[:3] == ["people", "engine", "valves"]
    assert keys[-2:] == ["entries", "checksums"]
    assert all(section.rows for section in sheet_of(signed).sections)


def test_figures_say_where_they_come_from(signed: Record) -> None:
    sheet = sheet_of(signed)
    parts, window = facts_of(sheet, "engine"), facts_of(sheet, "window")
    assert parts["firing order"][0].startswith("1-5-4-2-6-3-7-8")
    assert parts["firing order"][1] == "engine card v8-15426378"
    assert "107°" in parts["cam"][0]
    assert "0.006 in" in parts["cam"][0]
    assert all(text in parts["rocker"][0] for text in ("1.7", "M8x1.25", "24.0", "32.5 N·m"))
    assert "measured" in window["travel per turn"][1]
    assert "sheet" in window["window"][1]
    assert "0.200 in" in window["never past"][1]
    seal = facts_of(sheet, "checksums")
    assert seal["procedure checksum"][0] == signed.head.build.procedure_digest
    assert seal["last seal"][0] == signed.entries[-1].seal
    assert "seed 1" in facts_of(sheet, "people")["rehearsal"][0]


def test_preload_is_turns_times_the_travel_it_was_judged_with(folder: Path) -> None:
    """1 1/8 turns of 2.0 mm are 2.25 mm, 0.0886 in."""
    sheet = with_entries(folder, [reading("1I", turns="1 1/8")])
    assert cell(sheet, "1I", "preload") == "0.089 in"
    assert "(measured" in section(sheet, "valves").caption
    bar = row(sheet, "1I").bar
    assert bar is not None
    assert (bar.turns, bar.never_past_turns) == (1.125, 2.0)


def test_what_was_crossed_out_is_shown_so_and_what_fell_with_it(folder: Path) -> None:
    with begun(folder) as record:
        crank = keep(record, e.Crank(at_deg=90.0, how="turned"))
        count = keep(record, reading("1I"), crank)
        accepted = keep(record, e.Accepted(valve="1I", of=count, person="A", reason="b"), count)
        crossing = keep(record, e.CrossedOut(of=crank, reason="wrong mark"))
        sheet = sheet_of(record.as_record())
    timeline = section(sheet, "entries").rows
    struck = {int(each.cells[0]): each.struck for each in timeline if each.struck}
    assert struck == {
        crank: f"crossed out by entry {crossing}",
        count: f"fell with entry {crank}",
        accepted: f"fell with entry {count}",
    }
    about = {part.key: part.rows for part in sheet.of_valve("1I")}
    assert [int(each.cells[0]) for each in about["entries"]] == [count, accepted]
    assert cell(sheet, "1I", "count") == ""
    assert sheet.section("positions") is None


PROOF = e.Proved(valve="1I", outcome="settled", torque="24 lbf ft", at_deg=90.0)
NO_CLICK = e.NoClick(valve="1I", phase="fit", pushrod="7.4 in", never_past_turns=2.0)


@pytest.mark.parametrize(
    ("bodies", "verdict", "todo", "proof"),
    [
        ([], "", "count", ""),
        ([reading("1I")], "inside", "proof", ""),
        ([reading("1I"), PROOF], "inside", "", "settled"),
        ([reading("1I", verdict="long")], "long", "outside", ""),
        ([NO_CLICK], "", "no click", ""),
        ([reading("1I"), PROOF, e.Unloaded(valve="1I", minutes=1.0)], "", "count again", ""),
    ],
)
def test_outstanding(
    folder: Path, bodies: list[AnyBody], verdict: str, todo: str, proof: str
) -> None:
    sheet = with_entries(folder, bodies)
    assert cell(sheet, "1I", "verdict") == verdict
    assert cell(sheet, "1I", "proof") == proof
    remarks = cell(sheet, "1I", "remarks")
    assert (f"STILL TO DO: {todo}" in remarks) if todo else remarks == ""


def test_trials_are_told_with_those_that_ended_without_a_click(folder: Path) -> None:
    ended = e.NoClick(valve="1E", phase="trial", pushrod="7.4 in", never_past_turns=2.0)
    sheet = with_entries(folder, [reading("1I", phase="trial", near=True), ended])
    assert [row.cells[::2] for row in section(sheet, "trials").rows] == [
        ("1I", "1 turn"),
        ("1E", "2 turns"),
    ]
    first, second = (row.cells[-1] for row in section(sheet, "trials").rows)
    assert first == "inside, near a limit"
    assert second.startswith("no click")


def test_an_acceptance_names_who_and_why(folder: Path) -> None:
    accepted = e.Accepted(valve="1I", of=2, person="A. Builder", reason="agreed with the maker")
    sheet = with_entries(folder, [reading("1I", verdict="long"), accepted])
    assert "A. Builder: agreed with the maker" in cell(sheet, "1I", "remarks")
    assert row(sheet, "1I").state is ValveSign.ACCEPTED
    assert sheet.result.split(", ")[1:3] == ["1 accepted by A. Builder", "15 still to count"]


def test_false_counts_stand_with_what_showed_them(folder: Path) -> None:
    sheet = with_entries(
        folder,
        [
            reading("1I", turns="1"),
            e.Proved(valve="1I", outcome="moved", torque="24 lbf ft", at_deg=90.0),
            reading("1I", turns="1 1/8"),
            reading("1E", turns="1 1/8"),
            e.BackedOff(valves=["1E"], why="recount"),
            reading("1E", turns="3/4", recount=True),
            reading("2I", turns="1"),
            reading("2I", turns="1 1/8", recount=True),
            reading("2E", turns="1"),
            e.CrossedOut(of=10, reason="lost count"),
        ],
    )
    table = section(sheet, "false counts")
    found = {row.valves[0]: row.painted("in") for row in table.rows}
    assert set(found) == {"1I", "1E", "2E"}, "2I: an eighth more is what a count may differ"
    entry, why, now = (table.heads.index(h) for h in ("entry", "what showed it", "what stands now"))
    assert [found[valve][entry] for valve in ("1I", "1E", "2E")] == ["2", "5", "10"]
    assert "(entry 3)" in found["1I"][why]
    assert "(entry 7)" in found["1E"][why]
    assert "lost count (entry 11)" in found["2E"][why]
    assert found["1I"][now].startswith("1 1/8 turns ")
    assert found["1E"][now].startswith("3/4 turn ")
    assert cell(sheet, "1E", "remarks").startswith("counted again")
    assert cell(sheet, "2I", "remarks").startswith("counted again")


def test_troubles_stand_with_what_was_done(folder: Path) -> None:
    sheet = with_entries(
        folder,
        [
            e.Trouble(what="went solid", phase="prove", at_deg=40.0),
            e.Trouble(what="thread yielded", phase="fit", valve="1I"),
            e.PutRight(of=2, cause="a stop left in", person="CD"),
        ],
    )
    solid, thread = (row.cells for row in section(sheet, "troubles").rows)
    assert solid[0] == "2"
    assert "a stop left in" in solid[3]
    assert "entry 4" in solid[3]
    assert thread[1] == "1I"
    assert "OPEN" in thread[3]


def test_pushrods_ordered_and_received(folder: Path) -> None:
    sheet = with_entries(
        folder,
        [
            e.Ordered(valves=["1I", "1E"], pushrods=["7.400 in", "7.450 in"]),
            e.Received(valve="1I", pushrod="7.420 in", ordered="7.400 in", as_ordered=False),
        ],
    )
    first, second = (row.painted(sheet.unit) for row in section(sheet, "pushrods").rows)
    assert first[:3] == ("1I", "7.400 in", "7.420 in")
    assert first[3] != ""
    assert second[:3] == ("1E", "7.450 in", "")


def test_positions_worked_at(folder: Path) -> None:
    sheet = with_entries(
        folder,
        [
            reading("1I", at_deg=450.0, margin_deg=63.5),
            reading("1E", at_deg=90.0),
            e.Proved(valve="1E", outcome="clicked", torque="24 lbf ft", at_deg=450.0),
        ],
    )
    table = section(sheet, "positions")
    shown = [(r.cells[0], r.cells[1], r.cells[3], r.cells[4]) for r in table.rows]
    assert shown == [("1", "90°", "1E", ""), ("2", "450°", "1I (63.5°)", "1E")]
    assert table.rows[0].cells[2].startswith("cylinder 5 at TDC on compression")
    above = "".join(each.char for each in sheet.cycle[0])
    assert [above.index(number) for number in "12"] == [6 + 9, 6 + 45], "10° a cell"


def test_in_progress(going: Record) -> None:
    assert sheet_of(going).status.startswith("in progress: 5 of 16")
    assert sheet_of(going).result.startswith("0 proved, 5 inside")


def test_reopened(signed: Record, folder: Path) -> None:
    copy = folder / "again.toml"
    copy.write_bytes(signed.file.read_bytes())
    with open_record(copy) as record:
        later = signed.entries[-1].at
        record.keep(Draft(e.Reopened(person="B", reason="a noise")), later, "B")
        assert sheet_of(record.as_record()).status.startswith("reopened, in progress: 16 of 16")


def test_a_record_no_walk_could_have_made_is_not_shown_as_signed(folder: Path) -> None:
    status = with_entries(folder, [e.SignedOff(person="A. Builder")]).status
    assert "A. Builder" not in status
    assert "NOT CONFIRMED" in status
    assert "entry 2" in status


def test_steps_left_out_are_named(folder: Path) -> None:
    sheet = with_entries(folder, [e.Skipped(step="dry-run", reason="no time")])
    (line,) = section(sheet, "left out").rows
    assert "no time" in line.cells[0]
    assert "(entry 2)" in line.cells[0]
    assert "dry-run" not in line.cells[0]


def test_what_a_shops_procedure_leaves_out_is_listed_with_its_hazard(going: Record) -> None:
    left = LeftOut(id="eyes", title="eye protection", level="WARNING", hazard="Springs fly.")
    procedure = going.head.procedure.model_copy(update={"left_out": [left]})
    sheet = sheet_of(replace(going, head=replace(going.head, procedure=procedure)))
    (line,) = section(sheet, "left out").rows
    assert all(part in line.cells[0] for part in ("eye protection", "WARNING", "Springs fly"))


def test_a_torn_end_and_a_recovery_are_told(going: Record, folder: Path) -> None:
    torn = folder / "torn.toml"
    torn.write_bytes(going.file.read_bytes() + b"\n[[entry]]\nnumber = 9")
    (note,) = section(sheet_of(read_record(torn)), "file").rows
    assert f"entry {len(going.entries)} " in note.cells[0]
    recovered = e.Recovered(bytes_set_aside=20, aside="torn-1.end")
    sheet = with_entries(folder, [recovered, e.Resumed(clock_went_back=True)])
    notes = [row.cells[0] for row in section(sheet, "file").rows]
    assert [note.split(":")[0] for note in notes] == ["Entry 2", "Entry 3"]
    assert "torn-1.end" in notes[0]


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
    assert facts_of(sheet_of(bare), "window")["window"][0] == "not known"


def test_a_wrench_passed_over_is_told_with_the_one_used(folder: Path) -> None:
    reason = "the long one from bay 3, in date"
    sheet = with_entries(folder, [e.Skipped(step="wrench", reason=reason)])
    assert facts_of(sheet, "procedure")["wrench used"] == (reason, "entry 2")


def test_the_sheet_is_in_the_unit_the_build_is_worked_in(going: Record) -> None:
    assert sheet_of(going).unit == "in"
    assert going.head.setup.pushrods is not None
    pushrods = going.head.setup.pushrods.model_copy(update={"intake": "188.0 mm"})
    setup = going.head.setup.model_copy(update={"pushrods": pushrods})
    assert sheet_of(replace(going, head=replace(going.head, setup=setup))).unit == "mm"


def test_a_travel_never_measured_is_said_with_who_decided(folder: Path) -> None:
    decided = e.Answered(step="walk/travel-not-measured", answer="JD", said="no time")
    caption = section(with_entries(folder, [decided]), "valves").caption
    assert "NOT MEASURED" in caption
    assert "JD: no time" in caption


def test_counts_judged_by_a_travel_nobody_measured_say_so(folder: Path) -> None:
    unmeasured = with_entries(folder, [reading("1I", travel_from="sheet")])
    assert "not measured" in section(unmeasured, "valves").caption
