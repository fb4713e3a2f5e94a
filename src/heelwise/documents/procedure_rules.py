"""What is wrong between the steps of a procedure, and between them and its method."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from heelwise.documents.entry_base import PASSING
from heelwise.documents.faults import Fault, did_you_mean, quoted
from heelwise.documents.methods import METHODS, Method
from heelwise.documents.steps import CUPS, LASH_TRIAL, PHASES, RECORDS, Records
from heelwise.plain_text import one_line

if TYPE_CHECKING:
    from heelwise.documents.procedure import Head
    from heelwise.documents.steps import Step

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
            yield Fault(f"step {place + 1}.id", f"is the id of {name} too", "let each differ")
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
    if asked.each not in ("build", step.each):
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
    elif step.each and (step.phase, step.each) not in {place[:2] for place in allowed}:
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
