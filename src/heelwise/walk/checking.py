"""Trials by checking pushrod, solid checking lifter or witness mark: the lengths wanted."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from heelwise.documents import quantities
from heelwise.documents.entries import BackedOff, Checked, Draft, Measured, NotYet, Skipped
from heelwise.documents.entry_base import Entry
from heelwise.documents.procedure import Step
from heelwise.documents.quantities import (
    CHECKING_EXAMPLE,
    by_turns_out,
    checking_pushrod_mm,
    typed_length,
)
from heelwise.documents.steps import Records
from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.positions import Position
from heelwise.valvetrain.pushrods import HOW_MEASURED, MOST_LASH_MM, length_from_lash
from heelwise.walk.crank import go_round, trials_off
from heelwise.walk.doubts import pushrod_mm, refuse_far
from heelwise.walk.limits import preload_limits
from heelwise.walk.prepare import above_text, cup_above_mm, cup_numbers
from heelwise.walk.prompts import Fact, Option, Prompt, Refused, Reply
from heelwise.walk.scene import Scene
from heelwise.walk.steps import (
    answered,
    parts,
    read_quantity,
    step_prompt,
    steps_due,
)
from heelwise.walk.trials import trial_valves
from heelwise.wording import Length, text

ANOTHER = Option("p", "tight, or far too loose: it comes off for another pushrod")


def checking_prompt(scene: Scene) -> Prompt | None:
    """The next prompt of the trials, or None when every trial valve has its length."""
    valves = trial_valves(scene)
    back = _lifter_back_prompt(scene, valves)
    if back is not None:
        return back
    needy = [v for v in valves if scene.state.valves[v].checked is None]
    if not needy:
        return None

    def serve(valve: Valve, position: Position | None) -> Prompt:
        return _serve(scene, valve, position)

    return go_round(scene, "trial", scene.plan, needy, serve)


def _serve(scene: Scene, valve: Valve, position: Position | None) -> Prompt:
    before, reading, _ = parts(scene, "trial")
    since = max(scene.state.valves[valve].touched, scene.state.resumed_at)
    due = steps_due(scene, before, since, valve)
    by_lash = reading.records is Records.LASH_CHECKED
    if due is not None:
        prompt = step_prompt(scene, due, valve, position, scene.crank_number)
        return _with_pushrod(prompt, scene, due, valve) if by_lash else prompt
    if reading.records is Records.PATTERN:
        # The crank is turned for the mark, with this valve's checking pushrod in and no other's.
        off = trials_off(scene, "trial", but=valve)
        return off or _pattern_prompt(scene, reading, valve, position)
    return (_lash_prompt if by_lash else _length_prompt)(scene, reading, valve, position)


# -------------------------------------------------- by a checking pushrod


def _length_prompt(scene: Scene, step: Step, valve: Valve, position: Position | None) -> Prompt:
    defaults = scene.build.procedure.defaults
    pitch = typed_length(defaults.checking_pitch)

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Reply:
        return _length_found(scene, valve, answer)

    return replace(
        step_prompt(scene, step, valve, position, scene.crank_number),
        reading="its length at zero lash, or shortest + turns out",
        example=CHECKING_EXAMPLE,
        facts=(
            Fact(text("a turn out adds {}", pitch), defaults.checking_pitch_source),
            _preload_wanted(scene),
            Fact(HOW_MEASURED, "two makers; see how yours states it"),
        ),
        take=take,
    )


def _preload_wanted(scene: Scene) -> Fact:
    limits = preload_limits(scene)
    deep = Length(limits.middle_mm)
    return Fact(text("preload wanted {}: the middle of what is allowed", deep), limits.source)


def _length_found(scene: Scene, valve: Valve, answer: str) -> Reply:
    pitch = quantities.length_mm(scene.build.procedure.defaults.checking_pitch)
    try:
        mm = checking_pushrod_mm(answer, pitch)
    except quantities.QuantityFault as fault:
        raise Refused(fault.problem, fault.instead) from None
    refuse_far(scene, valve, answer, mm)
    turned, limits = by_turns_out(answer), preload_limits(scene)
    wanted = mm + limits.middle_mm
    body = Checked(
        valve=str(valve),
        length=answer,
        zero_lash_mm=mm if turned else None,
        at_deg=scene.at_deg,
        margin_deg=scene.margin(valve),
        preload_mm=limits.middle_mm,
        preload_from=limits.source,
        wanted_mm=wanted,
    )
    worked = text("{} is {}", answer, Length(mm)) if turned else text("{}", typed_length(answer))
    sentence = text("{}: {} at zero lash, so {} is wanted.", valve, worked, Length(wanted))
    rests = (*scene.crank_number, *answered(scene, scene.build.steps("trial", "valve"), valve))
    return Reply((Draft(body, rests),), sentence, "good")


# ------------------------------------------------ by the witness mark on the tip


def _pattern_prompt(scene: Scene, step: Step, valve: Valve, position: Position | None) -> Prompt:
    """Where the mark stands; off the middle, the rocker comes off for another length."""
    plain = step_prompt(scene, step, valve, position, scene.crank_number)
    tried = scene.recorded(Records.PATTERN_LENGTH, valve)

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Reply:
        reply = plain.take(answer, texts, now)
        if isinstance(reply.drafts[0].body, NotYet):
            return replace(reply, drafts=(*reply.drafts, _off(scene, valve)))
        if tried is None or isinstance(reply.drafts[0].body, Skipped):
            return reply
        return _right_length(scene, valve, tried)

    return replace(plain, take=take)


def _right_length(scene: Scene, valve: Valve, tried: Entry[Measured]) -> Reply:
    mm = quantities.length_mm(tried.body.reading)
    sold = min(scene.build.setup.lengths(), key=lambda each: abs(each - mm), default=mm)
    body = Checked(
        valve=str(valve),
        length=tried.body.reading,
        zero_lash_mm=sold,
        at_deg=scene.at_deg,
        margin_deg=scene.margin(valve),
        preload_mm=0.0,
        preload_from="the adjuster",
        wanted_mm=sold,
        pattern=True,
    )
    sentence = text("{}: the mark stands right, so {} is wanted.", valve, Length(sold))
    return Reply((Draft(body, (*scene.crank_number, tried.number)),), sentence, "good")


# ------------------------------------------------- by a solid checking lifter


def _lifter_back_prompt(scene: Scene, valves: Iterable[Valve]) -> Prompt | None:
    """The step that puts a hydraulic lifter back where the lash was read, or None.

    It comes after each reading, the rocker backed off first, and anew after every new one.
    """
    _, reading, after = parts(scene, "trial")
    if reading.records is not Records.LASH_CHECKED:
        return None
    for valve in valves:
        valve_state = scene.state.valves[valve]
        checked = valve_state.checked
        due = steps_due(scene, after, checked.number, valve) if checked else None
        if due is not None:
            rests = [e.number for e in (checked, valve_state.loosened) if e is not None]
            off = trials_off(scene, "trial")
            return off or step_prompt(scene, due, valve, rests_on=tuple(rests))
    return None


def _with_pushrod(prompt: Prompt, scene: Scene, step: Step, valve: Valve) -> Prompt:
    if step.records is Records.CHECKING_LENGTH:
        return _length_looked_at(prompt, scene, valve)
    before = parts(scene, "trial")[0]
    asked = [each.records for each in before[: before.index(step)]]
    return _comes_off(prompt, scene, valve) if Records.CHECKING_LENGTH in asked else prompt


def _length_looked_at(prompt: Prompt, scene: Scene, valve: Valve) -> Prompt:
    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Reply:
        pushrod_mm(scene, valve, answer)
        return prompt.take(answer, texts, now)

    in_setup = text("the setup has {}", typed_length(scene.build.set_length(valve)))
    facts = (*prompt.facts, *_served(scene, valve), Fact(in_setup, "the setup's pushrods"))
    return replace(prompt, facts=facts, take=take)


def _served(scene: Scene, valve: Valve) -> tuple[Fact, ...]:
    best = max(
        (s for s in scene.state.valves.values() if s.checked is not None),
        key=lambda s: (s.valve.kind is valve.kind, s.checked.number if s.checked else 0),
        default=None,
    )
    if best is None or best.checked is None:
        return ()
    body = best.checked.body
    begin = text("begin with {}: it left {} of lash on {}", body.length, body.lash, body.valve)
    return (Fact(begin, "a reading"),)


def _comes_off(prompt: Prompt, scene: Scene, valve: Valve) -> Prompt:
    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Reply:
        reply = prompt.take(answer, texts, now)
        if not isinstance(reply.drafts[0].body, NotYet):
            return reply
        return replace(reply, drafts=(*reply.drafts, _off(scene, valve)))

    return replace(prompt, take=take)


def _off(scene: Scene, valve: Valve) -> Draft:
    return Draft(BackedOff(valves=[str(valve)], why="count again"), scene.crank_number)


def _lash_prompt(scene: Scene, step: Step, valve: Valve, position: Position | None) -> Prompt:
    pushrod, above = scene.recorded(Records.CHECKING_LENGTH, valve), cup_above_mm(scene)
    if pushrod is None or above is None:
        raise LookupError("the pushrod's length and both cup heights come before the lash")
    typed, ratio = pushrod.body.reading, scene.build.rocker.ratio

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Reply:
        if answer == ANOTHER.key:
            sentence = f"{valve}: with no lash the pushrod is too long: a shorter one first. "
            sentence += "With too much, a longer one."
            return Reply((_off(scene, valve),), sentence, "warn")
        return _lash_found(scene, valve, typed, above, answer)

    in_lifter = text("pushrod in the solid lifter {}", typed_length(typed))
    return replace(
        step_prompt(scene, step, valve, position, scene.crank_number),
        options=(ANOTHER,),
        reading="the lash: the thickest gauge that passes",
        facts=(
            Fact(in_lifter, "a reading"),
            Fact(above_text(above), "worked out from the two heights read"),
            Fact(f"ratio {ratio:g}: the lash is divided by it", "the setup"),
            _preload_wanted(scene),
        ),
        take=take,
    )


def _lash_found(scene: Scene, valve: Valve, typed: str, above: float, answer: str) -> Reply:
    lash, limits = read_quantity("lash", answer), preload_limits(scene)
    if lash <= 0:
        problem = f"{answer} leaves no lash: the pushrod is too long for the solid lifter"
        raise Refused(problem, "p, then a shorter pushrod")
    if lash > MOST_LASH_MM:
        problem = text("{} is more than {} of lash", answer, Length(MOST_LASH_MM))
        raise Refused(problem, "p, then a longer pushrod")
    length, ratio = quantities.length_mm(typed), scene.build.rocker.ratio
    zero = length_from_lash(length, lash, ratio, 0.0, above)
    wanted = length_from_lash(length, lash, ratio, limits.middle_mm, above)
    body = Checked(
        valve=str(valve),
        length=typed,
        lash=answer,
        cup_above_mm=above,
        zero_lash_mm=zero,
        at_deg=scene.at_deg,
        margin_deg=scene.margin(valve),
        preload_mm=limits.middle_mm,
        preload_from=limits.source,
        wanted_mm=wanted,
    )
    sentence = text(
        "{}: {} of lash over {} is {} at zero lash on its hydraulic lifter, so {} is wanted.",
        valve,
        typed_length(answer),
        typed_length(typed),
        Length(zero),
        Length(wanted),
    )
    rests = (
        *cup_numbers(scene),
        *scene.crank_number,
        *answered(scene, parts(scene, "trial")[0], valve),
    )
    return Reply((Draft(body, rests),), sentence, "good")
