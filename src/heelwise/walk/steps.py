"""A procedure's step made into a prompt, and its answer into an entry."""

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from typing import Any

from heelwise.documents import entries as e
from heelwise.documents.faults import QuantityFault
from heelwise.documents.quantities import MEASURES, typed_length
from heelwise.documents.steps import Phase, Records, Step, StepOption
from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.figures import turns_text
from heelwise.valvetrain.positions import Position
from heelwise.walk.limits import gauge_limits
from heelwise.walk.prepare import known_true_tdc, reading_comes_to, refuse_wrench, wrench_facts
from heelwise.walk.prompts import A_NOTE, Fact, Option, Prompt, Refused, Reply, kept
from heelwise.walk.scene import Scene
from heelwise.wording import Length, Part, Text, listed, show_turns

REST_ON_PREVIOUS = -1
"""In a draft's `rests_on`: the entry made of the draft just before it in the same answer."""

NOTHING = "nothing to note"


def understood(read: Callable[[str], float], typed: str) -> float:
    """A typed reading as a number. Raises Refused with what is wrong and what would be right."""
    try:
        return read(typed)
    except QuantityFault as fault:
        raise Refused(fault.problem, fault.instead) from None


def read_quantity(what: str, typed: str) -> float:
    """A typed reading as a number (turns, mm, N·m or degrees); Refused as `understood` does."""
    return understood(MEASURES[what].read, typed)


def back_off(scene: Scene, valves: Iterable[Valve], why: e.BackOffWhy) -> e.Draft:
    """Rockers slackened where the crank stands."""
    body = e.BackedOff(valves=[str(valve) for valve in valves], why=why)
    return e.Draft(body, scene.crank_number)


def valve_among(typed: str, valves: Sequence[Valve]) -> Valve:
    """A valve as typed. Raises Refused where it isn't one of `valves`."""
    named = next((valve for valve in valves if str(valve) == typed.strip().upper()), None)
    if named is None:
        raise Refused(f"{typed!r} isn't one of them", f"of {listed(valves)}")
    return named


def valves_among(typed: str, valves: Sequence[Valve]) -> list[Valve]:
    """Valves as typed in a row: "3E 4I" or "3E, 4I". Raises Refused as `valve_among` does."""
    return [valve_among(name, valves) for name in typed.replace(",", " ").split()]


def words(
    scene: Scene, sentence: str, valve: Valve | None, position: Position | None, valves: str = ""
) -> Text:
    """A step's text with its places filled in; `valves`: those it is asked for at once."""
    build = scene.build
    places: dict[str, Callable[[], Part]] = {
        "{torque}": lambda: build.torque,
        "{turns}": lambda: show_turns(scene.never_past),
        "{wanted turns}": lambda: turns_text(scene.wanted_turns),
        "{wanted}": lambda: show_turns(scene.wanted_turns),
        "{true_tdc}": lambda: known_true_tdc(scene),
        "{position}": lambda: str(position.number) if position else "",
    }
    if valve is not None:
        state = scene.state.valves[valve]
        through = scene.state.answers.get(Records.THROUGH_BOLTS) == "through"
        places |= {
            "{valve}": lambda: str(valve),
            "{valves}": lambda: valves or str(valve),
            "{sealed}": lambda: ", seal its bolt if through" if through else "",
            "{bank}": lambda: build.engine.bank_of(valve.cylinder).name,
            "{pushrod}": lambda: typed_length(scene.pushrod_text(state)),
            "{stand}": lambda: listed(build.stand_of(valve)),
            "{lash}": lambda: Length(gauge_limits(scene, valve).wanted_mm),
            "{least}": lambda: Length(gauge_limits(scene, valve).least_mm),
            "{most}": lambda: Length(gauge_limits(scene, valve).most_mm),
        }
    sentence = sentence.strip().replace("{wanted} turns", "{wanted turns}")
    pieces = [piece for piece in re.split(r"(\{[\w ]+\})", sentence) if piece]
    filled = [places[piece]() if piece in places else piece for piece in pieces]
    if filled and filled[0] == "":  # nothing stands before the first word
        filled[1:2] = [str(filled[1]).lstrip()]
    return Text(*filled)


def step_applies(scene: Scene, step: Step) -> bool:
    """Whether a step is asked at all, by the lifters and what an earlier step was answered."""
    lifter = scene.build.setup.lifter
    given = step.records is Records.SEAT_TURNS and lifter and lifter.seat_turns is not None
    if given or not step.serves(lifter_kind(scene)):
        return False
    if step.only_if is None:
        return True
    earlier = scene.state.step(step.only_if.step)
    answered = earlier.when(e.Answered) if earlier else None
    return answered is not None and answered.body.answer == step.only_if.is_


def lifter_kind(scene: Scene) -> str:
    """The kind of lifter, as the setup has it; "" where there is none."""
    lifter = scene.build.setup.lifter
    return lifter.kind if lifter else ""


def step_prompt(
    scene: Scene,
    step: Step,
    valve: Valve | None = None,
    position: Position | None = None,
    rests_on: tuple[int, ...] = (),
) -> Prompt:
    """The prompt of a step; `rests_on`: the entries that its answer rests on."""
    held, why, measure = scene.state.not_yet, step.why, MEASURES.get(step.ask)
    name = str(valve) if valve else None
    if held and (held.body.step, held.body.valve) == (step.id, name):
        chosen = next((o.first for o in step.options if o.label == held.body.said), None)
        why = chosen or step.if_not or step.why
    of_step: dict[str, Any] = {
        "step": step.id,
        "position": position.number if position else None,
        "valve": name,
    }

    def take(answer: str, *rest: object) -> Reply:
        if measure is None:
            return kept(e.Noted(text=answer, step=step.id, valve=name), rests=rests_on)
        read_quantity(step.ask, answer)
        body = e.Measured(reading=answer, what=measure.name, **of_step)
        return kept(body, reading_comes_to(scene, step.records, answer), rests=rests_on)

    def skipped(reason: str = NOTHING) -> Reply:
        return kept(e.Skipped(reason=reason, **of_step), rests=rests_on)

    skip = Option("s", "skip it, with a reason", ("the reason",), skipped)
    skip = Option("s", NOTHING, does=skipped) if step.ask == "note" else skip
    return Prompt(
        id=step.id,
        phase=step.phase,
        question=words(scene, step.say, valve, position),
        take=take if step.ask not in ("confirm", "choice") else None,
        why=words(scene, why, valve, position),
        caution=step.caution,
        options=(*_options(scene, step, of_step, rests_on), *((skip,) if step.skippable else ())),
        reading=A_NOTE if step.ask == "note" else step.ask if measure else "",
        example=measure.example if measure else "",
        facts=_facts(scene, step),
        valve=valve,
        records=step.records or "",
        rests_on=rests_on,
        # Older procedures don't say it of themselves.
        turns_crank=step.turns_crank or (step.records is not None and step.records.turns_crank),
    )


def _facts(scene: Scene, step: Step) -> tuple[Fact, ...]:
    if step.records is Records.WRENCH:
        return wrench_facts(scene)
    note = scene.defaults.sealant_note
    asked = scene.build.procedure.step(step.only_if.step) if step.only_if else step
    if note is None or asked is None or asked.records is not Records.THROUGH_BOLTS:
        return ()
    return (Fact(note, "the procedure"),)


def _options(
    scene: Scene, step: Step, of_step: dict[str, Any], rests: tuple[int, ...]
) -> Iterator[Option]:
    def not_yet(label: str, first: str | None) -> Reply:
        return kept(e.NotYet(said=label, **of_step), first or "", rests=rests)

    def chosen(option: StepOption, note: str = "") -> Reply:
        body = e.Answered(answer=option.value, said=option.label, fills=step.records, **of_step)
        noted = e.Noted(text=note, valve=of_step["valve"]) if note else None
        return Reply(tuple(e.Draft(each, rests) for each in (body, noted) if each))

    by_digit = step.ask == "confirm" and step.phase == "prepare"  # like its choices
    if step.ask == "confirm":
        does = partial(_confirmed, scene, step, of_step, rests)
        yield Option("1" if by_digit else "y", step.yes or "it is so", does=does, also="y")
    if step.ask == "confirm" or (step.ask in MEASURES and step.no):
        no = step.no or "not yet"
        yield Option("2" if by_digit else "n", no, does=not_yet(no, step.if_not), also="n")
    for each in step.options if step.ask == "choice" else ():
        if each.serves(lifter_kind(scene)):
            answer = not_yet(each.label, each.first) if each.first else partial(chosen, each)
            yield Option(each.key, each.label, (each.note,) if each.note else (), answer)


def _confirmed(scene: Scene, step: Step, of_step: dict[str, Any], rests: tuple[int, ...]) -> Reply:
    if step.records is Records.WRENCH:
        refuse_wrench(scene)
    seen = step.yes or "it is so"
    body = e.Answered(answer="yes", said=seen, fills=step.records, **of_step)
    if step.records is not Records.CRANK_REFERENCE:
        return kept(body, rests=rests)
    # The crank stands at its mark by this very answer.
    crank = e.Draft(e.Crank(at_deg=0.0, how="reference", seen=seen), (REST_ON_PREVIOUS,))
    return Reply((e.Draft(body, rests), crank))


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


def build_step_due(scene: Scene, phase: Phase) -> Step | None:
    """The first step of a phase's opening, asked once a build, that isn't answered."""
    return steps_due(scene, scene.build.steps(phase, "build"), 0)


def opening_prompt(scene: Scene, phase: Phase) -> Prompt | None:
    """The next prompt of a phase's opening, or None."""
    due = build_step_due(scene, phase)
    return step_prompt(scene, due) if due is not None else None


def parts(scene: Scene, phase: str) -> tuple[tuple[Step, ...], Step, tuple[Step, ...]]:
    """The steps of each valve before its reading, that of the reading, and those after it."""
    steps = scene.build.steps(phase, "valve")
    place = next(i for i, step in enumerate(steps) if step.records and step.records.reads_valve)
    return steps[:place], steps[place], steps[place + 1 :]
