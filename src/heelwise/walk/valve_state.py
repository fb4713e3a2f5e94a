"""Where one valve stands: what was read of it that still counts, and what was done to it."""

from __future__ import annotations

from dataclasses import dataclass, field

from heelwise.documents import entries as e
from heelwise.documents.entries import AnyEntry
from heelwise.documents.entry_base import PASSING, Entry
from heelwise.valvetrain.engine import Valve

Count = Entry[e.Read] | Entry[e.Gauged] | Entry[e.NoClick]
"""A valve read: turns, a gap, or a count that was ended without a click."""


def count_in(entry: AnyEntry) -> Count | None:
    """An entry as a valve's count, or None where it is something else."""
    return entry.when(e.Read) or entry.when(e.Gauged) or entry.when(e.NoClick)


@dataclass
class ValveState:
    """One valve: what was read of it that still counts, and what was done to it.

    `touched`, `tightened`, `slackened`: the last entry by which its bolt or adjuster was
    moved at all, was tightened, was slackened. `as_found`: it came tightened, in an
    engine that has run. `trial_outcomes`: its trial readings and counts without a click.
    """

    valve: Valve
    trials: list[Entry[e.Read]] = field(default_factory=list)
    trial_outcomes: list[Entry[e.Read] | Entry[e.NoClick]] = field(default_factory=list)
    reads: list[Entry[e.Read]] = field(default_factory=list)
    gauged: list[Entry[e.Gauged]] = field(default_factory=list)
    checked: Entry[e.Checked] | None = None
    drawn: Entry[e.Drawn] | None = None
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
    def count_stands(self) -> bool:
        """Whether the latest count or gauging still describes the valve as it is."""
        return self.standing_count is not None

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
    def ready(self) -> bool:
        """Whether its proof can be asked: counted and settled, or untouched as found."""
        return self.settled_count or self.untouched

    @property
    def untouched(self) -> bool:
        """Whether it is as it was found in an engine that has run."""
        return self.as_found and not self.touched

    @property
    def outside(self) -> bool:
        """Whether its latest count stands and needs a decision: outside, or ended."""
        last = self.last_count
        return last is not None and not self.settled_count and last.number >= self.touched

    @property
    def proof(self) -> Entry[e.Proved] | None:
        """The proof that still holds: made after the valve was last touched."""
        if not self.proofs or not self.ready or self.open_troubles:
            return None
        last = self.proofs[-1]
        return last if last.body.outcome in PASSING and last.number >= self.touched else None

    @property
    def independent_proof(self) -> Entry[e.IndependentProof] | None:
        """The second proof that still holds, by another person than the first."""
        proof = self.proof
        if proof is None or not self.independent_proofs:
            return None
        last = self.independent_proofs[-1]
        other = not same_person(last.by, proof.by)
        holds = last.body.outcome in PASSING and last.number > proof.number
        return last if holds and other else None

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
        if self.loosened is None or self.loosened.number < self.tightened:
            return ""
        return self.loosened.body.why

    @property
    def given_pushrod(self) -> Entry[e.Fitted] | Entry[e.Received] | None:
        """What gave the pushrod meant for it in Fit: the one fitted last, or received."""
        own = self.fitted is not None and self.fitted.body.phase != "trial"
        return self.fitted if own else self.received


def same_person(initials: str, other: str) -> bool:
    """Whether two sets of initials name one person."""
    return initials.strip().casefold() == other.strip().casefold()
