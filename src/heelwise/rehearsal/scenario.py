"""What rehearsals are run on: invented setups, no maker's, and what goes wrong in them."""

from __future__ import annotations

import random
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from heelwise.documents.faults import Fault, Faulty, did_you_mean
from heelwise.documents.library import find_procedures
from heelwise.documents.methods import DEFAULT, METHODS
from heelwise.documents.procedure import Procedure, load_procedure
from heelwise.documents.setup import Setup, parse_setup
from heelwise.valvetrain.engine import Valve

DEFAULT_CARD = "i6-153624"
DEFAULT_PROCEDURE = "bolt-down-rockers"

_Tables = dict[str, dict[str, object]]


def procedure_called(name: str) -> Procedure:
    """A procedure by its file's name; raises Faulty if there is none, or it has faults."""
    found = find_procedures()
    if name not in found:
        instead = did_you_mean(name, found, "there are")
        raise Faulty("procedures", [Fault("procedure", f"there is no {name!r}", instead)])
    return load_procedure(found[name])


def setup_by(card: str, procedure: Procedure) -> Setup:
    """A whole setup for an engine card, fit for a procedure; raises Faulty without such a card.

    With bolt-down rockers its sheet's travel per turn is wrong, so that trials have to find out.
    """
    tables = {**_bolt_down(card), **_CHANGES.get(procedure.method.name, {})}
    tables["rocker"] = {**tables["rocker"], "mount": procedure.for_mount[0]}
    tables["lifter"] = {**tables["lifter"], "kind": procedure.for_lifter[0]}
    raw: dict[str, object] = {"format": 1, **tables}
    return parse_setup(raw, f"the rehearsal's setup for {card}")


def _bolt_down(card: str) -> _Tables:
    return {
        "engine": {"card": card},
        "cam": {
            "intake_duration": 256.0,
            "exhaust_duration": 262.0,
            "lobe_separation": 110.5,
            "intake_centerline": 106.0,
            "at_lift": "0.15 mm",
        },
        "rocker": {"mount": "bolt-down", "ratio": 1.55, "thread": "M10x1.5", "torque": "42 N·m"},
        "lifter": {
            "kind": "hydraulic roller",
            "least_preload": "0.60 mm",
            "most_preload": "1.80 mm",
            "travel_per_turn": "1.60 mm",
            "plunger_travel": "4.6 mm",
        },
        "pushrods": {
            "intake": "218.0 mm",
            "exhaust": "218.0 mm",
            "sold_from": "214.0 mm",
            "sold_to": "226.0 mm",
            "sold_step": "0.5 mm",
        },
        "wrench": {"name": "rehearsal wrench", "least": "20 N·m", "most": "110 N·m"},
        "job": {"casting": card, "lifters": "virtual lifters", "rockers": "virtual rockers"},
    }


_CHANGES: dict[str, _Tables] = {
    "turns and lock": {
        "rocker": {"ratio": 1.6, "thread": "3/8-24"},
        "lifter": {"least_turns": "3/8", "most_turns": "7/8", "plunger_travel": "0.170 in"},
        "pushrods": {
            "intake": "8.150 in",
            "exhaust": "8.150 in",
            "sold_from": "7.900 in",
            "sold_to": "8.400 in",
            "sold_step": "0.050 in",
        },
    },
    "lash and lock": {
        "rocker": {"ratio": 1.45, "thread": "M9x1.0"},
        "lifter": {},
        "lash": {
            "intake": "0.36 mm",
            "exhaust": "0.46 mm",
            "measured": "hot",
            "block": "gray iron",
            "block_length": "118 mm",
            "heads": "aluminum 356.0",
            "heads_length": "84 mm",
            "pushrod": "steel 4130",
        },
    },
    "recheck": {
        "lifter": {
            "least_preload": "0.60 mm",
            "most_preload": "1.80 mm",
            "travel_per_turn": "2.47 mm",
            "plunger_travel": "4.6 mm",
            "seat_turns": 0.12,
        }
    },
}
"""The tables that differ from the bolt-down setup, by method."""
_CHANGES["pattern and lock"] = _CHANGES["turns and lock"]


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


# Written in [build]; where neither is, as in older rehearsals, they are too long.
TRIALS_SHORT = "the trial pushrods: too short"
LIKE_BEFORE = "the trial pushrods: about right, as in the build before"
TRIALS = (TRIALS_SHORT, LIKE_BEFORE)

FAULTS: Mapping[str, tuple[EngineFault, ...]] = {
    name: tuple(EngineFault[fault] for fault in method.planted) for name, method in METHODS.items()
}
"""What a rehearsal plants, by method: each is something the method must catch on any valve."""

_COUNTED_WRONG = (HandSlip.HALF_TURN_MORE, HandSlip.HALF_TURN_FEWER, HandSlip.EIGHTH_MISREAD)


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
    dimensions. With two seeds of three one of those is miscounted.
    """
    chance = random.Random(seed)
    free, where = [v for v in valves if v not in tried], sorted(tried)
    chance.shuffle(free)
    counted = METHODS[method].buys and METHODS[method].clicks
    # What can only go wrong on a valve of the trials; the others are planted on valves not tried.
    in_trials = [fault for fault in FAULTS[method] if fault is EngineFault.SOLID_LEFT_IN]
    others = [fault for fault in FAULTS[method] if fault not in in_trials]
    pairs: list[tuple[EngineFault | HandSlip, Valve]] = [
        *zip([*others, *(HandSlip if counted else ())], free, strict=False),
        *zip(in_trials, where, strict=False),
    ]
    left = where[len(in_trials) :]
    if left and counted and seed % 3:
        pairs.append((chance.choice(_COUNTED_WRONG), chance.choice(left)))
    return tuple(Planted(fault, valve) for fault, valve in pairs)
