"""The methods a procedure can follow, and what each asks of its steps."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from heelwise.documents.entry_base import PASSING
from heelwise.documents.faults import Fault, did_you_mean, quoted
from heelwise.documents.steps import CUPS, LASH_TRIAL, PHASES, RECORDS, Records
from heelwise.plain_text import one_line

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
        may=_places("fit valve plunger_up"),
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


# ---------------------------------------- what is wrong between steps, and with their method

MOST_STEPS = 500


def step_name(step: object, number: int) -> str:
    """What a fault calls a step: "step 3 (heads)"."""
    step_id = step.get("id") if isinstance(step, Mapping) else getattr(step, "id", None)
    named = isinstance(step_id, str) and step_id
    return f"step {number} ({one_line(str(step_id), 64)})" if named else f"step {number}"


def rule_faults(head: Head | None, steps: Sequence[Step]) -> Iterator[Fault]:
    """Every fault between steps and with the method; what can't be read of them is None here."""
    first: dict[str, int] = {}
    for place, step in enumerate(steps):
        earlier = first.setdefault(step.id, place)
        if step.id is not None and earlier != place:
            name = step_name(steps[earlier], earlier + 1)
            yield Fault(f"step {place + 1}.id", f"is the id of {name} too", "give each its own")
    for place, step in enumerate(steps):
        wanted = step.only_if.step if step.only_if else None
        if wanted is not None:
            where, found = f"step {place + 1}.only_if", first.get(wanted)
            told = _condition(steps, found, place) if found is not None else _none(wanted, first)
            yield from (Fault(where, problem, instead) for problem, instead in told)
    method: Any = head.method if head else None
    method = METHODS.get(method) if isinstance(method, str) else method
    if head is None or not isinstance(method, Method):
        return
    other = "solid" if method.lifters == "hydraulic" else "hydraulic"
    for kind in head.for_lifter or ():
        if isinstance(kind, str) and kind.startswith(other):
            problem = f"{quoted(kind)} lifters can't be set by {quoted(method.name)}"
            yield Fault("procedure.for_lifter", problem, f"name {method.lifters} lifters")
    for number, step in enumerate(steps, start=1):
        for key, problem, instead in _of_step(step, method):
            yield Fault(f"step {number}.{key}", problem, instead)
    yield from _missing_or_twice(steps, method)
    yield from _order(steps)


def _none(wanted: str, ids: Mapping[str, int]) -> Iterator[tuple[str, str]]:
    known = [each for each in ids if each is not None]
    yield f"there is no step {quoted(wanted)}", did_you_mean(wanted, known, "there are")


def _condition(steps: Sequence[Step], earlier: int, here: int) -> Iterator[tuple[str, str]]:
    asked, step = steps[earlier], steps[here]
    name = quoted(asked.id)
    if _when(asked, earlier) >= _when(step, here):
        yield f"the step {name} comes later", "name one asked before"
        return
    if asked.each not in (None, "build", step.each):
        problem = f"the step {name} has many answers: one for each {asked.each}"
        yield problem, "name a step of each build, or one of the same each"
    wanted = step.only_if.is_ if step.only_if else None
    if not asked.values:
        yield f"the step {name} has no set answers", "name a choice or a confirm"
    elif isinstance(wanted, str) and wanted not in asked.values:
        problem = f"{name} is never {quoted(wanted)}, so the step is never reached"
        yield problem, did_you_mean(wanted, asked.values, "it can be")


def _when(step: Step, place: int) -> tuple[int, int]:
    return (PHASES.index(step.phase) if step.phase else -1, place)


_Told = Iterator[tuple[str, str, str]]
"""Key, what is wrong, what would be right."""


def _of_step(step: Step, method: Method) -> _Told:
    record, name = RECORDS.get(step.records or ""), quoted(method.name)
    if record is not None:
        yield from _place(step, record, method)
    if step.phase and step.each and not method.reaches(step.phase, step.each):
        problem = f"a step of each {step.each} in {step.phase} is never reached by {name}"
        yield "each", problem, f"ask it elsewhere: this method is {method.title}"
    for key, figure in step.figures():
        if not method.has_figure(figure):
            yield key, f"{{{figure}}} has no meaning in {name}", "leave it out"
    if record is Records.PROOF:
        yield from _proof(step, method)
    if record in (*LASH_TRIAL, *CUPS) and record in {place.records for place in method.needed}:
        if step.skippable is True:
            yield "skippable", f"{name} can't do without {record}", "leave it out"
        if step.has("only_if"):
            yield "only_if", f"{name} always needs {record}", "leave it out"


def _place(step: Step, record: Records, method: Method) -> _Told:
    allowed = [place for place in method.places if place.records == record]
    if not allowed:
        names = ", ".join(sorted({place.records for place in method.places}))
        yield "records", f"{record} has no place in {quoted(method.name)}", f"it can record {names}"
    elif step.phase and step.phase not in {place.phase for place in allowed}:
        phases = " or ".join(dict.fromkeys(place.phase for place in allowed))
        yield "phase", f"is {quoted(step.phase)}", f"{record} is recorded in {phases}"
    elif (
        step.phase and step.each and (step.phase, step.each) not in {place[:2] for place in allowed}
    ):
        eaches = " or ".join(place.each for place in allowed if place.phase == step.phase)
        yield "each", f"is {quoted(step.each)}", f"{record} is recorded for each {eaches}"


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


def _missing_or_twice(steps: Sequence[Step], method: Method) -> Iterator[Fault]:
    first: dict[tuple[str, str, object], str] = {}
    for number, step in enumerate(steps, start=1):
        place = (step.phase, step.each, step.records)
        if place in first and place in {*method.needed, *method.may}:
            problem = f"{step.records} is recorded by {first[place]} already"
            instead = "this step is never reached: leave one out"
            yield Fault(f"step {number}.records", problem, instead)
        first.setdefault(place, step_name(step, number))
    # A step that records it in the wrong place is told of where it stands.
    elsewhere = {records for *_, records in first.keys() - set(method.needed)}
    for place in method.needed:
        if place not in first and place.records not in elsewhere:
            problem = f"no step of each {place.each} in {place.phase} records {place.records},"
            instead = f"add one with ask = {quoted(place.records.ask)}"
            yield Fault("step", f"{problem} which {quoted(method.name)} needs", instead)


def _order(steps: Sequence[Step]) -> Iterator[Fault]:
    read = False
    tried: list[int] = []
    for number, step in enumerate(steps, start=1):
        record = RECORDS.get(step.records or "")
        where = f"step {number}.records"
        if (step.phase, step.each) == ("fit", "valve"):
            read = read or record in (Records.COUNT, Records.GAUGE)
            if record in (Records.LOCKED, Records.RECHECK, Records.PLAY) and not read:
                problem = f"{record} comes before the valve is counted or gauged"
                yield Fault(where, problem, "write it after that step")
        if record in LASH_TRIAL:
            rank = LASH_TRIAL.index(record)
            after = [LASH_TRIAL[place] for place in tried if place > rank]
            if after:
                instead = "the order is the pushrod's length, the lash, the lifter put back"
                yield Fault(where, f"{record} comes after {after[0]}", instead)
            tried.append(rank)
