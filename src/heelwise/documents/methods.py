"""The methods a procedure can follow; the order of phases and rounds is the walk's own."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, NamedTuple

from heelwise.documents.steps import CUPS, LASH_TRIAL, Phase, Records, Subject


class Place(NamedTuple):
    """Where in a walk something is recorded."""

    phase: Phase
    each: Subject
    records: Records


_CLICKED = ("clicked", "settled", "moved")
_CLICK_FAULTS = ("NOT_SEATED", "LENGTH_OFF", "UP_THE_LOBE", "BOLT_MOVES")
_REFERENCE = Place("prepare", "build", Records.CRANK_REFERENCE)
_COUNT = Place("fit", "valve", Records.COUNT)
_GAUGE = Place("fit", "valve", Records.GAUGE)
_LOCKED = Place("fit", "valve", Records.LOCKED)
_PROOF = Place("prove", "valve", Records.PROOF)
_ANY = tuple(Place(each.any_method, "build", each) for each in Records if each.any_method)
"""What the walk can learn once a build, whatever the method."""


@dataclass(frozen=True)
class Method:
    """One way of setting a valvetrain.

    Attributes:
        name: as a procedure has it.
        title: what it is, in a few words.
        must: steps it can't do without, besides the crank's reference.
        may: steps it can use besides.
        needs: tables and keys of the setup it can't do without, besides the usual ones.
        lifters: how the kinds of lifter it is for begin.
        trial: what is tried on a few valves first; it ends in the pushrods to buy.
        reads: how a valve is read in Fit.
        fits: whether Fit goes round all valves; an engine that has run is only proved and sampled.
        clicks: whether the count ends at the torque click, so that length sets the preload.
        recounts: whether a sample is counted again.
        elsewhere: whether the proof is made at another point on the heel than the reading.
        stands: whether stands, not valves, are drawn down.
        proofs: what its proof can find.
        planted: faults that a rehearsal plants, each of which the method must catch on any valve.
    """

    name: str
    title: str
    must: tuple[Place, ...]
    may: tuple[Place, ...] = ()
    needs: tuple[str, ...] = ("rocker.torque",)
    lifters: Literal["hydraulic", "solid"] = "hydraulic"
    trial: Literal["pushrods", "checking", "pattern", "none"] = "none"
    reads: Literal["turns", "lash", "gap"] = "turns"
    fits: bool = True
    clicks: bool = True
    recounts: bool = False
    elsewhere: bool = False
    stands: bool = False
    proofs: tuple[str, ...] = _CLICKED
    planted: tuple[str, ...] = _CLICK_FAULTS

    @property
    def buys(self) -> bool:
        """Whether pushrods are bought by what the trials came to."""
        return self.trial != "none"

    @property
    def length_sets_preload(self) -> bool:
        """Whether another pushrod is a remedy for a reading that is outside."""
        return self.clicks or self.stands

    @property
    def needs_of_setup(self) -> tuple[str, ...]:
        """Tables and keys of a setup it can't do without."""
        return ("rocker", "lifter", "pushrods", *self.needs)

    @property
    def needed(self) -> tuple[Place, ...]:
        """Every step it can't do without."""
        return (_REFERENCE, *self.must)

    @property
    def places(self) -> tuple[Place, ...]:
        """Every step that records something and has a place in it."""
        return (*self.needed, *self.may, *_ANY)

    def reaches(self, phase: Phase, each: Subject) -> bool:
        """Whether its rounds come to a step of a phase, asked once for each of something."""
        if each == "stand":
            return self.stands
        if phase == "trial":
            return self.buys or each == "build"
        if phase == "fit":
            return self.fits or each == "valve"
        return not (self.stands and (phase, each) == ("prove", "valve"))

    def has_figure(self, name: str) -> bool:
        """Whether a name in braces, as a step's texts have it, has a meaning."""
        return {
            "turns": self.reads == "turns",
            "wanted": self.reads == "turns" and not self.clicks,
            "lash": self.reads == "lash",
            "least": self.reads != "turns",
            "most": self.reads != "turns",
            "stand": self.stands,
        }.get(name, True)


_ALL = (
    Method(
        name="turns to the click",
        title="turns counted from zero lash to the torque click; pushrods tried, bought, measured",
        must=(Place("trial", "valve", Records.COUNT), _COUNT, _PROOF),
        trial="pushrods",
        recounts=True,
    ),
    Method(
        name="lash and lock",
        title="lash set by feeler gauge, locked, and gauged again",
        must=(_GAUGE, _LOCKED, Place("fit", "valve", Records.RECHECK), _PROOF),
        needs=("lash",),
        lifters="solid",
        reads="lash",
        clicks=False,
        elsewhere=True,
        proofs=("held", "slipped", "tight", "loose"),
        planted=("LOCK_SLIPS", "UP_THE_LOBE", "SHIFTS"),
    ),
    Method(
        name="checking pushrod",
        title="lengths by an adjustable checking pushrod at zero lash; then turns to the click",
        must=(Place("trial", "valve", Records.CHECKED), _COUNT, _PROOF),
        may=(Place("trial", "valve", Records.ROCKER_DOWN),),
        trial="checking",
        recounts=True,
    ),
    Method(
        name="checking lifter",
        title="lengths by a solid checking lifter and a feeler gauge; then turns to the click",
        must=(
            *(Place("prepare", "build", records) for records in CUPS),
            *(Place("trial", "valve", records) for records in LASH_TRIAL),
            _COUNT,
            _PROOF,
        ),
        trial="checking",
        recounts=True,
        planted=(*_CLICK_FAULTS, "SOLID_LEFT_IN"),
    ),
    Method(
        name="stands and gap",
        title="stands drawn down evenly; preload by the gap at the valve, the plunger at its end",
        must=(
            Place("fit", "stand", Records.DRAWN),
            _GAUGE,
            Place("prove", "stand", Records.PROOF),
        ),
        needs=("rocker.torque", "lifter.plunger_travel"),
        reads="gap",
        clicks=False,
        stands=True,
        planted=("LENGTH_OFF", "NOT_BLED", "UNEVEN"),
    ),
    Method(
        name="turns and lock",
        title="turns given from zero lash by an adjuster, then locked",
        must=(_COUNT, _LOCKED, _PROOF),
        may=(Place("fit", "valve", Records.PLAY),),
        needs=(),
        clicks=False,
        elsewhere=True,
        proofs=("held", "slipped", "play"),
        planted=("NOT_SEATED", "LOCK_SLIPS", "PLAY_LEFT", "SHIFTS"),
    ),
    Method(
        name="pattern and lock",
        title="lengths by the witness mark on the valve tip; then turns given and locked",
        must=(
            Place("trial", "valve", Records.PATTERN_LENGTH),
            Place("trial", "valve", Records.PATTERN),
            _COUNT,
            _LOCKED,
            _PROOF,
        ),
        may=(Place("fit", "valve", Records.PLAY),),
        needs=(),
        trial="pattern",
        clicks=False,
        elsewhere=True,
        proofs=("held", "slipped", "play"),
        planted=("NOT_SEATED", "LOCK_SLIPS", "PLAY_LEFT", "SHIFTS"),
    ),
    Method(
        name="recheck",
        title="an engine that has run: the torque as found, then counts of a sample or of all",
        must=(Place("prepare", "build", Records.HAS_RUN), _COUNT, _PROOF),
        may=(Place("prepare", "build", Records.RECOUNT),),
        fits=False,
        recounts=True,
        planted=("BOLT_MOVES",),
    ),
)

METHODS: Mapping[str, Method] = {method.name: method for method in _ALL}
"""By name, the most usual first."""
DEFAULT = "turns to the click"
