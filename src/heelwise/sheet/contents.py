"""What a sheet says of a record, section by section. Reads the record, never writes it."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime

from heelwise.documents import entries as e
from heelwise.documents.entries import AnyEntry
from heelwise.documents.record import Record
from heelwise.documents.steps import Records
from heelwise.pictures.strip import PRINTED_WIDTH, Strip, strip_cells
from heelwise.pictures.top_view import engine_cells, engine_height, states_of
from heelwise.sheet.compare import then_and_now
from heelwise.sheet.sections import Cells, Row, Section, Shape, Sheet, facts, safe, sentences, table
from heelwise.sheet.setup_words import figure_section, table_sections, typed_length, unit_of
from heelwise.sheet.valves import FALSE_HEADS, false_counts, result_line, valve_section
from heelwise.sheet.words import entry_valves, entry_words, turns_words
from heelwise.valvetrain.engine import wrap
from heelwise.valvetrain.turn import degrees, landmark
from heelwise.walk.replay import replay_faults
from heelwise.walk.scene import Scene, scene_of
from heelwise.walk.state import BuildState
from heelwise.walk.steps import NOTHING
from heelwise.wording import counted, listed, show_turns

SEAL_SAYS = (
    "Seals show accidental damage and careless editing. They are not a signature and don't prove "
    "who or when. Compare the last seal on paper with the one in the file: nothing else shows "
    "entries taken off the end."
)

ABOVE_WIDTH, LEGEND_ROWS = 60, 6
POSITION_HEADS = "position|crank|place|counted (margin)|proved"


def sheet_of(record: Record) -> Sheet:
    """Lay a record out, signed off or in progress."""
    scene = scene_of(record.head.setup, record.head.procedure, record.entries)
    build, state = scene.build, scene.state
    worked = _worked_at(state)
    engine, at = build.engine, None if state.closed else scene.crank_deg
    height = engine_height(engine, ABOVE_WIDTH) + LEGEND_ROWS
    cycle = Strip(engine, build.cam, build.margin_deg, at, tuple(sorted(worked)))
    false = false_counts(state, build.procedure.defaults.recount_allowance_turns)
    *job, parts = table_sections(build.setup)
    checksums = (
        ("last seal", record.last_seal, SEAL_SAYS),
        ("procedure checksum", record.head.build.procedure_digest, "SHA-256 of its text"),
    )
    unchecked = map(safe, build.procedure.covers_not)
    sections = (
        *job,
        facts("people", "People", _people(record, state)),
        parts,
        valve_section(scene),
        then_and_now(scene),
        table("false counts", "Counts that were false", FALSE_HEADS, false),
        table(
            "troubles", "Troubles", "entry|valve|what went wrong|what was done", _troubles(state)
        ),
        figure_section(scene),
        table("trials", "Trials", "valve|pushrod|count|verdict", _trials(state)),
        table("pushrods", "Pushrods", "valve|ordered|received|remark", _pushrods(state)),
        table("positions", "Positions worked at", POSITION_HEADS, _positions(scene, worked)),
        facts("procedure", "Procedure", _procedure(record, state)),
        sentences("left out", "Left out", _left_out(scene)),
        sentences("not checked", "Not checked by this procedure", unchecked),
        sentences("notes", "Notes", _notes(state)),
        sentences("file", "The file", _file_notes(record)),
        _entries(scene),
        facts("checksums", "Checksums", checksums),
    )
    return Sheet(
        name=safe(record.head.build.name, 200),
        result=result_line(state),
        status=_not_confirmed(record) or _status(state),
        sections=tuple(section for section in sections if section.rows),
        unit=unit_of(build.setup),
        above=engine_cells(engine, states_of(state), None, ABOVE_WIDTH, height),
        cycle=strip_cells(cycle, PRINTED_WIDTH, cycle.size.height),
    )


def when(at: datetime) -> str:
    """A time with its offset: "2026-03-02 09:30 +01:00"."""
    return f"{at:%Y-%m-%d %H:%M} {at.isoformat()[-6:]}"


# ------------------------------------------------------------------ the head


def _not_confirmed(record: Record) -> str:
    """What stands in place of the signature where no walk could have made the record."""
    doubts = (f"{fault.where}: {fault.problem}" for fault in replay_faults(record))
    words = safe("; ".join(doubts), 500)
    return f"NOT CONFIRMED, no walk could have made this record: {words}" if words else ""


def _status(state: BuildState) -> str:
    closed = state.closed
    if closed is not None:
        person = safe(closed.body.person, 200)
        return f"signed off by {person} on {when(closed.at)} (entry {closed.number})"
    again = any(isinstance(entry.body, e.Reopened) for entry in state.entries)
    settled = sum(v.settled_count for v in state.valves.values())
    progress = f"{settled} of {counted(len(state.valves), 'valve')} counted and settled"
    return f"{'reopened, ' if again else ''}in progress: {progress}"


def _people(record: Record, state: BuildState) -> Iterable[Cells]:
    build, job = record.head.build, record.head.setup.job
    names = (job.people if job else None) or {}

    def named(initials: str) -> str:
        full = names.get(initials)
        return safe(f"{initials} ({full})" if full else initials, 120)

    if build.seed is not None:
        planted = "; ".join(safe(each) for each in build.planted or ()) or "none"
        yield "rehearsal", f"not a real engine: seed {build.seed}, faults planted: {planted}"
    yield "begun", f"{when(build.begun)} by {named(build.by)}"
    at_engine = dict.fromkeys([*(entry.by for entry in state.entries), state.by])
    yield "at the engine", listed([named(by) for by in at_engine if by])
    if state.closed:
        yield "signed off by", named(state.closed.body.person)


def _troubles(state: BuildState) -> Iterable[Cells]:
    counting = [entry for entry in state.entries if state.counts(entry)]
    righted = {done.body.of: done for entry in counting if (done := entry.when(e.PutRight))}
    for trouble in filter(None, (entry.when(e.Trouble) for entry in counting)):
        body, done, now = trouble.body, righted.get(trouble.number), "OPEN"
        if done is not None:
            what = safe(", ".join(filter(None, (done.body.cause, done.body.words))), 1000)
            now = f"{what} ({safe(done.body.person or done.by, 100)}, entry {done.number})"
        words = safe(": ".join(filter(None, (body.what, body.words))), 700)
        yield str(trouble.number), safe(body.valve or "", 20), words, now


def _procedure(record: Record, state: BuildState) -> Iterable[Cells]:
    procedure, build = record.head.procedure, record.head.build
    yield "procedure", safe(f"{procedure.title} ({build.procedure})", 300)
    yield "figures from", safe(procedure.source)
    yield "note", safe(procedure.first)
    for step in procedure.steps:
        entry = state.step(step.id) if step.records is Records.WRENCH else None
        if entry is not None and isinstance(entry.body, e.Skipped):
            # Not the wrench of the setup: the reason names the one used.
            yield "wrench used", safe(entry.body.reason, 1000), f"entry {entry.number}"


# ------------------------------------------------------------------ trials, pushrods, positions


def _trials(state: BuildState) -> Iterable[Cells]:
    for entry in filter(state.counts, state.entries):
        body = entry.body
        if isinstance(body, e.Read | e.NoClick) and body.phase == "trial":
            if isinstance(body, e.NoClick):
                count = f"{show_turns(body.never_past_turns)} turns"
                verdict = "no click: count ended there"
            else:
                near = ", near a limit" if body.near else ""
                count, verdict = turns_words(body.turns), f"{body.verdict}{near}"
            yield safe(body.valve, 20), typed_length(body.pushrod), count, verdict


def _pushrods(state: BuildState) -> Iterable[Cells]:
    order = state.ordered.body if state.ordered else None
    ordered = dict(zip(order.valves, order.pushrods, strict=False)) if order else {}
    for valve, valve_state in sorted(state.valves.items()):
        name, got = str(valve), valve_state.received
        wanted = typed_length(ordered[name]) if name in ordered else ""
        if got:
            remark = "" if got.body.as_ordered else "not as ordered"
            remark = remark if got.body.measured else "not measured"
            remark = "within tolerance" if got.body.together else remark
            yield name, wanted, typed_length(got.body.pushrod), remark
        elif wanted:
            yield name, wanted, "", "not received yet"


Worked = dict[float, tuple[list[str], list[str]]]
"""By crank angle, the valves counted there, with their margins, and those proved there."""


def _worked_at(state: BuildState) -> Worked:
    worked: Worked = defaultdict(lambda: ([], []))
    for valve_state in state.valves.values():
        name = str(valve_state.valve)
        bodies: list[e.Read | e.Gauged] = [entry.body for entry in valve_state.reads]
        for body in bodies + [entry.body for entry in valve_state.gauged]:
            margin = "" if body.margin_deg is None else f" ({degrees(body.margin_deg)})"
            worked[wrap(body.at_deg)][0].append(f"{name}{margin}")
        if valve_state.proof:
            worked[wrap(valve_state.proof.body.at_deg)][1].append(name)
    return worked


def _positions(scene: Scene, worked: Worked) -> Iterable[Cells]:
    for number, (deg, (counts, proofs)) in enumerate(sorted(worked.items()), start=1):
        place = landmark(scene.build.engine, deg)
        yield str(number), f"{deg:g}°", place, ", ".join(dict.fromkeys(counts)), ", ".join(proofs)


# ------------------------------------------------------------------ entries and remarks


def _entries(scene: Scene) -> Section:
    rows = []
    for entry in scene.state.entries:
        words = entry_words(entry, scene.build.procedure)
        cells = str(entry.number), when(entry.at), safe(entry.by, 40), words, entry.body.kind
        about = tuple(safe(valve, 20) for valve in entry_valves(entry))
        rows.append(Row(cells, struck(scene.state, entry), about))
    title, heads = "Entries (number is the order)", "entry|at|by|what|kind"
    return table("entries", title, heads, rows, shape=Shape.ENTRIES)


def struck(state: BuildState, entry: AnyEntry) -> str:
    """Why an entry doesn't count; empty where it does."""
    crossing = state.crossed.get(entry.number)
    if crossing is not None:
        return f"crossed out by entry {crossing.number}"
    fallen = [number for number in entry.rests_on if number in state.void]
    return f"fell with entry {fallen[0]}" if entry.number in state.void else ""


def _notes(state: BuildState) -> Iterable[str]:
    for entry in state.entries:
        if isinstance(entry.body, e.Noted):
            about = f"{safe(entry.body.valve, 20)}: " if entry.body.valve else ""
            why = f", {gone}" if (gone := struck(state, entry)) else ""
            source = f"(entry {entry.number}, {safe(entry.by, 40)}{why})"
            yield f"{about}{safe(entry.body.text)} {source}"


def _left_out(scene: Scene) -> Iterable[str]:
    procedure = scene.build.procedure
    for step in procedure.left_out:
        hazard = safe((step.hazard or "").rstrip("."), 500)
        caution = f" ({step.level}: {hazard})" if step.level else ""
        yield f"{safe(step.title, 200)}{caution}: not in this procedure"
    yield from (f"{each} (the procedure's default)" for each in procedure.omissions)
    for entry in scene.state.steps.values():
        if isinstance(entry.body, e.Skipped) and entry.body.reason != NOTHING:
            yield entry_words(entry, procedure) + f" (entry {entry.number})"


def _file_notes(record: Record) -> Iterable[str]:
    if record.torn:
        yield (
            f"The file's end is torn: what follows entry {len(record.entries)} was never finished "
            "and is not on this sheet."
        )
    for entry in record.entries:
        resumed = entry.when(e.Resumed)
        if entry.when(e.Recovered) or (resumed and resumed.body.clock_went_back):
            yield f"Entry {entry.number}: {entry_words(entry)}."
