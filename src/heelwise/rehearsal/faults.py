"""Faults planted in a rehearsal: which, where, and how they are written in [build]."""

from __future__ import annotations

import random
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from heelwise.documents.methods import DEFAULT
from heelwise.valvetrain.engine import Valve


class EngineFault(StrEnum):
    """What can be wrong with one valve of the virtual engine."""

    NOT_SEATED = "pushrod not in the lifter cup"
    LENGTH_OFF = "stands a length off"
    UP_THE_LOBE = "first counted a little up its lobe"
    BOLT_MOVES = "bolt moves in the proof"
    LOCK_SLIPS = "lock slips"
    PLAY_LEFT = "play left on its heel"
    SHIFTS = "adjuster shifts as it is locked"
    UNEVEN = "stand not drawn down evenly"
    SOLID_LEFT_IN = "solid checking lifter left in"
    NOT_BLED = "lifter not bled down when first read"


_CLICKED = (
    EngineFault.NOT_SEATED,
    EngineFault.LENGTH_OFF,
    EngineFault.UP_THE_LOBE,
    EngineFault.BOLT_MOVES,
)

FAULTS: Mapping[str, tuple[EngineFault, ...]] = {
    "turns to the click": _CLICKED,
    "checking pushrod": _CLICKED,
    "checking lifter": (*_CLICKED, EngineFault.SOLID_LEFT_IN),
    "turns and lock": (
        EngineFault.NOT_SEATED,
        EngineFault.LOCK_SLIPS,
        EngineFault.PLAY_LEFT,
        EngineFault.SHIFTS,
    ),
    "lash and lock": (EngineFault.LOCK_SLIPS, EngineFault.UP_THE_LOBE, EngineFault.SHIFTS),
    "stands and gap": (EngineFault.LENGTH_OFF, EngineFault.NOT_BLED, EngineFault.UNEVEN),
    "recheck": (EngineFault.BOLT_MOVES,),
}
"""What a rehearsal plants, by method: each is something the method must catch on any valve."""

IN_TRIALS = (EngineFault.SOLID_LEFT_IN,)
"""What can only go wrong on a valve of the trials; the others are planted on valves not tried."""


@dataclass(frozen=True)
class Planted:
    """A fault and its valve."""

    fault: EngineFault
    valve: Valve

    def __str__(self) -> str:
        return f"{self.valve}: {self.fault.value}"

    @classmethod
    def parse(cls, text: str) -> Planted:
        """Read a fault as `str` wrote it.

        Raises:
            ValueError: If it names no fault or no valve.
        """
        name, _, fault = text.partition(": ")
        return cls(EngineFault(fault), Valve.parse(name))


def plant(
    seed: int, valves: Sequence[Valve], tried: Collection[Valve], method: str = DEFAULT
) -> tuple[Planted, ...]:
    """Choose a valve for each fault.

    Args:
        seed: The same seed plants the same faults.
        valves: The engine's valves.
        tried: Valves of the trials, left alone while there are others: a fault in a
            trial would be taken for the engine's dimensions.
        method: The procedure's method, which says what can go wrong.

    Returns:
        One of each fault on valves of its own; fewer on an engine with few valves.
    """
    chance = random.Random(seed)
    free = [v for v in valves if v not in tried]
    chance.shuffle(free)
    in_trials = [fault for fault in FAULTS[method] if fault in IN_TRIALS]
    others = [fault for fault in FAULTS[method] if fault not in IN_TRIALS]
    pairs = [*zip(others, free, strict=False), *zip(in_trials, sorted(tried), strict=False)]
    return tuple(Planted(fault, valve) for fault, valve in pairs)
