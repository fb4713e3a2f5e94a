"""What a sheet says of a record, section by section. Reads the record, never writes it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from heelwise.documents import entries as e
from heelwise.documents.entries import AnyBody, AnyEntry, Gauged, Read
from heelwise.documents.record import Record
from heelwise.documents.steps import Records
from heelwise.pictures.strip import Strip, strip
from heelwise.pictures.top_view import states_of
from heelwise.sheet.sections import Row, Section, Shape, Sheet, fact, facts, safe, sentences
from heelwise.sheet.setup_words import figure_section, table_sections, typed_length, unit_of
from heelwise.sheet.valves import false_counts, false_section, result_line, valve_section
from heelwise.sheet.words import entry_valves, entry_words, turns_figure, turns_words
from heelwise.valvetrain.engine import wrap
from heelwise.valvetrain.turn import degrees, landmark
from heelwise.walk.replay import replay_faults
from heelwise.walk.scene import Scene, scene_of
from heelwise.walk.state import BuildState
from heelwise.wording import counted, listed

SEAL_SAYS = (
    "Seals show accidental damage and careless editing. They are not a signature and don't prove "
    "who or when. Compare the last seal on paper with the one in the file: nothing else shows "
    "entries taken off the end."
)


def sheet_of(record: Record) -> Sheet:
    """Lay a record out, signed off or in progress."""
    scene = scene_of(record.head.setup, record.head.procedure, record.entries)
    build, state = scene.build, scene.state
    positions = _positions(scene)
    false = false_counts(state, build.procedure.defaults.recount_allowance_turns)
    tables = table_sections(build.setup)
    not_checked = map(safe, build.procedure.covers_not)
    digest = record.head.build.procedure_digest
    checksums = (
        fact("last seal", record.last_seal, SEAL_SAYS),
        fact("procedure checksum", digest, "SHA-256 of its text, kept in the record"),
    )
    parts = (
        *tables[:-1],
        facts("people", "People", _people(record, state)),
        *tables[-1:],
        valve_section(scene, {str(f.valve_state.valve) for f in false if f.by_recount}),
        false_section(false),
        _troubles(state),
        figure_section(scene),
        _trials(state),
        _pushrods(state),
        positions,
        facts("procedure", "Procedure", _procedure(record, state)),
        sentences("left out", "Left out", _left_out(scene)),
        sentences("not checked", "Not checked by this procedure", not_checked),
        sentences("notes", "Notes", _notes(state)),
        sentences("file", "The file", _file_notes(record)),
        _timeline(scene),
        _by_valve(state),
        facts("checksums", "Checksums", checksums),
    )
    return Sheet(
        name=safe(record.head.build.name, 200),
        result=result_line(state),
        status=_not_confirmed(record) or _status(state),
        sections=tuple(section for section in parts if section.rows),
        unit=unit_of(build.setup),
        engine=build.engine,
        states=states_of(state),
        strip=_strip(scene, positions),
    )


def when(at: datetime) -> str:
    """A time with its offset: "2026-03-02 09:30 +01:00"."""
    offset = at.strftime("%z")
    return f"{at:%Y-%m-%d %H:%M} {offset[:3]}:{offset[3:5]}"


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


def _people(record: Record, state: BuildState) -> Iterable[Row]:
    build = record.head.build
    job = record.head.setup.job
    names = (job.people if job else None) or {}

    def named(initials: str) -> str:
        full = names.get(initials)
        return safe(f"{initials} ({full})" if full else initials, 120)

    if build.seed is not None:
        planted = "; ".join(safe(each) for each in build.planted or ()) or "none"
        yield fact("rehearsal", f"no real engine: seed {build.seed}, faults planted: {planted}")
    yield fact("begun", f"{when(build.begun)} by {named(build.by)}")
    at_engine = dict.fromkeys([*(entry.by for entry in state.entries), state.by])
    yield fact("at the engine", listed([named(by) for by in at_engine if by]))
    if state.closed:
        yield fact("signed off by", named(state.closed.body.person))


def _troubles(state: BuildState) -> Section:
    counting = [entry for entry in state.entries if state.counts(entry)]
    righted = {done.body.of: done for entry in counting if (done := entry.when(e.PutRight))}
    rows = []
    for trouble in (entry.when(e.Trouble) for entry in counting):
        if trouble is None:
            continue
        body, done = trouble.body, righted.get(trouble.number)
        words = safe(": ".join(filter(None, (body.what, body.words))), 700)
        now = "OPEN"
        if done is not None:
            what = safe(", ".join(filter(None, (done.body.cause, done.body.words))), 1000)
            now = f"{what} ({safe(done.body.person or done.by, 100)}, entry {done.number})"
        about = (safe(body.valve, 20),) if body.valve else ()
        rows.append(Row((str(trouble.number), " ".join(about), words, now), valves=about))
    heads = ("entry", "valve", "what went wrong", "what was done")
    return Section("troubles", "Troubles", heads, tuple(rows))


def _procedure(record: Record, state: BuildState) -> Iterable[Row]:
    procedure, build = record.head.procedure, record.head.build
    yield fact("procedure", safe(f"{procedure.title} ({build.procedure})", 300))
    yield fact("sources of its figures", safe(procedure.source))
    yield fact("note", safe(procedure.first))
    for step in procedure.steps:
        entry = state.step(step.id) if step.records is Records.WRENCH else None
        if entry is not None and isinstance(entry.body, e.Skipped):
            # Not the wrench of the setup: the reason names the one used.
            yield fact("wrench used", safe(entry.body.reason, 1000), f"entry {entry.number}")


# ------------------------------------------------------------------ trials, pushrods, positions


def _trials(state: BuildState) -> Section:
    every = (entry for valve in state.valves.values() for entry in valve.history)
    made = {entry.number: entry.body for entry in every if state.counts(entry)}
    rows = tuple(row for _, body in sorted(made.items()) if (row := _trial(body)))
    return Section("trials", "Trials", ("valve", "pushrod", "count", "verdict"), rows)


def _trial(body: AnyBody) -> Row | None:
    if isinstance(body, Read) and body.phase == "trial":
        near = ", near a limit" if body.near else ""
        count, verdict = turns_words(body.turns), f"{body.verdict}{near}"
    elif isinstance(body, e.NoClick) and body.phase == "trial":
        count = f"{turns_figure(body.never_past_turns)} turns"
        verdict = "no click: count ended there"
    else:
        return None
    name = safe(body.valve, 20)
    return Row((name, typed_length(body.pushrod), count, verdict), valves=(name,))


def _pushrods(state: BuildState) -> Section:
    order = state.ordered.body if state.ordered else None
    ordered = dict(zip(order.valves, order.pushrods, strict=False)) if order else {}
    rows = []
    for valve, valve_state in sorted(state.valves.items()):
        name, got = str(valve), valve_state.received
        wanted = typed_length(ordered[name]) if name in ordered else ""
        if got:
            remark = "" if got.body.as_ordered else "not as ordered"
            remark = remark if got.body.measured else "not measured"
            received = typed_length(got.body.pushrod)
            rows.append(Row((name, wanted, received, remark), valves=(name,)))
        elif wanted:
            rows.append(Row((name, wanted, "", "not received yet"), valves=(name,)))
    heads = ("valve", "ordered", "received", "remark")
    return Section("pushrods", "Pushrods", heads, tuple(rows))


def _positions(scene: Scene) -> Section:
    counts: dict[float, list[str]] = defaultdict(list)
    proofs: dict[float, list[str]] = defaultdict(list)
    for valve_state in scene.state.valves.values():
        name = str(valve_state.valve)
        bodies: list[Read | Gauged] = [entry.body for entry in valve_state.reads]
        for body in bodies + [entry.body for entry in valve_state.gauged]:
            margin = "" if body.margin_deg is None else f" ({degrees(body.margin_deg)})"
            counts[wrap(body.at_deg)].append(f"{name}{margin}")
        if valve_state.proof:
            proofs[wrap(valve_state.proof.body.at_deg)].append(name)
    rows = tuple(
        Row(
            (
                str(number),
                f"{deg:g}°",
                landmark(scene.build.engine, deg),
                ", ".join(dict.fromkeys(counts[deg])),
                ", ".join(proofs[deg]),
            )
        )
        for number, deg in enumerate(sorted({*counts, *proofs}), start=1)
    )
    heads = ("position", "crank", "place", "counted (margin)", "proved")
    return Section("positions", "Positions worked at", heads, rows)


def _strip(scene: Scene, positions: Section) -> Strip:
    build = scene.build
    at = None if scene.state.closed else scene.crank_deg
    view = strip(build.engine, build.cam, build.margin_deg, at)
    worked = [(int(row.cells[0]), float(row.cells[1].rstrip("°"))) for row in positions.rows]
    places = ", ".join(f"{number} at {deg:g}°" for number, deg in worked) or "nowhere yet"
    words = f"Lobes in firing order. Fitted and proved at: {places}."
    return replace(view, positions=tuple(worked), words=words)


# ------------------------------------------------------------------ entries and remarks


def _timeline(scene: Scene) -> Section:
    state, procedure = scene.state, scene.build.procedure
    rows = tuple(
        Row(
            (
                str(entry.number),
                when(entry.at),
                safe(entry.by, 40),
                entry_words(entry, procedure),
                entry.body.kind,
            ),
            struck(state, entry),
            tuple(safe(valve, 20) for valve in entry_valves(entry)),
        )
        for entry in state.entries
    )
    heads = ("entry", "at", "by", "what", "kind")
    return Section("entries", "Entries (number is the order)", heads, rows, Shape.ENTRIES)


def _by_valve(state: BuildState) -> Section:
    rows = []
    for valve, valve_state in sorted(state.valves.items()):
        numbers = [
            str(entry.number) if state.counts(entry) else f"({entry.number})"
            for entry in valve_state.history
        ]
        if numbers:
            rows.append(Row((str(valve), " ".join(numbers)), valves=(str(valve),)))
    heads = ("valve", "entries (in brackets: doesn't count)")
    return Section("by valve", "Entries by valve", heads, tuple(rows))


def struck(state: BuildState, entry: AnyEntry) -> str:
    """Why an entry doesn't count; empty where it does."""
    crossing = state.crossed.get(entry.number)
    if crossing is not None:
        return f"crossed out by entry {crossing.number}"
    if entry.number in state.void:
        fallen = [number for number in entry.rests_on if number in state.void]
        return f"fell with entry {fallen[0]}"
    return ""


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
        hazard = (
            f" ({step.level}: {safe((step.hazard or '').rstrip('.'), 500)})" if step.level else ""
        )
        yield f"{safe(step.title, 200)}{hazard}: not in this procedure"
    yield from (f"{each} (the procedure's default)" for each in procedure.omissions)
    for entry in scene.state.steps.values():
        if isinstance(entry.body, e.Skipped):
            yield entry_words(entry, procedure) + f" (entry {entry.number})"


def _file_notes(record: Record) -> Iterable[str]:
    if record.torn:
        yield (
            f"The file's end is torn: what follows entry {len(record.entries)} was never finished "
            "and is not on this sheet."
        )
    for entry in record.entries:
        if isinstance(entry.body, e.Recovered):
            yield f"Entry {entry.number}: {entry_words(entry)}."
        elif isinstance(entry.body, e.Resumed) and entry.body.clock_went_back:
            yield f"Entry {entry.number}: the clock had gone back. Number is the order."
