"""Where a build stands: the fold of its entries, for the whole and valve by valve.

Two readings of the same entries run side by side. What *counts* comes from the entries that still
hold: neither crossed out nor resting on one that is. What was *done to the engine* comes from all
of them: a crossed-out reading still means that a bolt was turned, so nothing that guards the
engine forgets it.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime

from heelwise.documents import entries as e
from heelwise.documents.entries import AnyBody, AnyEntry
from heelwise.documents.entry_base import PASSING, Entry, Proof
from heelwise.documents.steps import Records
from heelwise.valvetrain.engine import Valve

RESUME_STEP = "walk/resume"
WENT_SOLID = "the crank went solid"
UNNAMED = "something is wrong"  # what a trouble is called before it is chosen from the list
NAMED_TROUBLE = "walk/trouble"
PUT_OFF = "walk/trouble-later"
FIRST_MOVE = "walk/first-move"

Count = Entry[e.Read] | Entry[e.Gauged] | Entry[e.NoClick]
"""A valve read: turns, a gap, or a count that was ended without a click."""
StepEntry = Entry[e.Answered] | Entry[e.Skipped] | Entry[e.Measured] | Entry[e.Noted]
"""What answers a step of the procedure."""


@dataclass
class ValveState:
    """One valve: what was read of it that still counts, and what was done to it.

    `touched`, `tightened`, `slackened`: the last entry by which its bolt or adjuster was
    moved at all, was tightened, was slackened. `as_found`: it came tightened, in an
    engine that has run. `last_trial`: its latest trial reading or count without a click.
    """

    valve: Valve
    trials: list[Entry[e.Read]] = field(default_factory=list)
    last_trial: Count | None = None
    reads: list[Entry[e.Read]] = field(default_factory=list)
    gauged: list[Entry[e.Gauged]] = field(default_factory=list)
    checked: Entry[e.Checked] | None = None
    drawn: Entry[e.Drawn] | None = None
    unloaded: Entry[e.Unloaded] | None = None
    fitted: Entry[e.Fitted] | None = None
    received: Entry[e.Received] | None = None
    accepted: list[Entry[e.Accepted]] = field(default_factory=list)
    proofs: list[Entry[e.Proved]] = field(default_factory=list)
    independent_proofs: list[Entry[e.IndependentProof]] = field(default_factory=list)
    settled: Entry[e.Settled] | None = None
    history: list[AnyEntry] = field(default_factory=list)
    last_count: Count | None = None
    loosened: Entry[e.BackedOff] | None = None
    touched: int = 0
    tightened: int = 0
    slackened: int = 0
    set_at: int = 0
    struck_counts: int = 0
    open_troubles: set[int] = field(default_factory=set)
    as_found: bool = False

    @property
    def standing_count(self) -> Entry[e.Read] | Entry[e.Gauged] | None:
        """The latest count or gauging, where it still describes the valve as it is."""
        last = self.last_reading
        return last if last is not None and last.number >= self.touched else None

    @property
    def last_reading(self) -> Entry[e.Read] | Entry[e.Gauged] | None:
        """The latest count, unless it was ended without a click."""
        last = self.last_count
        return (last.when(e.Read) or last.when(e.Gauged)) if last else None

    @property
    def reading(self) -> Entry[e.Read] | None:
        """The latest reading in the engine that still counts (not a trial)."""
        return self.reads[-1] if self.reads else None

    @property
    def acceptance(self) -> Entry[e.Accepted] | None:
        """The acceptance of the latest count, if it was accepted as is."""
        return self.acceptance_of(self.last_count.number) if self.last_count else None

    def acceptance_of(self, number: int) -> Entry[e.Accepted] | None:
        """The acceptance of an entry of this valve, or None."""
        return next((a for a in self.accepted if a.body.of == number), None)

    @property
    def settled_count(self) -> bool:
        """Whether the count stands and is inside its window or accepted as is."""
        count = self.standing_count
        return count is not None and (count.body.verdict == "inside" or self.acceptance is not None)

    @property
    def untouched(self) -> bool:
        """Whether it is as it was found in an engine that has run."""
        return self.as_found and not self.touched

    @property
    def proof(self) -> Entry[e.Proved] | None:
        """The proof that still holds: made after the valve was last touched."""
        ready = (self.settled_count or self.untouched) and not self.open_troubles
        last = self.proofs[-1] if self.proofs and ready else None
        holds = last and last.body.outcome in PASSING and last.number >= self.touched
        return last if holds else None

    @property
    def independent_proof(self) -> Entry[e.IndependentProof] | None:
        """The second proof that still holds, by another person than the first."""
        proof = self.proof
        if proof is None or not self.independent_proofs:
            return None
        last = self.independent_proofs[-1]
        passed = last.body.outcome in PASSING and last.number > proof.number
        return last if passed and not same_person(last.by, proof.by) else None

    @property
    def recounted(self) -> bool:
        """Whether the valve was counted again from zero lash as one of the sample."""
        return any(entry.body.recount for entry in self.reads)

    @property
    def rocker_down(self) -> bool:
        """Whether its rocker may hold its valve open: tightened and not slackened since."""
        return self.tightened > self.slackened or self.untouched

    @property
    def loosened_for(self) -> str:
        """Why the rocker is slack now, or an empty text when it is not."""
        slack = self.loosened is not None and self.loosened.number >= self.tightened
        return self.loosened.body.why if self.loosened and slack else ""

    @property
    def given_pushrod(self) -> Entry[e.Fitted] | Entry[e.Received] | None:
        """What gave the pushrod meant for it in Fit: the one fitted last, or received."""
        own = self.fitted is not None and self.fitted.body.phase != "trial"
        return self.fitted if own else self.received


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
    lost: bool = False
    felt: dict[str, Entry[e.Felt]] = field(default_factory=dict)
    resume_asked: bool = False
    resumed_at: int = 0
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
        return next((t for t in self.troubles.values() if is_solid(t.body)), None)

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
    crossings = (entry.when(e.CrossedOut) for entry in known)
    state.crossed = {crossed.body.of: crossed for crossed in crossings if crossed}
    for entry in known:
        if entry.number in state.crossed or not state.void.isdisjoint(entry.rests_on):
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


def is_solid(body: AnyBody) -> bool:
    """Whether an entry says that the crank went solid."""
    return isinstance(body, e.Trouble) and body.what == WENT_SOLID


def same_person(initials: str, other: str) -> bool:
    """Whether two sets of initials name one person."""
    return initials.strip().casefold() == other.strip().casefold()


_TIGHTENS = (e.Read, e.NoClick, e.Gauged, e.Drawn, e.Checked)
_LOADS = (e.Read, e.NoClick, e.Drawn)
_SLACKENS = (e.BackedOff, e.Unloaded, e.Fitted)
_LATEST: Mapping[type[AnyBody], str] = {
    e.Fitted: "fitted",
    e.Received: "received",
    e.Settled: "settled",
    e.Checked: "checked",
    e.Drawn: "drawn",
    e.Unloaded: "unloaded",
    e.BackedOff: "loosened",
}
"""The field of a valve's state that holds the latest entry of a kind."""
_EVERY: Mapping[type[AnyBody], str] = {
    e.Gauged: "gauged",
    e.Accepted: "accepted",
    e.Proved: "proofs",
    e.IndependentProof: "independent_proofs",
}
"""The field that holds every entry of a kind."""


def _apply(state: BuildState, entry: AnyEntry) -> None:
    body, holds = entry.body, state.counts(entry)
    state.by = body.to if isinstance(body, e.HandedOver) else entry.by
    state.entries.append(entry)
    _crank(state, entry, holds)
    if holds:
        _troubles(state, entry)
        _answers(state, entry)
    for of in (state.by_name[name] for name in body.about if name in state.by_name):
        of.history.append(entry)
        _done_to_valve(state, of, entry, holds)
        if holds:
            _valve_counts(of, entry)


def _done_to_valve(state: BuildState, of: ValveState, entry: AnyEntry, holds: bool) -> None:
    body, number, valve = entry.body, entry.number, of.valve
    count = isinstance(body, e.Read | e.NoClick | e.Gauged)
    tightens, slackens = isinstance(body, _TIGHTENS), isinstance(body, _SLACKENS)
    slackens = slackens or (isinstance(body, e.Received) and of.last_count is not None)
    outcome = body.outcome if isinstance(body, Proof) else ""
    if tightens:
        of.tightened = number
    if slackens:
        of.slackened = number
    if slackens or (tightens and not isinstance(body, e.Checked)) or outcome not in ("", *PASSING):
        of.touched = number
    if isinstance(body, e.Read) or (isinstance(body, e.Gauged) and not body.locked):
        of.set_at = number
    of.struck_counts += count and not holds
    if isinstance(body, _LOADS) or outcome == "moved":  # a bolt that moved loaded its lifter again
        state.load_times[valve] = entry.at
    elif holds and (slackens or isinstance(body, e.Held)):
        state.load_times.pop(valve, None)
    _trial_gear(state, valve, body, slackens and holds)


def _trial_gear(state: BuildState, valve: Valve, body: AnyBody, off: bool) -> None:
    trial = getattr(body, "phase", "") == "trial"
    if isinstance(body, e.Checked) or (trial and isinstance(body, _TIGHTENS)):
        state.trial_loaded.add(valve)
    elif off:
        state.trial_loaded.discard(valve)
    rocker_down = isinstance(body, e.Answered) and body.fills == Records.ROCKER_DOWN
    if rocker_down or (isinstance(body, e.Fitted) and trial):
        state.trial_in.add(valve)
    elif off and isinstance(body, e.BackedOff | e.Fitted):
        state.trial_in.discard(valve)


def _crank(state: BuildState, entry: AnyEntry, holds: bool) -> None:
    body, placed, felt = entry.body, entry.when(e.Crank), entry.when(e.Felt)
    if placed or (holds and isinstance(body, e.CrankLost)) or is_solid(body):
        state.crank = placed if holds else None
        state.lost = state.crank is None
        state.felt = {}
        state.resume_asked = False
    elif isinstance(body, e.Paused | e.Resumed | e.Reopened):
        state.resume_asked = True
        state.resumed_at = entry.number
    elif felt is not None and holds:
        state.felt.pop(felt.body.valve, None)
        state.felt[felt.body.valve] = felt


def _troubles(state: BuildState, entry: AnyEntry) -> None:
    trouble, right, answered = entry.when(e.Trouble), entry.when(e.PutRight), entry.when(e.Answered)
    if trouble is not None:
        state.troubles[entry.number] = trouble
        state.trouble_names[entry.number] = trouble.body.what
        for name in trouble.body.about:
            state.by_name[name].open_troubles.add(entry.number)
    elif right is not None:
        solid = state.troubles.pop(right.body.of, None)
        for valve_state in state.valves.values():
            valve_state.open_troubles.discard(right.body.of)
        if solid is not None and is_solid(solid.body):
            state.first_move_due = None if right.body.person else right
    elif answered is not None and answered.body.step == NAMED_TROUBLE:
        state.trouble_names[entry.rests_on[0]] = answered.body.answer
    elif answered is not None and answered.body.step == PUT_OFF:
        state.put_off.add(int(answered.body.answer))
    elif answered is not None and answered.body.step == FIRST_MOVE:
        state.first_move_due = None


def _answers(state: BuildState, entry: AnyEntry) -> None:
    answered, noted = entry.when(e.Answered), entry.when(e.Noted)
    answer: StepEntry | None = answered or noted
    answer = answer or entry.when(e.Skipped) or entry.when(e.Measured)
    if answer is not None and answer.body.step:
        state.steps[(answer.body.step, answer.body.valve or "")] = answer
        state.not_yet = None
        state.resume_asked = state.resume_asked and answer.body.step != RESUME_STEP
    if answered is not None and answered.body.fills:
        state.answers[answered.body.fills] = answered.body.answer
        for valve_state in state.valves.values():
            valve_state.as_found |= answered.body.fills == Records.HAS_RUN
    state.not_yet = entry.when(e.NotYet) or state.not_yet
    state.ordered = entry.when(e.Ordered) or state.ordered
    state.closed = None if entry.when(e.Reopened) else entry.when(e.SignedOff) or state.closed


def _valve_counts(of: ValveState, entry: AnyEntry) -> None:
    kind, read = type(entry.body), entry.when(e.Read)
    count: Count | None = read or entry.when(e.Gauged) or entry.when(e.NoClick)
    trial = count is not None and count.body.phase == "trial"
    if read is not None:
        (of.trials if trial else of.reads).append(read)
    if trial:
        of.last_trial = count
    else:
        of.last_count = count or of.last_count
    if kind in _LATEST:
        setattr(of, _LATEST[kind], entry)
    elif kind in _EVERY:
        getattr(of, _EVERY[kind]).append(entry)
