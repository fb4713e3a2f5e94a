"""The methods a procedure can follow; the order of phases and rounds is the walk's own."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, NamedTuple, cast

from heelwise.documents.steps import RECORDS, Phase, Records, Subject


class Place(NamedTuple):
    """Where in a walk something is recorded."""

    phase: Phase
    each: Subject
    records: Records


def _places(text: str) -> tuple[Place, ...]:
    """Places as the table below writes them: "fit valve count, prove valve proof"."""
    words = (each.split() for each in text.split(", "))
    return tuple(Place(cast(Phase, p), cast(Subject, each), RECORDS[r]) for p, each, r in words)


_CLICK_FAULTS = ("NOT_SEATED", "LENGTH_OFF", "UP_THE_LOBE", "BOLT_MOVES")
_ADJUSTER_FAULTS = ("NOT_SEATED", "LOCK_SLIPS", "PLAY_LEFT", "SHIFTS")
_REFERENCE = Place("prepare", "build", Records.CRANK_REFERENCE)
_ANY = tuple(Place(each.any_method, "build", each) for each in Records if each.any_method)
"""What the walk can learn once a build, whatever the method."""


@dataclass(frozen=True)
class Method:
    """One way of setting a valvetrain.

    `must`: steps it can't do without, besides the crank's reference; `may`: those it can use
    besides. `needs`: of the setup, besides the usual tables. `trial`: what is tried on a few valves
    first. `reads`: how a valve is read in Fit. `fits`: whether Fit goes round all valves; an engine
    that has run is only proved and sampled. `clicks`: whether the count ends at the torque click,
    so that length sets the preload. `recounts`: whether a sample is counted again. `elsewhere`:
    whether the proof is made at another point on the heel than the reading. `stands`: whether
    stands, not valves, are drawn down. `proofs`: what its proof can find. `planted`: faults that a
    rehearsal plants, each of which the method must catch on any valve.
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
    proofs: tuple[str, ...] = ("clicked", "settled", "moved")
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
        "turns to the click",
        "turns counted from zero lash to the torque click; pushrods tried, bought, measured",
        must=_places("trial valve count, fit valve count, prove valve proof"),
        trial="pushrods",
        recounts=True,
    ),
    Method(
        "lash and lock",
        "lash set by feeler gauge, locked, and gauged again",
        must=_places("fit valve gauge, fit valve locked, fit valve recheck, prove valve proof"),
        needs=("lash",),
        lifters="solid",
        reads="lash",
        clicks=False,
        elsewhere=True,
        proofs=("held", "slipped", "tight", "loose"),
        planted=("LOCK_SLIPS", "UP_THE_LOBE", "SHIFTS"),
    ),
    Method(
        "checking pushrod",
        "lengths by an adjustable checking pushrod at zero lash; then turns to the click",
        must=_places("trial valve checked, fit valve count, prove valve proof"),
        may=_places("trial valve rocker_down"),
        trial="checking",
        recounts=True,
    ),
    Method(
        "checking lifter",
        "lengths by a solid checking lifter and a feeler gauge; then turns to the click",
        must=_places(
            "prepare build cup_hydraulic, prepare build cup_solid, trial valve checking_length, "
            "trial valve rocker_down, trial valve lash_checked, trial valve lifter_back, "
            "fit valve count, prove valve proof"
        ),
        trial="checking",
        recounts=True,
        planted=(*_CLICK_FAULTS, "SOLID_LEFT_IN"),
    ),
    Method(
        "stands and gap",
        "stands drawn down evenly; preload by the gap at the valve, the plunger at its end",
        must=_places("fit stand drawn, fit valve gauge, prove stand proof"),
        needs=("rocker.torque", "lifter.plunger_travel"),
        reads="gap",
        clicks=False,
        stands=True,
        planted=("LENGTH_OFF", "NOT_BLED", "UNEVEN"),
    ),
    Method(
        "turns and lock",
        "turns given from zero lash by an adjuster, then locked",
        must=_places("fit valve count, fit valve locked, prove valve proof"),
        may=_places("fit valve play"),
        needs=(),
        clicks=False,
        elsewhere=True,
        proofs=("held", "slipped", "play"),
        planted=_ADJUSTER_FAULTS,
    ),
    Method(
        "pattern and lock",
        "lengths by the witness mark on the valve tip; then turns given and locked",
        must=_places(
            "trial valve pattern_length, trial valve pattern, "
            "fit valve count, fit valve locked, prove valve proof"
        ),
        may=_places("fit valve play"),
        needs=(),
        trial="pattern",
        clicks=False,
        elsewhere=True,
        proofs=("held", "slipped", "play"),
        planted=_ADJUSTER_FAULTS,
    ),
    Method(
        "recheck",
        "an engine that has run: the torque as found, then counts of a sample or of all",
        must=_places("prepare build has_run, fit valve count, prove valve proof"),
        may=_places("prepare build recount"),
        fits=False,
        recounts=True,
        planted=("BOLT_MOVES",),
    ),
)

METHODS: Mapping[str, Method] = {method.name: method for method in _ALL}
"""By name, the most usual first."""
DEFAULT = "turns to the click"
