"""What is wrong between the steps of a procedure, and between them and its method."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from heelwise.documents.entry_base import PASSING
from heelwise.documents.faults import Fault, did_you_mean, quoted
from heelwise.documents.methods import METHODS, Method
from heelwise.documents.steps import LASH_TRIAL, PHASES, RECORDS, Records
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
    yield from _ids(steps)
    yield from _conditions(steps)
    method: Any = head.method if head else None
    method = METHODS.get(method) if isinstance(method, str) else method
    if head is None or not isinstance(method, Method):
        return
    yield from _lifters(head, method)
    for number, step in enumerate(steps, start=1):
        for fault in _of_step(step, method):
            yield Fault(f"step {number}.{fault.where}", fault.problem, fault.instead)
    yield from _missing(steps, method)
    yield from _twice(steps, method)
    yield from _order(steps)


def _ids(steps: Sequence[Step]) -> Iterator[Fault]:
    seen: dict[str, str] = {}
    for number, step in enumerate(steps, start=1):
        if step.id in seen:
            yield Fault(f"step {number}.id", f"is the id of {seen[step.id]} too", "let each differ")
        elif step.id is not None:
            seen[step.id] = step_name(step, number)


def _conditions(steps: Sequence[Step]) -> Iterator[Fault]:
    by_id: dict[str, int] = {}
    for place, step in enumerate(steps):
        if step.id is not None:
            by_id.setdefault(step.id, place)
    for place, step in enumerate(steps):
        wanted = step.only_if.step if step.only_if else None
        if wanted is None:
            continue
        where = f"step {place + 1}.only_if"
        if wanted not in by_id:
            hint = did_you_mean(wanted, by_id, "there are")
            yield Fault(where, f"there is no step {quoted(wanted)}", hint)
            continue
        for problem, instead in _condition(steps, by_id[wanted], place):
            yield Fault(where, problem, instead)


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


def _lifters(head: Head, method: Method) -> Iterator[Fault]:
    other = "solid" if method.lifters == "hydraulic" else "hydraulic"
    for kind in head.for_lifter or ():
        if isinstance(kind, str) and kind.split(" ")[0] == other:
            problem = f"{quoted(kind)} lifters can't be set by {quoted(method.name)}"
            yield Fault("procedure.for_lifter", problem, f"name {method.lifters} lifters")


def _of_step(step: Step, method: Method) -> Iterator[Fault]:
    record = RECORDS.get(step.records or "")
    if record is not None:
        yield from _place(step, record, method)
    if step.phase and step.each and not method.reaches(step.phase, step.each):
        problem = f"a step of each {step.each} in {step.phase} is never reached by"
        instead = f"ask it elsewhere: this method is {method.title}"
        yield Fault("each", f"{problem} {quoted(method.name)}", instead)
    for key, name in step.figures():
        if not method.has_figure(name):
            problem = f"{{{name}}} has no meaning in {quoted(method.name)}"
            yield Fault(key, problem, "leave it out")
    if record is Records.PROOF:
        yield from _proof(step, method)
    if record in LASH_TRIAL or record in (Records.CUP_HYDRAULIC, Records.CUP_SOLID):
        yield from _always(step, record, method)


def _place(step: Step, record: Records, method: Method) -> Iterator[Fault]:
    allowed = [place for place in method.places if place.records == record]
    if not allowed:
        names = sorted({place.records for place in method.places})
        problem = f"{record} has no place in {quoted(method.name)}"
        yield Fault("records", problem, f"it can record {', '.join(names)}")
    elif step.phase and step.phase not in {place.phase for place in allowed}:
        phases = " or ".join(dict.fromkeys(place.phase for place in allowed))
        yield Fault("phase", f"is {quoted(step.phase)}", f"{record} is recorded in {phases}")
    elif step.each and (step.phase, step.each) not in {place[:2] for place in allowed}:
        eaches = " or ".join(place.each for place in allowed if place.phase == step.phase)
        yield Fault("each", f"is {quoted(step.each)}", f"{record} is recorded for each {eaches}")


def _proof(step: Step, method: Method) -> Iterator[Fault]:
    values = set(step.values)
    for value in sorted(values & set(Records.PROOF.values) - set(method.proofs)):
        problem = f"a proof of {quoted(method.name)} can't be {quoted(value)}"
        yield Fault("options", problem, did_you_mean(value, method.proofs, "it finds"))
    usable = values & set(method.proofs)
    for passing, problem in ((True, "no proof can pass"), (False, "no proof can fail")):
        words = [word for word in method.proofs if (word in PASSING) is passing]
        if len(values) > 1 and usable and not usable & set(words):
            yield Fault("options", problem, f"add {' or '.join(words)}")


def _always(step: Step, record: Records, method: Method) -> Iterator[Fault]:
    if record not in {place.records for place in method.needed}:
        return
    if step.skippable is True:
        problem = f"{quoted(method.name)} can't do without {record}"
        yield Fault("skippable", problem, "leave it out")
    if step.has("only_if"):
        problem = f"{quoted(method.name)} always needs {record}"
        yield Fault("only_if", problem, "leave it out")


def _missing(steps: Sequence[Step], method: Method) -> Iterator[Fault]:
    given = {(step.phase, step.each, step.records) for step in steps}
    # A step that records it in the wrong place is told of where it stands.
    elsewhere = {records for *_, records in given - set(method.needed)}
    for place in method.needed:
        if place not in given and place.records not in elsewhere:
            problem = f"no step of each {place.each} in {place.phase} records {place.records},"
            instead = f"add one with ask = {quoted(place.records.ask)}"
            yield Fault("step", f"{problem} which {quoted(method.name)} needs", instead)


def _twice(steps: Sequence[Step], method: Method) -> Iterator[Fault]:
    known = {*method.needed, *method.may}
    seen: dict[object, str] = {}
    for number, step in enumerate(steps, start=1):
        place = (step.phase, step.each, step.records)
        if place in seen:
            problem = f"{step.records} is recorded by {seen[place]} already"
            instead = "this step is never reached: leave one out"
            yield Fault(f"step {number}.records", problem, instead)
        elif place in known:
            seen[place] = step_name(step, number)


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
