"""A procedure's step made into a prompt, and its answer into an entry."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TypedDict

from heelwise.documents import quantities
from heelwise.documents.entries import (
    Answered,
    BackedOff,
    BackOffWhy,
    Crank,
    Draft,
    Measured,
    Noted,
    NotYet,
    Skipped,
)
from heelwise.documents.quantities import MEASURES, QuantityFault, typed_length
from heelwise.documents.steps import Records, Step, StepOption
from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.positions import Position
from heelwise.walk.limits import gauge_limits
from heelwise.walk.prepare import known_true_tdc, reading_comes_to, refuse_wrench, wrench_facts
from heelwise.walk.prompts import Ask, Fact, Hazard, Option, Prompt, Refused, Reply
from heelwise.walk.scene import Scene
from heelwise.wording import Length, Part, Text, listed

REST_ON_PREVIOUS = -1
"""In a draft's `rests_on`: the entry made of the draft just before it in the same answer."""

SKIP = Option("s", "skip it, with a reason", ("the reason",))


def read_quantity(what: str, typed: str) -> float:
    """A typed reading as a number (turns, mm, N·m or degrees).

    Raises Refused with what is wrong with it and what would be right.
    """
    try:
        return MEASURES[what].read(typed)
    except QuantityFault as fault:
        raise Refused(fault.problem, fault.instead) from None


def back_off(scene: Scene, valves: Iterable[Valve], why: BackOffWhy) -> Draft:
    """Rockers slackened where the crank stands."""
    body = BackedOff(valves=[str(valve) for valve in valves], why=why)
    return Draft(body, scene.crank_number)


def valve_among(typed: str, valves: Sequence[Valve]) -> Valve:
    """A valve as typed. Raises Refused where it isn't one of `valves`."""
    named = next((valve for valve in valves if str(valve) == typed.strip().upper()), None)
    if named is None:
        raise Refused(f"{typed!r} isn't one of them", f"of {listed(valves)}")
    return named


def example_of(what: str) -> str:
    """How a reading of a kind is typed."""
    return MEASURES[what].example


def words(scene: Scene, sentence: str, valve: Valve | None, position: Position | None) -> Text:
    """A step's text with its places filled in; only what stands in it is worked out."""
    places = _places(scene, valve, position)
    pieces = re.split(r"(\{\w+\})", sentence.strip())
    return Text(*(places[piece]() if piece in places else piece for piece in pieces if piece))


def _places(
    scene: Scene, valve: Valve | None, position: Position | None
) -> Mapping[str, Callable[[], Part]]:
    always: dict[str, Callable[[], Part]] = {
        "{torque}": lambda: scene.build.torque,
        "{turns}": lambda: quantities.show_turns(scene.never_past),
        "{wanted}": lambda: quantities.show_turns(scene.wanted_turns),
        "{true_tdc}": lambda: known_true_tdc(scene),
        "{position}": lambda: str(position.number) if position else "",
    }
    if valve is None:
        return always
    return {
        **always,
        "{valve}": lambda: str(valve),
        "{bank}": lambda: scene.build.engine.bank_of(valve.cylinder).name,
        "{pushrod}": lambda: typed_length(scene.pushrod_text(scene.state.valves[valve])),
        "{stand}": lambda: scene.build.stand_text(valve),
        "{lash}": lambda: Length(gauge_limits(scene, valve).wanted_mm),
        "{least}": lambda: Length(gauge_limits(scene, valve).least_mm),
        "{most}": lambda: Length(gauge_limits(scene, valve).most_mm),
    }


def step_applies(scene: Scene, step: Step) -> bool:
    """Whether a step is asked at all, by the lifters and what an earlier step was answered."""
    if not step.serves(lifter_kind(scene)):
        return False
    if step.only_if is None:
        return True
    earlier = scene.state.step(step.only_if.step)
    answered = earlier.when(Answered) if earlier else None
    return answered is not None and answered.body.answer == step.only_if.is_


def lifter_kind(scene: Scene) -> str:
    """The kind of lifter, as the setup has it; "" where there is none."""
    lifter = scene.build.setup.lifter
    return lifter.kind if lifter else ""


def turns_crank(step: Step) -> bool:
    """Whether a step sends the crank round; older procedures don't say it of themselves."""
    return step.turns_crank or (step.records is not None and step.records.turns_crank)


def hazard_of(step: Step) -> Hazard | None:
    """A step's caution, if it has one."""
    caution = step.caution
    if caution is None:
        return None
    return Hazard(caution.level, caution.hazard, caution.consequence, caution.avoid)


def step_prompt(
    scene: Scene,
    step: Step,
    valve: Valve | None = None,
    position: Position | None = None,
    rests_on: tuple[int, ...] = (),
) -> Prompt:
    """The prompt of a step that is a confirmation, a choice, a note or a plain reading.

    Its `id` is the step's; `rests_on` are entries the answer rests on.
    """
    asking = _Asking(scene, step, valve, position, rests_on)
    held = scene.state.not_yet
    why = step.why
    if held and (held.body.step, held.body.valve) == (step.id, asking.valve_name):
        chosen = next((o.first for o in step.options if o.label == held.body.said), None)
        why = chosen or step.if_not or step.why
    plain_reading = step.ask in MEASURES
    return Prompt(
        id=step.id,
        phase=step.phase,
        ask=Ask.NOTE if step.ask == "note" else Ask.READING if plain_reading else Ask.CHOICE,
        question=words(scene, step.say, valve, position),
        take=asking.take,
        why=words(scene, why, valve, position),
        caution=hazard_of(step),
        options=asking.options(),
        reading=step.ask if plain_reading else "a note" if step.ask == "note" else "",
        example=example_of(step.ask) if plain_reading else "",
        facts=_facts(scene, step),
        valve=valve,
        records=step.records or "",
        rests_on=rests_on,
        turns_crank=turns_crank(step),
    )


def _facts(scene: Scene, step: Step) -> tuple[Fact, ...]:
    if step.records is Records.WRENCH:
        return wrench_facts(scene)
    note = scene.build.procedure.defaults.sealant_note
    asked = scene.build.procedure.step(step.only_if.step) if step.only_if else step
    if note is None or asked is None or asked.records is not Records.THROUGH_BOLTS:
        return ()
    return (Fact(note, "the procedure"),)


class _Where(TypedDict):
    step: str
    position: int | None
    valve: str | None


@dataclass(frozen=True)
class _Asking:
    """One asking of one step: its options and how its answer becomes entries."""

    scene: Scene
    step: Step
    valve: Valve | None
    position: Position | None
    rests_on: tuple[int, ...]

    @property
    def valve_name(self) -> str | None:
        return str(self.valve) if self.valve else None

    @property
    def where(self) -> _Where:
        number = self.position.number if self.position else None
        return {"step": self.step.id, "position": number, "valve": self.valve_name}

    def options(self) -> tuple[Option, ...]:
        step = self.step
        skip = (SKIP,) if step.skippable else ()
        if step.ask == "confirm":
            return (Option("y", step.yes or "it is so"), Option("n", step.no or "not yet"), *skip)
        if step.ask == "choice":
            kind = lifter_kind(self.scene)
            offered = (
                Option(o.key, o.label, (o.note,) if o.note else ())
                for o in step.options
                if o.serves(kind)
            )
            return (*offered, *skip)
        return skip

    def take(self, answer: str, texts: tuple[str, ...], now: datetime) -> Reply:
        step = self.step
        if answer == SKIP.key and texts:
            return self._keep(Skipped(reason=texts[0], **self.where))
        if step.ask == "confirm":
            return self._confirm(answer, now)
        if step.ask == "choice":
            return self._choice(next(o for o in step.options if o.key == answer), texts)
        if step.ask == "note":
            return self._keep(Noted(text=answer, step=step.id, valve=self.valve_name))
        read_quantity(step.ask, answer)
        comes_to = reading_comes_to(self.scene, step.records, answer)
        return self._keep(Measured(reading=answer, what=step.ask, **self.where), comes_to)

    def _choice(self, option: StepOption, texts: tuple[str, ...]) -> Reply:
        if option.first:
            body = NotYet(said=option.label, **self.where)
            return Reply((Draft(body, self.rests_on),), option.first, "warn")
        chosen = Answered(
            answer=option.value, said=option.label, fills=self.step.records, **self.where
        )
        notes = [Draft(Noted(text=text, valve=self.valve_name), self.rests_on) for text in texts]
        return Reply((Draft(chosen, self.rests_on), *notes))

    def _confirm(self, answer: str, now: datetime) -> Reply:
        step = self.step
        if answer == "n":
            body = NotYet(said=step.no or "not yet", **self.where)
            return Reply((Draft(body, self.rests_on),), step.if_not or "", "warn")
        if step.records is Records.WRENCH:
            refuse_wrench(self.scene, now.date())
        seen = step.yes or "it is so"
        confirmed = Answered(answer="yes", said=seen, fills=step.records, **self.where)
        drafts = [Draft(confirmed, self.rests_on)]
        if step.records is Records.CRANK_REFERENCE:
            at_zero = Crank(at_deg=0.0, how="reference", seen=seen)
            drafts.append(Draft(at_zero, (REST_ON_PREVIOUS,)))
        return Reply(tuple(drafts))

    def _keep(self, body: Answered | Skipped | Measured | Noted, comes_to: str = "") -> Reply:
        return Reply((Draft(body, self.rests_on),), comes_to)


def answered(scene: Scene, steps: Iterable[Step], valve: Valve | None) -> tuple[int, ...]:
    """The entries that answer some steps: what rests on them falls when one is crossed out."""
    entries = (scene.state.step(step.id, valve) for step in steps)
    return tuple(entry.number for entry in entries if entry is not None)


def steps_due(
    scene: Scene,
    steps: tuple[Step, ...],
    since: int,
    valve: Valve | None = None,
) -> Step | None:
    """The first of some steps not answered since an entry, or None when all are.

    Answers up to `since` are stale; those of `first_time_only` steps hold until the bolt is backed
    off: what was put on it is gone then. Counts and proofs are left to the phase that asks them.
    """
    for step in steps:
        own_entry = step.records is not None and step.records.own_entry
        if own_entry or not step_applies(scene, step):
            continue
        entry = scene.state.step(step.id, valve)
        undone = scene.state.valves[valve].slackened if valve else 0
        stale = undone if step.first_time_only else since
        if entry is None or entry.number <= stale:
            return step
    return None


def parts(scene: Scene, phase: str) -> tuple[tuple[Step, ...], Step, tuple[Step, ...]]:
    """The steps of each valve before its reading, that of the reading, and those after it."""
    steps = scene.build.steps(phase, "valve")
    place = next(i for i, step in enumerate(steps) if step.records and step.records.reads_valve)
    return steps[:place], steps[place], steps[place + 1 :]
