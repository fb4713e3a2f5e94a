"""What a step of a procedure can record: the one list of what the walk learns from an answer.

Also the phases of the walk, and what a step is asked once for.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from typing import Literal, get_args

Phase = Literal["prepare", "trial", "fit", "prove", "sign off"]
PHASES: tuple[Phase, ...] = get_args(Phase)
Subject = Literal["build", "position", "stand", "valve"]
"""What a step is asked once for, the key `each` of a procedure."""
SUBJECTS: tuple[Subject, ...] = get_args(Subject)
SUBJECTS_IN: Mapping[Phase, tuple[Subject, ...]] = {
    "prepare": ("build",),
    "trial": ("build", "position", "valve"),
    "fit": SUBJECTS,
    "prove": SUBJECTS,
    "sign off": ("build",),
}
"""Where the walk goes round positions, stands and valves, and where it doesn't."""
AskKind = Literal["confirm", "choice", "turns", "length", "torque", "lash", "degrees", "note"]

LIFTER_CONDITIONS = ("dry", "soaked", "pumped", "used")


class Records(StrEnum):
    """What a step records: its name on disk, how it is asked, and what the walk does with it.

    `values`: of a choice, what can be kept. `own_entry`: the phase that asks it makes an entry of
    its own, no plain answer. `reads_valve`: it is the reading of a valve, which the valve's other
    steps stand before or after. `turns_crank`: asking it sends the crank round.
    """

    ask: AskKind
    values: tuple[str, ...]
    own_entry: bool
    reads_valve: bool
    turns_crank: bool

    def __new__(
        cls, name: str, ask: AskKind, values: tuple[str, ...] = (), traits: str = ""
    ) -> Records:
        """Make a member of its row; `traits` holds "own entry", "reads valve", "turns crank"."""
        self = str.__new__(cls, name)
        self._value_ = name
        self.ask, self.values = ask, values
        self.own_entry = "own entry" in traits
        self.reads_valve = "reads valve" in traits
        self.turns_crank = "turns crank" in traits
        return self

    # Prepare
    LIFTER_CONDITION = "lifter_condition", "choice", LIFTER_CONDITIONS
    THROUGH_BOLTS = "through_bolts", "choice", ("through", "blind")
    SECOND_PERSON = "second_person", "choice", ("wanted", "not wanted")
    WRENCH = "wrench", "confirm"
    CRANK_REFERENCE = "crank_reference", "confirm", (), "turns crank"
    WHEEL_FIRST = "wheel_first", "degrees", (), "turns crank"
    WHEEL_SECOND = "wheel_second", "degrees", (), "turns crank"
    TAPE_BETWEEN = "tape_between", "length", (), "turns crank"
    HAS_RUN = "has_run", "confirm"
    RECOUNT = "recount", "choice", ("sample", "all")
    CUP_HYDRAULIC = "cup_hydraulic", "length"
    CUP_SOLID = "cup_solid", "length"
    # Trial
    CHECKED = "checked", "length", (), "own entry, reads valve"
    CHECKING_LENGTH = "checking_length", "length"
    ROCKER_DOWN = "rocker_down", "confirm"
    LASH_CHECKED = "lash_checked", "lash", (), "own entry, reads valve"
    LIFTER_BACK = "lifter_back", "confirm"
    # Trial and Fit
    COUNT = "count", "turns", (), "own entry, reads valve"
    GAUGE = "gauge", "lash", (), "own entry, reads valve"
    LOCKED = "locked", "confirm"
    RECHECK = "recheck", "lash", (), "own entry"
    PLAY = "play", "choice", ("none", "found")
    DRAWN = "drawn", "confirm", (), "own entry"
    # Prove
    PROOF = (
        "proof",
        "choice",
        ("clicked", "settled", "moved", "held", "slipped", "play", "tight", "loose"),
        "own entry",
    )


RECORDS: Mapping[str, Records] = {each.value: each for each in Records}
"""By the name on disk."""
TDC_READINGS = (Records.WHEEL_SECOND, Records.TAPE_BETWEEN)
"""Those that complete the bisection of true TDC."""
CUPS = (Records.CUP_HYDRAULIC, Records.CUP_SOLID)
LASH_TRIAL = (
    Records.CHECKING_LENGTH,
    Records.ROCKER_DOWN,
    Records.LASH_CHECKED,
    Records.LIFTER_BACK,
)
"""A trial with a solid checking lifter, in the order it has to be asked."""
