"""A procedure's step made into a prompt, and its answer into an entry."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import TypedDict

from heelwise.documents import quantities
from heelwise.documents.entries import (
    Answered,
    Crank,
    Draft,
    Measured,
    Noted,
    NotYet,
    Phase,
    Skipped,
)
from heelwise.documents.procedure import Step
from heelwise.valvetrain.positions import Position
from heelwise.valvetrain.valves import Valve
from heelwise.walk.cups import CUPS, cups_said
from heelwise.walk.prompts import Ask, Fact, Hazard, Option, Prompt, Refused, Taken
from heelwise.walk.scene import Scene
from heelwise.walk.true_tdc import LAST_READINGS, true_tdc_said
from heelwise.walk.wording import words
from heelwise.walk.wrench import refuse_wrench, wrench_facts

REST_ON_PREVIOUS = -1
"""In a draft's `rests_on`: the entry made of the draft just before it in the same answer."""

READ_BY_THE_WALK = ("count", "gauge", "recheck", "checked", "lash_checked", "drawn", "proof")
"""What a step fills that is no plain answer: the phase that asks it makes its own entry."""

WRENCH = "wrench"
"""What the step fills that asks after the torque wrench."""

SKIP = Option("s", "skip it, with a reason", ("the reason",))

_READERS = {
    "turns": quantities.turns,
    "length": quantities.length_mm,
    "lash": quantities.length_mm,
    "torque": quantities.torque_nm,
    "degrees": quantities.degrees,
}

_EXAMPLES = {
    "turns": "like 1 3/8, 1.375 or 495°",
    "length": 'like 7.400 in, 7.400" or 187.96 mm',
    "lash": "like 0.012 in or 0.30 mm",
    "torque": "like 25 lbf ft or 34 N·m",
    "degrees": "like 37.5°",
}


def step_applies(scene: Scene, step: Step) -> bool:
    """Whether a step is asked at all, by what an earlier step was answered."""
    if step.only_if is None:
        return True
    told = scene.standing.step(step.only_if.step)
    body = told.body if told else None
    return isinstance(body, Answered) and body.answer == step.only_if.is_


def hazard_of(step: Step) -> Hazard | None:
    """A step's caution, if it has one."""
    if step.caution is None:
        return None
    found = step.caution
    return Hazard(found.level, found.hazard, found.consequence, found.avoid)


def read_quantity(what: str, text: str) -> float:
    """A typed reading as a number (turns, mm, N·m or degrees).

    Raises:
        Refused: With what is wrong with it and what would be right.
    """
    try:
        return _READERS[what](text)
    except quantities.QuantityFault as fault:
        raise Refused(fault.problem, fault.instead) from None


def example_of(what: str) -> str:
    """How a reading of a kind is typed."""
    return _EXAMPLES[what]


def step_prompt(
    scene: Scene,
    step: Step,
    valve: Valve | None = None,
    position: Position | None = None,
    rests_on: tuple[int, ...] = (),
    facts: tuple[Fact, ...] = (),
) -> Prompt:
    """The prompt of a step that is a confirmation, a choice, a note or a plain reading.

    Args:
        scene: The moment of the build.
        step: The step.
        valve: The valve it is asked of, for `each = "valve"`.
        position: The position it is asked at.
        rests_on: Entries the answer rests on.
        facts: Figures to show with it.

    Returns:
        The prompt; its `id` is the step's.
    """
    asking = _Asking(scene, step, valve, position, rests_on)
    held = scene.standing.not_yet.body if scene.standing.not_yet else None
    why = step.why
    if isinstance(held, NotYet) and (held.step, held.valve) == (step.id, asking.valve_name):
        why = step.if_not or step.why
    plain_reading = step.ask in _READERS
    return Prompt(
        id=step.id,
        phase=asking.phase,
        ask=Ask.NOTE if step.ask == "note" else Ask.READING if plain_reading else Ask.CHOICE,
        question=words(scene, step.say, valve, position),
        take=asking.take,
        why=words(scene, why, valve, position),
        caution=hazard_of(step),
        options=asking.options(),
        reading=step.ask if plain_reading else "a note" if step.ask == "note" else "",
        example=example_of(step.ask) if plain_reading else "",
        facts=(*facts, *_sealant(scene, step), *_wrench(scene, step)),
        valve=valve,
        guarded=bool(step.guard),
        fills=step.fills or "",
        rests_on=rests_on,
    )


def _sealant(scene: Scene, step: Step) -> tuple[Fact, ...]:
    """The procedure's words on sealant, beside steps that are asked of through bolts."""
    note = scene.build.procedure.defaults.sealant_note
    asked = scene.build.procedure.step(step.only_if.step) if step.only_if else None
    if note is None or asked is None or asked.fills != "through_bolts":
        return ()
    return (Fact(note, "the procedure"),)


def _wrench(scene: Scene, step: Step) -> tuple[Fact, ...]:
    return wrench_facts(scene) if step.fills == WRENCH else ()


class _Where(TypedDict):
    step: str
    position: int | None
    valve: str | None


class _Asking:
    """One asking of one step: its options and how its answer becomes entries."""

    def __init__(
        self,
        scene: Scene,
        step: Step,
        valve: Valve | None,
        position: Position | None,
        rests_on: tuple[int, ...],
    ) -> None:
        self.scene, self.step, self.rests_on = scene, step, rests_on
        self.valve_name = str(valve) if valve else None
        self.position_number = position.number if position else None
        self.phase: Phase = step.phase

    def options(self) -> tuple[Option, ...]:
        step = self.step
        skip = (SKIP,) if step.skippable else ()
        if step.ask == "confirm":
            return (Option("y", step.yes or "it is so"), Option("n", step.no or "not yet"), *skip)
        if step.ask == "choice":
            return (*(Option(o.key, o.label) for o in step.options), *skip)
        return skip

    def take(self, answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        step = self.step
        if texts:
            return self._keep(Skipped(reason=texts[0], **self._where()))
        if step.ask == "confirm":
            return self._confirm(answer, now)
        if step.ask == "choice":
            option = next(o for o in step.options if o.key == answer)
            body = Answered(
                answer=option.value, said=option.label, fills=step.fills, **self._where()
            )
            return self._keep(body)
        if step.ask == "note":
            return self._keep(Noted(text=answer, step=step.id, valve=self.valve_name))
        read_quantity(step.ask, answer)
        said = ""
        if step.fills in LAST_READINGS:
            said = true_tdc_said(self.scene, step.fills, answer)
        elif step.fills in CUPS:
            said = cups_said(self.scene, step.fills, answer)
        measured = Measured(reading=answer, what=step.ask, **self._where())
        return Taken((Draft(measured, self.rests_on),), said)

    def _where(self) -> _Where:
        return {"step": self.step.id, "position": self.position_number, "valve": self.valve_name}

    def _confirm(self, answer: str, now: datetime) -> Taken:
        step = self.step
        if step.fills == WRENCH and answer == "y":
            refuse_wrench(self.scene, now.date())
        if answer == "n":
            body = NotYet(said=step.no or "not yet", **self._where())
            return Taken((Draft(body, self.rests_on),), step.if_not or "", "warn")
        said = step.yes or "it is so"
        confirmed = Answered(answer="yes", said=said, fills=step.fills, **self._where())
        drafts = [Draft(confirmed, self.rests_on)]
        if step.fills == "crank_reference":
            at_zero = Crank(at_deg=0.0, how="reference", seen=said)
            drafts.append(Draft(at_zero, (REST_ON_PREVIOUS,)))
        return Taken(tuple(drafts))

    def _keep(self, body: Answered | Skipped | Measured | Noted) -> Taken:
        return Taken((Draft(body, self.rests_on),))


def answered(scene: Scene, steps: Iterable[Step], valve: Valve | None) -> tuple[int, ...]:
    """The entries that answer some steps: what rests on them falls when one is crossed out."""
    told = (scene.standing.step(step.id, valve) for step in steps)
    return tuple(entry.number for entry in told if entry is not None)


def steps_due(
    scene: Scene,
    steps: tuple[Step, ...],
    since: int,
    valve: Valve | None = None,
) -> Step | None:
    """The first of some steps not answered since an entry, or None when all are.

    Args:
        scene: The moment of the build.
        steps: Steps in their order; counts and proofs are left to the phase that asks them.
        since: Answers up to this entry are stale (`first_time_only` steps keep theirs).
        valve: The valve the steps are asked of.
    """
    for step in steps:
        if step.fills in READ_BY_THE_WALK or not step_applies(scene, step):
            continue
        told = scene.standing.step(step.id, valve)
        stale = 0 if step.first_time_only else since
        if told is None or told.number <= stale:
            return step
    return None
