"""Where one valve stands: what was read of it that still counts, and what was done to it."""

from __future__ import annotations

from dataclasses import dataclass, field

from heelwise.documents.entries import (
    PASSING,
    Accepted,
    AnyEntry,
    BackedOff,
    Gauged,
    Proved,
    ProvedApart,
    Read,
)
from heelwise.valvetrain.valves import Valve


@dataclass
class ValveStanding:
    """One valve: what was read of it that still counts, and what was done to it.

    `touched`, `tightened`, `slackened`: the last entry by which its bolt or adjuster was
    moved at all, was tightened, was slackened. `as_found`: it came tightened, in an
    engine that has run.
    """

    valve: Valve
    trials: list[AnyEntry] = field(default_factory=list)
    reads: list[AnyEntry] = field(default_factory=list)
    gauged: list[AnyEntry] = field(default_factory=list)
    checked: AnyEntry | None = None
    drawn: AnyEntry | None = None
    fitted: AnyEntry | None = None
    received: AnyEntry | None = None
    accepted: list[AnyEntry] = field(default_factory=list)
    proofs: list[AnyEntry] = field(default_factory=list)
    apart: list[AnyEntry] = field(default_factory=list)
    settled: AnyEntry | None = None
    history: list[AnyEntry] = field(default_factory=list)
    last_count: AnyEntry | None = None
    loosened: AnyEntry | None = None
    touched: int = 0
    tightened: int = 0
    slackened: int = 0
    struck_counts: int = 0
    as_found: bool = False

    @property
    def count_stands(self) -> bool:
        """Whether the latest count or gauging still describes the valve as it is."""
        if self.last_count is None or not isinstance(self.last_count.body, Read | Gauged):
            return False
        return self.last_count.number >= self.touched

    @property
    def reading(self) -> AnyEntry | None:
        """The latest reading in the engine that still counts (not a trial)."""
        return self.reads[-1] if self.reads else None

    @property
    def acceptance(self) -> AnyEntry | None:
        """The acceptance of the latest count, if it was accepted as is."""
        if self.last_count is None:
            return None
        number = self.last_count.number
        return next((a for a in self.accepted if _of(a) == number), None)

    @property
    def settled_count(self) -> bool:
        """Whether the count stands and is inside its window or accepted as is."""
        if not self.count_stands or self.last_count is None:
            return False
        body = self.last_count.body
        inside = isinstance(body, Read | Gauged) and body.verdict == "inside"
        return inside or self.acceptance is not None

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
        if self.last_count is None or self.settled_count:
            return False
        return self.last_count.number >= self.touched

    @property
    def set_at(self) -> int:
        """The entry by which it was last set: counted or gauged, not gauged again once locked."""
        for entry in reversed(self.history):
            body = entry.body
            if isinstance(body, Read) or (isinstance(body, Gauged) and not body.locked):
                return entry.number
        return 0

    @property
    def proof(self) -> AnyEntry | None:
        """The proof that still holds: made after the valve was last touched."""
        if not self.proofs or not self.ready:
            return None
        last = self.proofs[-1]
        passed = isinstance(last.body, Proved) and last.body.outcome in PASSING
        return last if passed and last.number >= self.touched else None

    @property
    def proved_apart(self) -> AnyEntry | None:
        """The second proof that still holds, by another person than the first."""
        proof = self.proof
        if proof is None or not self.apart:
            return None
        last = self.apart[-1]
        passed = isinstance(last.body, ProvedApart) and last.body.outcome in PASSING
        other = not same_person(last.by, proof.by)
        return last if passed and other and last.number > proof.number else None

    @property
    def recounted(self) -> bool:
        """Whether the valve was counted again from zero lash as one of the sample."""
        return any(isinstance(e.body, Read) and e.body.recount for e in self.reads)

    @property
    def loosened_for(self) -> str:
        """Why the rocker is slack now, or an empty text when it is not."""
        if self.loosened is None or self.loosened.number < self.tightened:
            return ""
        return self.loosened.body.why if isinstance(self.loosened.body, BackedOff) else ""


def same_person(one: str, other: str) -> bool:
    """Whether two sets of initials name one person."""
    return one.strip().casefold() == other.strip().casefold()


def _of(entry: AnyEntry) -> int:
    return entry.body.of if isinstance(entry.body, Accepted) else 0
