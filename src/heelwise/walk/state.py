"""Where a build stands: the fold of its entries, for the whole and valve by valve.

Two readings of the same entries run side by side. What *counts* comes from the
entries that still hold: neither crossed out nor resting on one that is. What
was *done to the engine* comes from all of them: a crossed-out reading still
means that a bolt was turned, so nothing that guards the engine forgets it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import TypeVar

from heelwise.documents import entries as e
from heelwise.documents.entries import AnyEntry
from heelwise.documents.entry_base import PASSING, Entry
from heelwise.documents.steps import Records
from heelwise.valvetrain.engine import Valve
from heelwise.walk.valve_state import Count, ValveState, count_in

RESUME_STEP = "walk/resume"

WENT_SOLID = "the crank went solid"
UNNAMED = "something is wrong"
"""What a trouble is called before it is chosen from the list."""
NAMED_TROUBLE = "walk/trouble"
PUT_OFF = "walk/trouble-later"
FIRST_MOVE = "walk/first-move"

StepEntry = Entry[e.Answered] | Entry[e.Skipped] | Entry[e.Measured] | Entry[e.Noted]
"""What answers a step of the procedure."""

T = TypeVar("T")


@dataclass
class BuildState:
    """The fold of a record's entries. Made by `fold`, carried on by `advance`.

    `answers`: by what a step records, the answer that counts. `load_times`: valves whose
    lifters were loaded and not yet given their time. `trial_loaded`, `trial_in`: valves with
    trial gear tightened, and with it in at all.
    """

    valves: dict[Valve, ValveState]
    by_name: dict[str, ValveState]
    entries: list[AnyEntry] = field(default_factory=list)
    crossed: dict[int, Entry[e.CrossedOut]] = field(default_factory=dict)
    void: set[int] = field(default_factory=set)
    steps: dict[tuple[str, str], StepEntry] = field(default_factory=dict)
    answers: dict[str, str] = field(default_factory=dict)
    not_yet: Entry[e.NotYet] | None = None
    crank: Entry[e.Crank] | None = None
    lost: AnyEntry | None = None
    felt: dict[str, Entry[e.Felt]] = field(default_factory=dict)
    resume_asked: AnyEntry | None = None
    resumed_at: int = 0
    taken_up: list[int] = field(default_factory=list)
    """Entries by which the work was resumed or handed over."""
    load_times: dict[Valve, datetime] = field(default_factory=dict)
    trial_loaded: set[Valve] = field(default_factory=set)
    trial_in: set[Valve] = field(default_factory=set)
    troubles: dict[int, Entry[e.Trouble]] = field(default_factory=dict)
    trouble_names: dict[int, str] = field(default_factory=dict)
    put_off: set[int] = field(default_factory=set)
    first_move_due: Entry[e.PutRight] | None = None
    ordered: Entry[e.Ordered] | None = None
    closed: Entry[e.SignedOff] | None = None
    by: str = ""

    @property
    def last(self) -> AnyEntry | None:
        """The latest entry."""
        return self.entries[-1] if self.entries else None

    @property
    def crank_deg(self) -> float | None:
        """Where the crank stands, or None when it is not known."""
        return self.crank.body.at_deg if self.crank else None

    @property
    def arrived(self) -> int:
        """The entry by which the crank came to where it stands; 0 where that isn't known."""
        return self.crank.number if self.crank else 0

    @property
    def lifters(self) -> str:
        """The lifters' condition as answered; the most careful one until it is known."""
        return self.answers.get(Records.LIFTER_CONDITION, "used")

    @property
    def solid(self) -> Entry[e.Trouble] | None:
        """The crank gone solid, until its cause is put right."""
        return next((t for t in self.troubles.values() if t.body.what == WENT_SOLID), None)

    def trouble_name(self, trouble: Entry[e.Trouble]) -> str:
        """What a trouble is, as it was named when it was said or afterward."""
        return self.trouble_names.get(trouble.number, trouble.body.what)

    def valve(self, valve: Valve) -> ValveState:
        """One valve's state."""
        return self.valves[valve]

    def step(self, step: str, valve: Valve | None = None) -> StepEntry | None:
        """The latest entry that answers a step and still counts."""
        return self.steps.get((step, str(valve) if valve else ""))

    def counts(self, entry: AnyEntry) -> bool:
        """Whether an entry is neither crossed out nor resting on one that is."""
        return entry.number not in self.void


def fold(valves: Iterable[Valve], entries: Iterable[AnyEntry]) -> BuildState:
    """Fold entries into a state; number, not time, is their order. Linear in their count."""
    known = list(entries)
    per_valve = {v: ValveState(v) for v in valves}
    state = BuildState(valves=per_valve, by_name={str(v): s for v, s in per_valve.items()})
    for entry in known:
        crossed = entry.when(e.CrossedOut)
        if crossed is not None:
            state.crossed[crossed.body.of] = crossed
    for entry in known:
        if entry.number in state.crossed or any(n in state.void for n in entry.rests_on):
            state.void.add(entry.number)
    for entry in known:
        _apply(state, entry)
    return state


def advance(state: BuildState, entry: AnyEntry) -> BuildState:
    """Carry a state on by one entry (the given one is used up)."""
    if entry.when(e.CrossedOut):
        return fold(state.valves, [*state.entries, entry])
    _apply(state, entry)
    return state


def _apply(state: BuildState, entry: AnyEntry) -> None:
    holds = state.counts(entry)
    handed = entry.when(e.HandedOver)
    state.by = handed.body.to if handed else entry.by
    state.entries.append(entry)
    if isinstance(entry.body, e.Resumed | e.HandedOver):
        state.taken_up.append(entry.number)
    about = [state.by_name[name] for name in entry.body.about if name in state.by_name]
    for valve_state in about:
        valve_state.history.append(entry)
        _done_to_valve(state, valve_state, entry, holds)
        _trial_gear(state, valve_state.valve, entry, holds)
    _crank(state, entry, holds)
    if holds:
        _counts(state, entry)
        for valve_state in about:
            _valve_counts(valve_state, entry)


def _done_to_valve(state: BuildState, valve: ValveState, entry: AnyEntry, holds: bool) -> None:
    count, proof = count_in(entry), proof_in(entry)
    if count is not None:
        _counted(state, valve, count, holds)
    elif entry.when(e.Drawn):
        valve.touched = valve.tightened = entry.number
        state.load_times[valve.valve] = entry.at
    elif entry.when(e.Checked):
        valve.tightened = entry.number
        state.trial_loaded.add(valve.valve)
    elif _slackens(valve, entry):
        valve.touched = valve.slackened = entry.number
        if holds:
            state.load_times.pop(valve.valve, None)
            state.trial_loaded.discard(valve.valve)
    elif entry.when(e.Held) and holds:
        state.load_times.pop(valve.valve, None)
    elif proof is not None and proof.body.outcome not in PASSING:
        valve.touched = entry.number
        if proof.body.outcome == "moved":  # a bolt that moved loaded its lifter again
            state.load_times[valve.valve] = entry.at


def _counted(state: BuildState, valve: ValveState, count: Count, holds: bool) -> None:
    gauged = count.when(e.Gauged)
    valve.touched = valve.tightened = count.number
    valve.struck_counts += 0 if holds else 1
    if count.when(e.Read) or (gauged and not gauged.body.locked):
        valve.set_at = count.number
    if not gauged:
        state.load_times[valve.valve] = count.at
    if count.body.phase == "trial":
        state.trial_loaded.add(valve.valve)


def _slackens(valve: ValveState, entry: AnyEntry) -> bool:
    if entry.when(e.Received):
        return valve.last_count is not None
    return isinstance(entry.body, e.BackedOff | e.Unloaded | e.Fitted)


def _trial_gear(state: BuildState, valve: Valve, entry: AnyEntry, holds: bool) -> None:
    answered, fitted = entry.when(e.Answered), entry.when(e.Fitted)
    down = answered is not None and answered.body.fills == Records.ROCKER_DOWN
    if down or (fitted and fitted.body.phase == "trial"):
        state.trial_in.add(valve)
    elif holds and isinstance(entry.body, e.BackedOff | e.Fitted):
        state.trial_in.discard(valve)


def _crank(state: BuildState, entry: AnyEntry, holds: bool) -> None:
    placed, felt = entry.when(e.Crank), entry.when(e.Felt)
    if placed is not None or (entry.when(e.CrankLost) and holds) or _is_solid(entry):
        state.crank = placed if holds else None
        state.lost = None if placed and holds else entry
        state.felt = {}
        state.resume_asked = None
    elif isinstance(entry.body, e.Paused | e.Resumed | e.Reopened):
        state.resume_asked = entry
        state.resumed_at = entry.number
    elif felt is not None and holds:
        state.felt.pop(felt.body.valve, None)
        state.felt[felt.body.valve] = felt


def _is_solid(entry: AnyEntry) -> bool:
    trouble = entry.when(e.Trouble)
    return trouble is not None and trouble.body.what == WENT_SOLID


def _troubles(state: BuildState, entry: AnyEntry) -> None:
    trouble, right, answered = entry.when(e.Trouble), entry.when(e.PutRight), entry.when(e.Answered)
    if trouble is not None:
        state.troubles[entry.number] = trouble
        for name in trouble.body.about:
            state.by_name[name].open_troubles.add(entry.number)
    elif right is not None:
        solid = state.troubles.pop(right.body.of, None)
        for valve_state in state.valves.values():
            valve_state.open_troubles.discard(right.body.of)
        if solid is not None and _is_solid(solid):
            state.first_move_due = None if right.body.person else right
    elif answered is not None and answered.body.step == NAMED_TROUBLE:
        state.trouble_names[entry.rests_on[0]] = answered.body.answer
    elif answered is not None and answered.body.step == PUT_OFF:
        state.put_off.add(int(answered.body.answer))
    elif answered is not None and answered.body.step == FIRST_MOVE:
        state.first_move_due = None


def _counts(state: BuildState, entry: AnyEntry) -> None:
    _troubles(state, entry)
    step = step_in(entry)
    if step is not None:
        _step(state, step)
    state.not_yet = entry.when(e.NotYet) or state.not_yet
    state.ordered = entry.when(e.Ordered) or state.ordered
    state.closed = None if entry.when(e.Reopened) else entry.when(e.SignedOff) or state.closed


def proof_in(entry: AnyEntry) -> Entry[e.Proved] | Entry[e.IndependentProof] | None:
    """An entry as a proof, by whichever person, or None where it is something else."""
    return entry.when(e.Proved) or entry.when(e.IndependentProof)


def step_in(entry: AnyEntry) -> StepEntry | None:
    """An entry as what answers a step, or None where it is something else."""
    noted = entry.when(e.Noted)
    if noted is not None:
        return noted if noted.body.step else None
    return entry.when(e.Answered) or entry.when(e.Skipped) or entry.when(e.Measured)


def _step(state: BuildState, entry: StepEntry) -> None:
    state.steps[(entry.body.step or "", entry.body.valve or "")] = entry
    state.not_yet = None
    if entry.body.step == RESUME_STEP:
        state.resume_asked = None
    answered = entry.when(e.Answered)
    if answered is not None and answered.body.fills:
        state.answers[answered.body.fills] = answered.body.answer
        if answered.body.fills == Records.HAS_RUN:
            for valve_state in state.valves.values():
                valve_state.as_found = True


def _valve_counts(valve: ValveState, entry: AnyEntry) -> None:
    count = count_in(entry)
    if count is not None:
        _reading(valve, count)
    valve.fitted = entry.when(e.Fitted) or valve.fitted
    valve.received = entry.when(e.Received) or valve.received
    valve.settled = entry.when(e.Settled) or valve.settled
    valve.checked = entry.when(e.Checked) or valve.checked
    valve.drawn = entry.when(e.Drawn) or valve.drawn
    valve.loosened = entry.when(e.BackedOff) or valve.loosened
    _append(valve.accepted, entry.when(e.Accepted))
    _append(valve.proofs, entry.when(e.Proved))
    _append(valve.independent_proofs, entry.when(e.IndependentProof))


def _reading(valve: ValveState, count: Count) -> None:
    read, trial = count.when(e.Read), count.body.phase == "trial"
    _append(valve.gauged, count.when(e.Gauged))
    _append(valve.trials if trial else valve.reads, read)
    if trial:
        _append(valve.trial_outcomes, read or count.when(e.NoClick))
    else:
        valve.last_count = count


def _append(to: list[T], entry: T | None) -> None:
    if entry is not None:
        to.append(entry)
