"""Rehearsals as they are shipped, in memory: the scenario's setup, its faults and its slips."""

from __future__ import annotations

from heelwise.rehearsal.scenario import (
    DEFAULT_CARD,
    DEFAULT_PROCEDURE,
    EngineFault,
    HandSlip,
    Planted,
    procedure_called,
    setup_by,
)
from tests.walk.driving import Drive


def rehearsed(
    card: str = DEFAULT_CARD,
    seed: int = 1,
    planted: tuple[Planted, ...] | None = None,
    name: str = DEFAULT_PROCEDURE,
) -> Drive:
    """A drive of the shipped scenario; everything planted that the seed says, unless given."""
    return Drive(
        card, seed, planted, name, setup=setup_by(card, procedure_called(name)), shipped=True
    )


def no_faults(card: str = "i4-1342", seed: int = 0, name: str = DEFAULT_PROCEDURE) -> Drive:
    return rehearsed(card, seed, (), name)


def with_fault(
    fault: EngineFault | HandSlip,
    valve: str,
    card: str = "v8-15426378",
    seed: int = 1,
    name: str = DEFAULT_PROCEDURE,
) -> Drive:
    return rehearsed(card, seed, (Planted.parse(f"{valve}: {fault.value}"),), name)
