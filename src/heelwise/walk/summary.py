"""One record in short: its phase, how far it is, its lengths, who, when, what is outstanding."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from heelwise.documents.entries import AnyEntry
from heelwise.documents.record import Head
from heelwise.documents.steps import Phase
from heelwise.valvetrain.engine import Valve
from heelwise.walk.scene import Scene, scene_of
from heelwise.walk.walker import phase_of
from heelwise.wording import listed


class AnyRecord(Protocol):
    """A record as read, or one open for work."""

    @property
    def head(self) -> Head:
        """What never changes in it."""

    @property
    def entries(self) -> Sequence[AnyEntry]:
        """Its entries in order."""


@dataclass(frozen=True)
class Summary:
    """What there is to say of a record in a line or two.

    `done` of `total` valves are as far as `progress` says. `lengths`: pushrods fitted, received
    or meant, as typed, each with its valves.
    """

    scene: Scene
    phase: Phase
    closed: bool
    done: int
    total: int
    progress: str
    by: str
    began: datetime
    last: datetime
    lengths: tuple[tuple[str, tuple[Valve, ...]], ...]
    outstanding: tuple[str, ...]

    @property
    def phase_text(self) -> str:
        """The phase in words: "signed off" once it is closed."""
        return "signed off" if self.closed else self.phase


def summary_of(record: AnyRecord) -> Summary:
    """A record, read or open for work, in short."""
    scene = scene_of(record.head.setup, record.head.procedure, record.entries)
    done, progress = _progress(scene)
    by_length: dict[str, list[Valve]] = {}
    for valve_state in scene.state.valves.values():
        by_length.setdefault(scene.pushrod_text(valve_state), []).append(valve_state.valve)
    return Summary(
        scene=scene,
        phase=phase_of(scene),
        closed=scene.state.closed is not None,
        done=done,
        total=len(scene.state.valves),
        progress=progress,
        by=scene.state.by,
        began=record.entries[0].at,
        last=record.entries[-1].at,
        lengths=tuple((text, tuple(valves)) for text, valves in by_length.items()),
        outstanding=outstanding(scene),
    )


def _progress(scene: Scene) -> tuple[int, str]:
    states = scene.state.valves.values()
    proved = sum(each.proof is not None for each in states)
    read = sum(bool(each.standing_count) for each in states)
    tried = sum(bool(each.trials) or each.checked is not None for each in states)
    if proved:
        return proved, f"{proved} of {len(states)} proved"
    if tried and not read:
        return tried, f"{tried} tried, 0 of {len(states)} read"
    return read, f"{read} of {len(states)} read"


def outstanding(scene: Scene) -> tuple[str, ...]:
    """What stands open now, beyond the walk's own next step."""
    state = scene.state
    valves = state.valves.items()
    outside = [v for v, each in valves if each.standing_count and not each.settled_count]
    found = [f"{listed(outside)} outside the window"] if outside else []
    for trouble in state.troubles.values():
        about = f"{trouble.body.valve}: " if trouble.body.valve else ""
        found.append(f"{about}{state.trouble_names[trouble.number]}")
    if state.lost is not None and state.crank is None:
        found.append("the crank's place is not known")
    return tuple(found)
