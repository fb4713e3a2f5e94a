"""The methods a procedure can follow: what each asks of a setup and of its own steps.

The order of phases and the rounds over valves are the walk's own; a method only
names which of them there are.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, get_args

Method = Literal[
    "turns to the click",
    "turns and lock",
    "lash and lock",
    "checking pushrod",
    "checking lifter",
    "stands and gap",
    "recheck",
]
METHODS: tuple[str, ...] = get_args(Method)
DEFAULT: Method = "turns to the click"

Place = tuple[str, str, str]
"""Phase, each and fills of a step."""

REFERENCE: Place = ("prepare", "build", "crank_reference")
_TRIAL_COUNT: Place = ("trial", "valve", "count")
_COUNT: Place = ("fit", "valve", "count")
_GAUGE: Place = ("fit", "valve", "gauge")
_LOCKED: Place = ("fit", "valve", "locked")
_RECHECK: Place = ("fit", "valve", "recheck")
_PLAY: Place = ("fit", "valve", "play")
_PROOF: Place = ("prove", "valve", "proof")
_CUPS: tuple[Place, ...] = (
    ("prepare", "build", "cup_hydraulic"),
    ("prepare", "build", "cup_solid"),
)
_ROCKER_DOWN: Place = ("trial", "valve", "rocker_down")
_BY_LASH: tuple[Place, ...] = (
    ("trial", "valve", "checking_length"),
    _ROCKER_DOWN,
    ("trial", "valve", "lash_checked"),
    ("trial", "valve", "lifter_back"),
)

_CLICKED = ("clicked", "settled", "moved")
_ALWAYS = ("rocker", "lifter", "pushrods")


@dataclass(frozen=True)
class Form:
    """What a method asks for.

    Attributes:
        said: what it is, in a few words.
        needs: tables and keys of the setup it can't do without.
        lifters: how the kinds of lifter it is for begin.
        must: steps it can't do without.
        may: steps it can use besides.
        proofs: what its proof can find.
        unreached: phase and each of steps that its rounds never come to.
    """

    said: str
    needs: tuple[str, ...]
    lifters: str
    must: tuple[Place, ...]
    may: tuple[Place, ...] = ()
    proofs: tuple[str, ...] = _CLICKED
    unreached: tuple[tuple[str, str], ...] = ()

    @property
    def stands(self) -> bool:
        """Whether it has rounds over stands."""
        return any(each == "stand" for _, each, _ in self.must)


_NO_TRIAL = (("trial", "position"), ("trial", "valve"))

FORMS: Mapping[str, Form] = {
    "turns to the click": Form(
        "turns counted from zero lash to the torque click; pushrods tried, bought and measured",
        (*_ALWAYS, "rocker.torque"),
        "hydraulic",
        (REFERENCE, _TRIAL_COUNT, _COUNT, _PROOF),
    ),
    "turns and lock": Form(
        "turns given from zero lash by an adjuster, then locked",
        _ALWAYS,
        "hydraulic",
        (REFERENCE, _COUNT, _LOCKED, _PROOF),
        (_PLAY,),
        ("held", "slipped", "play"),
        _NO_TRIAL,
    ),
    "lash and lock": Form(
        "lash set by feeler gauge, locked, and gauged again",
        (*_ALWAYS, "lash"),
        "solid",
        (REFERENCE, _GAUGE, _LOCKED, _RECHECK, _PROOF),
        (),
        ("held", "slipped", "tight", "loose"),
        _NO_TRIAL,
    ),
    "checking pushrod": Form(
        "lengths by an adjustable checking pushrod at zero lash; then turns to the torque click",
        (*_ALWAYS, "rocker.torque"),
        "hydraulic",
        (REFERENCE, ("trial", "valve", "checked"), _COUNT, _PROOF),
        (_ROCKER_DOWN,),
    ),
    "checking lifter": Form(
        "lengths by a solid checking lifter and a feeler gauge; then turns to the torque click",
        (*_ALWAYS, "rocker.torque"),
        "hydraulic",
        (REFERENCE, *_CUPS, *_BY_LASH, _COUNT, _PROOF),
    ),
    "stands and gap": Form(
        "stands drawn down evenly; preload by the gap at the valve with the plunger at its end",
        (*_ALWAYS, "rocker.torque", "lifter.plunger_travel"),
        "hydraulic",
        (REFERENCE, ("fit", "stand", "drawn"), _GAUGE, ("prove", "stand", "proof")),
        (),
        _CLICKED,
        (*_NO_TRIAL, ("prove", "valve")),
    ),
    "recheck": Form(
        "an engine that has run: the torque as found, then counts of a sample or of all",
        (*_ALWAYS, "rocker.torque"),
        "hydraulic",
        (REFERENCE, ("prepare", "build", "has_run"), _COUNT, _PROOF),
        (("prepare", "build", "recount"),),
        _CLICKED,
        (*_NO_TRIAL, ("fit", "build"), ("fit", "position")),
    ),
}

FILLS_OF_ANY: tuple[Place, ...] = tuple(
    ("prepare", "build", name)
    for name in (
        "lifter_condition",
        "through_bolts",
        "wheel_first",
        "wheel_second",
        "tape_between",
        "second_person",
        "wrench",
    )
)
"""What the walk can learn in Prepare, whatever the method."""


def places_of(form: Form) -> tuple[Place, ...]:
    """Every step that fills something and has a place in a method."""
    return (*form.must, *form.may, *FILLS_OF_ANY)
