"""What goes wrong in a rehearsal: which, where, and how it is written in [build]."""

from __future__ import annotations

import random
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from heelwise.documents.methods import DEFAULT, METHODS
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


class HandSlip(StrEnum):
    """What the hands can do wrong once, on the first reading of a valve."""

    HALF_TURN_MORE = "first counted half a turn too many"
    HALF_TURN_FEWER = "first counted half a turn too few"
    EIGHTH_MISREAD = "first count misread by an eighth"
    WRONG_VALVE = "its neighbor was tightened and counted instead"
    SWAPPED = "another valve's pushrod measured for it"


TRIALS_SHORT = "the trial pushrods: too short"
"""Written in [build] where the first trial pushrods are too short; in older rehearsals, and where
this is left out, they are too long."""

FAULTS: Mapping[str, tuple[EngineFault, ...]] = {
    name: tuple(EngineFault[fault] for fault in method.planted) for name, method in METHODS.items()
}
"""What a rehearsal plants, by method: each is something the method must catch on any valve."""

_IN_TRIALS = (EngineFault.SOLID_LEFT_IN,)
"""What can only go wrong on a valve of the trials; the others are planted on valves not tried."""

_COUNTED_WRONG = (
    HandSlip.HALF_TURN_MORE,
    HandSlip.HALF_TURN_FEWER,
    HandSlip.EIGHTH_MISREAD,
)


@dataclass(frozen=True)
class Planted:
    """A fault or a slip, and its valve."""

    fault: EngineFault | HandSlip
    valve: Valve

    def __str__(self) -> str:
        return f"{self.valve}: {self.fault.value}"

    @classmethod
    def parse(cls, text: str) -> Planted:
        """Read a fault or slip as `str` wrote it; raises ValueError where it is neither."""
        name, _, words = text.partition(": ")
        slip = words in (slip.value for slip in HandSlip)
        return cls(HandSlip(words) if slip else EngineFault(words), Valve.parse(name))


def plant(
    seed: int, valves: Sequence[Valve], tried: Collection[Valve], method: str = DEFAULT
) -> tuple[Planted, ...]:
    """Choose a valve for each fault and slip that a method can meet; the same by the same seed.

    Faults leave the valves of the trials alone: there they would be taken for the engine's
    dimensions. With two seeds of three one of those is miscounted. An engine with few valves
    gets fewer.
    """
    chance = random.Random(seed)
    free = [v for v in valves if v not in tried]
    chance.shuffle(free)
    counted = METHODS[method].buys and METHODS[method].clicks
    faults, slips = FAULTS[method], tuple(HandSlip) if counted else ()
    in_trials = [fault for fault in faults if fault in _IN_TRIALS]
    others: list[EngineFault | HandSlip] = [f for f in faults if f not in _IN_TRIALS]
    pairs = [*zip(others + list(slips), free, strict=False)]
    where = sorted(tried)
    pairs += zip(in_trials, where, strict=False)
    left = where[len(in_trials) :]
    if left and slips and seed % 3:
        pairs.append((chance.choice(_COUNTED_WRONG), chance.choice(left)))
    return tuple(Planted(fault, valve) for fault, valve in pairs)
