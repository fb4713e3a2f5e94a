"""Where a build stands: the fold of its entries.

Two readings of the same entries run side by side. What *counts* comes from the
entries that still hold: neither crossed out nor resting on one that is. What
was *done to the engine* comes from all of them: a crossed-out reading still
means that a bolt was turned, so nothing that guards the engine forgets it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime

from heelwise.documents.entries import (
    PASSING,
    Accepted,
    Answered,
    AnyBody,
    AnyEntry,
    BackedOff,
    Ceiling,
    Checked,
    Crank,
    CrankLost,
    CrossedOut,
    Drawn,
    Felt,
    Fitted,
    Gauged,
    HandedOver,
    Held,
    Measured,
    Noted,
    NotYet,
    Ordered,
    Paused,
    Proved,
    ProvedApart,
    Read,
    Received,
    Reopened,
    Resumed,
    Settled,
    SignedOff,
    Skipped,
    Unloaded,
)
from heelwise.valvetrain.valves import Valve
from heelwise.walk.valve_standing import ValveStanding

__all__ = ["RESUME_STEP", "Standing", "ValveStanding", "advance", "fold"]

ROCKER_DOWN = "rocker_down"
"""What the step fills by which a rocker is drawn down on trial gear."""

STEP_BODIES = (Answered, Skipped, Measured)


@dataclass
class Standing:
    """The fold of a record's entries. Made by `fold`, carried on by `advance`."""

    valves: dict[Valve, ValveStanding]
    by_name: dict[str, ValveStanding]
    entries: list[AnyEntry] = field(default_factory=list)
    crossed: dict[int, AnyEntry] = field(default_factory=dict)
    void: set[int] = field(default_factory=set)
    steps: dict[tuple[str, str], AnyEntry] = field(default_factory=dict)
    fills: dict[str, str] = field(default_factory=dict)
    not_yet: AnyEntry | None = None
    crank: AnyEntry | None = None
    lost: AnyEntry | None = None
    felt: dict[str, AnyEntry] = field(default_factory=dict)
    resume_asked: AnyEntry | None = None
    resumed_at: int = 0
    load_times: dict[Valve, datetime] = field(default_factory=dict)
    trial_loaded: set[Valve] = field(default_factory=set)
    trial_in: set[Valve] = field(default_factory=set)
    ordered: AnyEntry | None = None
    closed: AnyEntry | None = None
    by: str = ""

    @property
    def last(self) -> AnyEntry | None:
        """The latest entry."""
        return self.entries[-1] if self.entries else None

    @property
    def crank_deg(self) -> float | None:
        """Where the crank stands, or None when it is not known."""
        return self.crank.body.at_deg if self.crank and isinstance(self.crank.body, Crank) else None

    @property
    def lifters(self) -> str:
        """The lifters' condition as answered; the most careful one until it is known."""
        return self.fills.get("lifter_condition", "used")

    def valve(self, valve: Valve) -> ValveStanding:
        """One valve's standing."""
        return self.valves[valve]

    def step(self, step: str, valve: Valve | None = None) -> AnyEntry | None:
        """The latest entry that answers a step and still counts."""
        return self.steps.get((step, str(valve) if valve else ""))

    def counts(self, entry: AnyEntry) -> bool:
        """Whether an entry is neither crossed out nor resting on one that is."""
        return entry.number not in self.void


def fold(valves: Iterable[Valve], entries: Iterable[AnyEntry]) -> Standing:
    """Fold entries into a standing.

    Args:
        valves: The engine's valves.
        entries: The record's entries in order; number, not time, is the order.

    Returns:
        The standing. Linear in the number of entries.
    """
    known = list(entries)
    per_valve = {v: ValveStanding(v) for v in valves}
    standing = Standing(valves=per_valve, by_name={str(v): s for v, s in per_valve.items()})
    standing.crossed, standing.void = _voids(known)
    for entry in known:
        _apply(standing, entry)
    return standing


def advance(standing: Standing, entry: AnyEntry) -> Standing:
    """Carry a standing on by one entry (the given one is used up)."""
    if isinstance(entry.body, CrossedOut):
        return fold(standing.valves, [*standing.entries, entry])
    _apply(standing, entry)
    return standing


def _voids(entries: list[AnyEntry]) -> tuple[dict[int, AnyEntry], set[int]]:
    crossed = {e.body.of: e for e in entries if isinstance(e.body, CrossedOut)}
    void: set[int] = set()
    for entry in entries:
        if entry.number in crossed or any(n in void for n in entry.rests_on):
            void.add(entry.number)
    return crossed, void


def _apply(standing: Standing, entry: AnyEntry) -> None:
    holds = standing.counts(entry)
    standing.by = entry.body.to if isinstance(entry.body, HandedOver) else entry.by
    standing.entries.append(entry)
    _done_to_engine(standing, entry, holds)
    _crank(standing, entry, holds)
    if holds:
        _counts(standing, entry)


def _about(standing: Standing, entry: AnyEntry) -> list[ValveStanding]:
    named = getattr(entry.body, "valves", None) or [getattr(entry.body, "valve", None)]
    return [standing.by_name[name] for name in named if name in standing.by_name]


def _done_to_engine(standing: Standing, entry: AnyEntry, holds: bool) -> None:
    """What hands did, whether or not the entry still counts."""
    for one in _about(standing, entry):
        one.history.append(entry)
        _done_to_valve(standing, one, entry, holds)
        _trial_gear(standing, one.valve, entry.body, holds)


def _done_to_valve(standing: Standing, one: ValveStanding, entry: AnyEntry, holds: bool) -> None:
    body = entry.body
    if isinstance(body, Read | Ceiling | Gauged):
        one.touched = one.tightened = entry.number
        one.struck_counts += 0 if holds else 1
        if not isinstance(body, Gauged):
            standing.load_times[one.valve] = entry.at
        if body.phase == "trial":
            standing.trial_loaded.add(one.valve)
    elif isinstance(body, Drawn):
        one.touched = one.tightened = entry.number
        standing.load_times[one.valve] = entry.at
    elif isinstance(body, Checked):
        one.tightened = entry.number
        standing.trial_loaded.add(one.valve)
    elif isinstance(body, BackedOff | Unloaded | Fitted) or _another_pushrod(one, body):
        one.touched = one.slackened = entry.number
        if holds:
            standing.load_times.pop(one.valve, None)
            standing.trial_loaded.discard(one.valve)
    elif isinstance(body, Held) and holds:
        standing.load_times.pop(one.valve, None)
    elif isinstance(body, Proved | ProvedApart):
        _proof_failed(standing, one, entry, body.outcome)


def _trial_gear(standing: Standing, valve: Valve, body: AnyBody, holds: bool) -> None:
    """Where trial gear is in, its rocker may be down though nothing was read of it yet."""
    down = isinstance(body, Answered) and body.fills == ROCKER_DOWN
    if down or (isinstance(body, Fitted) and body.phase == "trial"):
        standing.trial_in.add(valve)
    elif isinstance(body, BackedOff | Fitted) and holds:
        standing.trial_in.discard(valve)


def _another_pushrod(one: ValveStanding, body: AnyBody) -> bool:
    """Whether a valve already counted has another pushrod measured for it, the old one out."""
    return isinstance(body, Received) and one.last_count is not None


def _proof_failed(standing: Standing, one: ValveStanding, entry: AnyEntry, outcome: str) -> None:
    """What a proof that does not stand did: a bolt that moved loaded its lifter again."""
    if outcome not in PASSING:
        one.touched = entry.number
    if outcome == "moved":
        standing.load_times[one.valve] = entry.at


def _crank(standing: Standing, entry: AnyEntry, holds: bool) -> None:
    body = entry.body
    if isinstance(body, Crank):
        standing.crank = entry if holds else None
        standing.lost = None if holds else entry
        standing.felt = {}
        standing.resume_asked = None
    elif isinstance(body, CrankLost) and holds:
        standing.crank, standing.lost, standing.felt = None, entry, {}
        standing.resume_asked = None
    elif isinstance(body, Paused | Resumed | Reopened):
        standing.resume_asked = entry
        standing.resumed_at = entry.number
    elif isinstance(body, Felt) and holds:
        standing.felt.pop(body.valve, None)
        standing.felt[body.valve] = entry


def _counts(standing: Standing, entry: AnyEntry) -> None:
    """What the entry says, while it counts."""
    body = entry.body
    if isinstance(body, STEP_BODIES) or (isinstance(body, Noted) and body.step):
        _step(standing, entry)
    elif isinstance(body, NotYet):
        standing.not_yet = entry
    elif isinstance(body, Ordered):
        standing.ordered = entry
    elif isinstance(body, SignedOff):
        standing.closed = entry
    elif isinstance(body, Reopened):
        standing.closed = None
    for one in _about(standing, entry):
        _valve_counts(one, entry)


def _step(standing: Standing, entry: AnyEntry) -> None:
    body = entry.body
    assert isinstance(body, Answered | Skipped | Measured | Noted)
    standing.steps[(body.step or "", body.valve or "")] = entry
    standing.not_yet = None
    if body.step == RESUME_STEP:
        standing.resume_asked = None
    if isinstance(body, Answered) and body.fills:
        standing.fills[body.fills] = body.answer
        if body.fills == "has_run":
            for one in standing.valves.values():
                one.as_found = True


def _valve_counts(one: ValveStanding, entry: AnyEntry) -> None:
    body = entry.body
    if isinstance(body, Read | Ceiling | Gauged):
        _reading(one, entry)
    elif isinstance(body, Accepted):
        one.accepted.append(entry)
    elif isinstance(body, Proved):
        one.proofs.append(entry)
    elif isinstance(body, ProvedApart):
        one.apart.append(entry)
    elif isinstance(body, BackedOff):
        one.loosened = entry
    elif type(body) in _LATEST:
        setattr(one, _LATEST[type(body)], entry)


_LATEST = {
    Fitted: "fitted",
    Received: "received",
    Settled: "settled",
    Checked: "checked",
    Drawn: "drawn",
}
"""Of these the latest one counts."""


def _reading(one: ValveStanding, entry: AnyEntry) -> None:
    body = entry.body
    assert isinstance(body, Read | Ceiling | Gauged)
    if isinstance(body, Read):
        (one.trials if body.phase == "trial" else one.reads).append(entry)
    elif isinstance(body, Gauged):
        one.gauged.append(entry)
    if body.phase != "trial":
        one.last_count = entry


RESUME_STEP = "walk/resume"
