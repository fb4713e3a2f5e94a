"""What every valve came to: counts against their windows, proofs, and counts that were false."""

from collections import Counter
from collections.abc import Iterable

from heelwise.documents import entries as e
from heelwise.documents.entries import AnyBody, AnyEntry, Gauged, Read
from heelwise.documents.entry_base import PASSING, Entry
from heelwise.pictures.cells import ValveSign
from heelwise.pictures.top_view import states_of
from heelwise.pictures.window_bar import Bar
from heelwise.sheet.sections import Cells, Row, Section, safe, table
from heelwise.sheet.setup_words import typed_length
from heelwise.sheet.words import PROOFS, length, turns_or_none, turns_words
from heelwise.valvetrain.engine import Valve, ValveKind
from heelwise.valvetrain.window import preload_mm
from heelwise.walk.scene import Scene
from heelwise.walk.state import BuildState, ValveState
from heelwise.walk.trials import go_without
from heelwise.wording import listed, show_turns, show_window, text

Counted = Entry[Read] | Entry[Gauged]

VALVE_HEADS = "bank|valve|count|window|verdict|proof|pushrod|preload|remarks"


def result_line(state: BuildState) -> str:
    """One line: "16 proved, 16 inside, 3 near a limit, 1 accepted by JD"."""
    states = state.valves.values()
    known = [(v, v.standing_count.body) for v in states if v.standing_count]
    inside = [body for _, body in known if body.verdict == "inside"]
    outside = [v for v, body in known if body.verdict != "inside"]
    people = Counter(safe(v.acceptance.body.person, 60) for v in outside if v.acceptance)
    undecided = sum(v.acceptance is None for v in outside)
    open_ = len(states) - len(known) - sum(v.untouched for v in states)
    parts = (
        (sum(v.proof is not None for v in states), "proved"),
        (len(inside), "inside"),
        (sum(body.near for body in inside), "near a limit"),
        *((many, f"accepted by {person}") for person, many in people.items()),
        (undecided, "outside"),
        (open_, "still to count"),
    )
    return ", ".join(f"{many} {words}" for many, words in parts if many or words == "proved")


def valve_section(scene: Scene) -> Section:
    """What every valve came to, bank by bank, front to rear where the valve row is known."""
    banks, signs, rows = scene.build.engine.banks, states_of(scene.state), []
    for bank in banks:
        name = safe(bank.name, 60) if len(banks) > 1 else ""
        pairs = tuple(Valve(cylinder, kind) for cylinder in bank.cylinders for kind in ValveKind)
        rows += [_valve_row(scene, name, valve, signs[valve]) for valve in bank.valve_row or pairs]
    return table("valves", "Valves", VALVE_HEADS, rows, _caption(scene))


def _valve_row(scene: Scene, bank: str, valve: Valve, sign: ValveSign) -> Row:
    valve_state, bar = scene.state.valves[valve], None
    count, pushrod, window, preload = valve_state.standing_count, "", "", ""
    if count:
        pushrod = typed_length(count.body.pushrod) if count.body.pushrod else ""
    if count and (read := count.when(Read)):
        r, turns = read.body, turns_or_none(read.body.turns)
        bar = Bar(r.least_turns, r.most_turns, r.never_past_turns, turns, r.near)
        window = show_window(r.least_turns, r.most_turns)
        if turns is not None:
            preload = length(preload_mm(turns, r.travel_mm, scene.seat_turns))
    elif count and (gauged := count.when(Gauged)):
        window = text("{} to {}", length(gauged.body.least_mm), length(gauged.body.most_mm))
    proof, second = valve_state.proof, valve_state.independent_proof
    also = f", independently by {safe(second.by, 20)}" if second else ""
    proved = f"{proof.body.outcome}{also}" if proof else ""
    verdict = f"{count.body.verdict}{', near a limit' * count.body.near}" if count else ""
    reading = _reading(count.body) if count else ""
    ends = (verdict, proved, pushrod, preload, _remarks(valve_state))
    return Row((bank, str(valve), reading, window, *ends), state=sign, bar=bar)


def _caption(scene: Scene) -> str:
    states = scene.state.valves.values()
    torques = {safe(v.proof.body.torque, 40) for v in states if v.proof}
    counts = (v.standing_count.body for v in states if v.standing_count)
    travels = sorted({safe(body.travel_from, 60) for body in counts if isinstance(body, Read)})
    parts = []
    if torques and scene.build.method.clicks:
        parts.append(f"Proved at {listed(sorted(torques))}.")
    if without := go_without(scene):
        who, reason = safe(without.body.answer, 100), safe(without.body.said, 500)
        parts.append(f"TRAVEL PER TURN NOT MEASURED ({who}: {reason}).")
    elif travels and not any("measured" in each for each in travels):
        parts.append("Travel per turn not measured.")
    if travels:
        seat = f" less {show_turns(scene.seat_turns)} to seat" if scene.seat_turns else ""
        source = listed(travels, "or")
        parts.append(f"Preload: turns{seat} × travel per turn ({source}; as of each count).")
    return " ".join(parts)


def _remarks(valve_state: ValveState) -> str:
    acceptance, parts = valve_state.acceptance, []
    if acceptance and valve_state.standing_count:
        by, reason = safe(acceptance.body.person, 200), safe(acceptance.body.reason, 1000)
        parts.append(f"accepted as is by {by}: {reason}")
    parts += ["counted again"] if valve_state.recounted else []
    todo = _outstanding(valve_state)
    return "; ".join([*parts, f"STILL TO DO: {todo}"] if todo else parts)


def _outstanding(valve_state: ValveState) -> str:
    last = valve_state.last_count
    if valve_state.settled_count or valve_state.untouched:
        return "" if valve_state.proof else "proof"
    if last is None:
        return "count"
    if last.number < valve_state.touched:
        return "count again: touched since"
    if isinstance(last.body, e.NoClick):
        return "no click by the never-past count: fit another pushrod and count again"
    return "outside its window: count again, change the pushrod, or accept as is"


FALSE_HEADS = "valve|count|entry|what showed it|what stands now"


def false_counts(state: BuildState, allowance: float) -> Iterable[Cells]:
    """Every count in the engine that was crossed out, counted otherwise, or moved in its proof.

    With what showed it, and what stands instead. `allowance`: turns by which a re-count may differ.
    """
    for valve_state in state.valves.values():
        count, proved = valve_state.standing_count, ", proved" if valve_state.proof else ""
        now = text("{}{}", _short_count(count.body) if count else "not counted again yet", proved)
        for false, why, by in _false_of(state, valve_state, allowance):
            cells = _short_count(false.body), str(false.number), f"{why} (entry {by.number})"
            yield str(valve_state.valve), *cells, now


def _false_of(
    state: BuildState, valve_state: ValveState, allowance: float
) -> Iterable[tuple[Counted, str, AnyEntry]]:
    last: Counted | None = None
    for entry in sorted(valve_state.history, key=lambda entry: entry.number):
        if last is not None and state.counts(entry) and state.counts(last):
            why = _shown_false(last.body, entry.body, allowance)
            if why:
                yield last, why, entry
                last = None
        count: Counted | None = entry.when(Read) or entry.when(Gauged)
        if count is not None and count.body.phase != "trial":
            last, crossing = count, state.crossed.get(entry.number)
            if crossing is not None:
                by, reason = safe(crossing.by, 40), safe(crossing.body.reason, 300)
                yield count, f"crossed out by {by}: {reason}", crossing


def _shown_false(first: AnyBody, then: AnyBody, allowance: float) -> str:
    if isinstance(then, e.Proved | e.IndependentProof) and then.outcome not in PASSING:
        return PROOFS[then.outcome].partition(":")[0] + " in its proof"
    if isinstance(then, Read) and then.recount and isinstance(first, Read):
        before, after = turns_or_none(first.turns), turns_or_none(then.turns)
        if before is not None and after is not None and abs(after - before) > allowance + 1e-9:
            return f"counted again from zero lash: {turns_words(then.turns)}, {then.verdict}"
    return ""


def _reading(body: Read | Gauged) -> str:
    return turns_words(body.turns) if isinstance(body, Read) else typed_length(body.reading)


def _short_count(body: Read | Gauged) -> str:
    with_ = text(" with {}", typed_length(body.pushrod)) if body.pushrod else ""
    return text("{}{}: {}", _reading(body), with_, body.verdict)
