"""One record in short: its phase, how far it is, its lengths, who, when, what is outstanding."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Protocol

from heelwise.documents.entries import AnyEntry, SignedOff
from heelwise.documents.entry_base import Entry
from heelwise.documents.record import Head
from heelwise.documents.steps import Phase
from heelwise.valvetrain.engine import Valve
from heelwise.walk.scene import Scene, scene_of
from heelwise.walk.valve_state import ValveState
from heelwise.walk.walker import phase_of
from heelwise.wording import counted, listed

SIGNED_OFF = "signed off"


class AnyRecord(Protocol):
    """A record as read, or one open for work."""

    @property
    def head(self) -> Head:
        """What never changes in it."""

    @property
    def entries(self) -> tuple[AnyEntry, ...]:
        """Its entries in order."""


@dataclass(frozen=True)
class Summary:
    """What there is to say of a record in a line or two."""

    scene: Scene

    @cached_property
    def phase(self) -> Phase:
        """The phase it is in; a closed record's is Sign off."""
        return phase_of(self.scene)

    @property
    def closed(self) -> Entry[SignedOff] | None:
        """The signature, where it is signed off."""
        return self.scene.state.closed

    @property
    def phase_text(self) -> str:
        """The phase in words: "signed off" once it is closed."""
        return SIGNED_OFF if self.closed else self.phase

    @property
    def by(self) -> str:
        """Who worked on it last."""
        return self.scene.state.by

    @property
    def began(self) -> datetime:
        """When it was begun."""
        return self.scene.state.entries[0].at

    @property
    def last(self) -> datetime:
        """When its last entry was made."""
        return self.scene.state.entries[-1].at

    @cached_property
    def valves(self) -> tuple[ValveState, ...]:
        """Every valve's state, in the engine's order."""
        return tuple(self.scene.state.valves.values())

    @property
    def total(self) -> int:
        """How many valves there are."""
        return len(self.valves)

    @cached_property
    def tried(self) -> int:
        """Valves tried with a trial or checking pushrod."""
        return sum(bool(v.trials) or v.checked is not None for v in self.valves)

    @cached_property
    def counted(self) -> int:
        """Valves whose count or gauging stands."""
        return sum(v.count_stands for v in self.valves)

    @cached_property
    def proved(self) -> int:
        """Valves whose proof stands."""
        return sum(v.proof is not None for v in self.valves)

    @property
    def done(self) -> int:
        """Valves proved, or else read, or else tried."""
        return self.proved or self.counted or self.tried

    @property
    def progress(self) -> str:
        """How far it is: "7 of 16 proved"."""
        if self.proved:
            return f"{self.proved} of {self.total} proved"
        if self.tried and not self.counted:
            return f"{self.tried} tried, 0 of {self.total} read"
        return f"{self.counted} of {self.total} read"

    @cached_property
    def lengths(self) -> tuple[tuple[str, tuple[Valve, ...]], ...]:
        """The pushrods fitted, received or ordered, as typed, each length with its valves."""
        by_length: dict[str, list[Valve]] = {}
        for valve_state in self.valves:
            text = self.scene.pushrod_text(valve_state)
            by_length.setdefault(text, []).append(valve_state.valve)
        return tuple((text, tuple(valves)) for text, valves in by_length.items())

    @cached_property
    def outstanding(self) -> tuple[str, ...]:
        """What stands open now, beyond the walk's own next step."""
        return tuple(self._outstanding())

    def _outstanding(self) -> Iterable[str]:
        state = self.scene.state
        outside = [v.valve for v in self.valves if v.count_stands and not v.settled_count]
        if outside:
            yield f"{listed(outside)} outside the window"
        for trouble in state.troubles.values():
            about = f"{trouble.body.valve}: " if trouble.body.valve else ""
            yield f"{about}{state.trouble_name(trouble)}"
        if state.lost is not None and state.crank is None:
            yield "the crank's place is not known"

    @property
    def accepted(self) -> tuple[Valve, ...]:
        """Valves whose reading was accepted as is."""
        return tuple(v.valve for v in self.valves if v.settled_count and v.acceptance)

    @property
    def result(self) -> str:
        """One line of result: "16 proved, 16 inside, 3 near a limit, 1 accepted as is"."""
        counts = [s.standing_count for s in self.valves]
        inside = sum(c is not None and c.body.verdict == "inside" for c in counts)
        near = sum(c is not None and c.body.near for c in counts)
        parts = [f"{self.proved} proved", f"{inside} inside"]
        parts += [f"{near} near a limit"] if near else []
        parts += [f"{counted(len(self.accepted), 'valve')} accepted as is"] if self.accepted else []
        return ", ".join(parts)


def summary_of(record: AnyRecord) -> Summary:
    """A record, read or open for work, in short."""
    return Summary(scene_of(record.head.setup, record.head.procedure, record.entries))
