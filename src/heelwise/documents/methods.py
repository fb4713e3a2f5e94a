"""The methods a procedure can follow, and what each asks of its steps."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from heelwise.documents.entry_base import PASSING
from heelwise.documents.faults import Fault, did_you_mean, quoted
from heelwise.documents.steps import PHASES, RECORDS, Records

if TYPE_CHECKING:
    from heelwise.documents.procedure import Head
    from heelwise.documents.steps import Step
from dataclasses import dataclass
from typing import Literal, NamedTuple, cast

from heelwise.documents.steps import Phase, Subject


class Place(NamedTuple):
    """Where in a walk something is recorded."""

    phase: Phase
    each: Subject
    records: Records


def _asks(text: str) -> Mapping[Place, bool]:
    """Places as the table below writes them, in their order: "fit valve count, fit valve play?"."""
    words = (each.split() for each in text.split(", "))
    return {
        Place(cast(Phase, p), cast(Subject, each), RECORDS[r.rstrip("?")]): not r.endswith("?")
        for p, each, r in words
    }


_CLICK_FAULTS = ("NOT_SEATED", "LENGTH_OFF", "UP_THE_LOBE", "BOLT_MOVES")
_ADJUSTER_FAULTS = ("NOT_SEATED", "LOCK_SLIPS", "PLAY_LEFT", "SHIFTS")
_REFERENCE = Place("prepare", "build", Records.CRANK_REFERENCE)
_ANY = tuple(Place(each.any_method, "build", each) for each in Records if each.any_method)
"""What the walk can learn once a build, whatever the method."""


@dataclass(frozen=True)
class Method:
    """One way of setting a valvetrain.

    `asks`: steps in the order they come up, and whether it can't do without them; the crank's
    reference besides. `needs`: of the setup, besides the usual tables. `trial`: what is tried on a
    few valves first. `reads`: how a valve is read in Fit. `fits`: whether Fit goes round all
    valves; an engine that has run is only proved and sampled. `clicks`: whether the count ends at
    the torque click, so that length sets the preload. `recounts`: whether a sample is counted
    again. `elsewhere`: whether the proof is made at another point on the heel than the reading.
    `stands`: whether stands, not valves, are drawn down. `proofs`: what its proof can find.
    `planted`: faults that a rehearsal plants, each of which the method must catch on any valve.
    """

    name: str
    title: str
    asks: Mapping[Place, bool]
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
        return (_REFERENCE, *(place for place, needed in self.asks.items() if needed))

    @property
    def places(self) -> tuple[Place, ...]:
        """Every step that records something and has a place in it."""
        return (_REFERENCE, *self.asks, *_ANY)

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
        _asks("trial valve count, fit valve count, prove valve proof"),
        trial="pushrods",
        recounts=True,
    ),
    Method(
        "lash and lock",
        "lash set by feeler gauge, locked, and gauged again",
        _asks("fit valve gauge, fit valve locked, fit valve recheck, prove valve proof"),
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
        _asks("trial valve rocker_down?, trial valve checked, fit valve count, prove valve proof"),
        trial="checking",
        recounts=True,
    ),
    Method(
        "checking lifter",
        "lengths by a solid checking lifter and a feeler gauge; then turns to the click",
        _asks(
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
        _asks("fit stand drawn, fit valve gauge, fit valve plunger_up?, prove stand proof"),
        needs=("rocker.torque", "lifter.plunger_travel"),
        reads="gap",
        clicks=False,
        stands=True,
        planted=("LENGTH_OFF", "NOT_BLED", "UNEVEN"),
    ),
    Method(
        "turns and lock",
        "turns given from zero lash by an adjuster, then locked",
        _asks("fit valve count, fit valve locked, fit valve play?, prove valve proof"),
        needs=(),
        clicks=False,
        elsewhere=True,
        proofs=("held", "slipped", "play"),
        planted=_ADJUSTER_FAULTS,
    ),
    Method(
        "pattern and lock",
        "lengths by the witness mark on the valve tip; then turns given and locked",
        _asks(
            "trial valve pattern_length, trial valve pattern, "
            "fit valve count, fit valve locked, fit valve play?, prove valve proof"
        ),
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
        _asks("prepare build has_run, prepare build recount?, fit valve count, prove valve proof"),
        fits=False,
        recounts=True,
        planted=("BOLT_MOVES",),
    ),
)

METHODS: Mapping[str, Method] = {method.name: method for method in _ALL}
"""By name, the most usual first."""
DEFAULT = "turns to the click"


# ---------------------------------------- what is wrong between steps, and with their method

MOST_STEPS = 500


_Told = Iterator[tuple[str, str, str]]
"""Key, what is wrong, what would be right."""


def rule_faults(head: Head | None, steps: Sequence[Step]) -> Iterator[Fault]:
    """Every fault between steps and with the method; what can't be read of them is None here."""
    names = [f"step {n} ({step.id})" if step.id else f"step {n}" for n, step in enumerate(steps, 1)]
    method: Any = head.method if head else None
    method = METHODS.get(method) if isinstance(method, str) else method
    for here, step in enumerate(steps):
        told = [*_repeated(steps, here, names), *_condition(steps, here)]
        if method is not None:
            told += _of_step(step, method)
            told += _of_order(steps, here, names, method)
        yield from (Fault(f"{names[here]}.{key}", *words) for key, *words in told)
    if head is None or method is None:
        return
    other = "solid" if method.lifters == "hydraulic" else "hydraulic"
    for kind in head.for_lifter or ():
        if isinstance(kind, str) and kind.startswith(other):
            problem = f"{quoted(kind)} lifters can't be set by {quoted(method.name)}"
            yield Fault("procedure.for_lifter", problem, f"name {method.lifters} lifters")
    # A step that records it in the wrong place is told of where it stands.
    places = {_place(step) for step in steps}
    elsewhere = {records for *_, records in places - set(method.needed)}
    for place in method.needed:
        if place not in places and place.records not in elsewhere:
            problem = f"no step of each {place.each} in {place.phase} records {place.records},"
            instead = f"add one with ask = {quoted(place.records.ask)}"
            yield Fault("step", f"{problem} which {quoted(method.name)} needs", instead)


def _place(step: Step) -> tuple[object, ...]:
    return step.phase, step.each, step.records


def _repeated(steps: Sequence[Step], here: int, names: Sequence[str]) -> _Told:
    first = [step.id for step in steps].index(steps[here].id)
    if steps[here].id is not None and first != here:
        yield "id", f"is the id of {names[first]} too", "give each its own"


def _condition(steps: Sequence[Step], here: int) -> _Told:
    step = steps[here]
    wanted = step.only_if.step if step.only_if else None
    if wanted is None or step.only_if is None:
        return
    asked = next((each for each in steps if each.id == wanted), None)
    if asked is None:
        known = [each.id for each in steps if each.id is not None]
        yield (
            "only_if",
            f"there is no step {quoted(wanted)}",
            did_you_mean(wanted, known, "there are"),
        )
        return
    ranks = [PHASES.index(each.phase) if each.phase else -1 for each in (asked, step)]
    if (ranks[0], steps.index(asked)) >= (ranks[1], here):
        yield "only_if", f"the step {quoted(wanted)} comes later", "name one asked before"
        return
    if asked.each not in (None, "build", step.each):
        problem = f"the step {quoted(wanted)} has many answers: one for each {asked.each}"
        yield "only_if", problem, "name a step of each build, or one of the same each"
    answer = step.only_if.is_
    if not asked.values:
        problem = f"the step {quoted(wanted)} has no set answers"
        yield "only_if", problem, "name a choice or a confirm"
    elif isinstance(answer, str) and answer not in asked.values:
        problem = f"{quoted(wanted)} is never {quoted(answer)}, so the step is never reached"
        yield "only_if", problem, did_you_mean(answer, asked.values, "it can be")


def _of_step(step: Step, method: Method) -> _Told:
    record, name = RECORDS.get(step.records or ""), quoted(method.name)
    if record is not None:
        allowed = [place for place in method.places if place.records == record]
        if not allowed:
            names = ", ".join(sorted({place.records for place in method.places}))
            yield "records", f"{record} has no place in {name}", f"it can record {names}"
        elif step.phase and step.each and _place(step) not in allowed:
            where = " or ".join(f"for each {place.each} in {place.phase}" for place in allowed)
            problem = f"{record} isn't recorded for each {step.each} in {step.phase}"
            yield "records", problem, f"record it {where}"
    if step.phase and step.each and not method.reaches(step.phase, step.each):
        problem = f"a step of each {step.each} in {step.phase} is never reached by {name}"
        yield "each", problem, f"ask it elsewhere: this method is {method.title}"
    for key, figure in step.figures():
        if not method.has_figure(figure):
            yield key, f"{{{figure}}} has no meaning in {name}", "leave it out"
    if record is Records.PROOF:
        yield from _proof(step, method)
    for key in ("skippable", "only_if") if _place(step) in method.needed else ():
        if getattr(step, key):
            yield key, f"{name} always needs {record}", "leave it out"


def _proof(step: Step, method: Method) -> _Told:
    values = set(step.values)
    for value in sorted(values & set(Records.PROOF.values) - set(method.proofs)):
        problem = f"a proof of {quoted(method.name)} can't be {quoted(value)}"
        yield "options", problem, did_you_mean(value, method.proofs, "it finds")
    usable = values & set(method.proofs)
    for passing, problem in ((True, "no proof can pass"), (False, "no proof can fail")):
        words = [word for word in method.proofs if (word in PASSING) is passing]
        if len(values) > 1 and usable and not usable & set(words):
            yield "options", problem, f"add {' or '.join(words)}"


def _of_order(steps: Sequence[Step], here: int, names: Sequence[str], method: Method) -> _Told:
    """What is asked twice, or after a step that it must come before."""
    order, place = list(method.asks), _place(steps[here])
    if place not in order:
        return
    for earlier, name in zip(steps[:here], names, strict=False):
        before = _place(earlier)
        if before == place:
            problem = f"{steps[here].records} is recorded by {name} already"
            yield "records", problem, "this step is never reached: leave one out"
            return
        if before in order and before[:2] == place[:2] and order.index(before) > order.index(place):
            problem = f"{steps[here].records} comes after {earlier.records}"
            yield "records", problem, f"ask it before {name}"
            return
