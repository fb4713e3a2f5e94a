"""Trials by checking pushrod, solid checking lifter or witness mark: the lengths wanted."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from heelwise.documents import quantities
from heelwise.documents.entries import Checked, Draft, Measured, NotYet, Skipped
from heelwise.documents.faults import QuantityFault
from heelwise.documents.procedure import Step
from heelwise.documents.quantities import typed_length
from heelwise.documents.setup_lifters import checking_pushrod_mm
from heelwise.documents.steps import Records
from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.positions import Position
from heelwise.valvetrain.pushrods import HOW_MEASURED, MOST_LASH_MM, length_from_lash
from heelwise.walk.crank import go_round, trials_off
from heelwise.walk.doubts import doubt_far, doubt_length, refuse_far
from heelwise.walk.limits import preload_limits
from heelwise.walk.prepare import above_text, cup_above_mm, cup_numbers
from heelwise.walk.prompts import Fact, Option, Prompt, Refused, Reply
from heelwise.walk.scene import Scene
from heelwise.walk.steps import answered, back_off, parts, read_quantity, step_prompt, steps_due
from heelwise.walk.trials import trial_valves
from heelwise.wording import Length, Text, text

_EXAMPLE = "like 214.5 mm or 210.0 mm + 3 1/2"
"""Both ways to type a checking pushrod's length, short enough for a line of a small screen."""


def checking_prompt(scene: Scene) -> Prompt | None:
    """The next prompt of the trials, or None when every trial valve has its length."""
    valves = trial_valves(scene)
    if back := _lifter_back_prompt(scene, valves):
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
    prompt = step_prompt(scene, due or reading, valve, position, scene.crank_number)
    if due is not None:
        return _with_pushrod(prompt, scene, due, valve)
    if reading.records is Records.PATTERN:
        # The crank is turned for the mark, with this valve's checking pushrod in and no other's.
        return trials_off(scene, "trial", but=valve) or _pattern_prompt(prompt, scene, valve)
    by_lash = reading.records is Records.LASH_CHECKED
    return (_lash_prompt if by_lash else _length_prompt)(prompt, scene, valve)


def _checked(
    scene: Scene, valve: Valve, came_to: Text, rests: Iterable[int], body: Mapping[str, Any]
) -> Reply:
    """Keep the length wanted on a valve, with what it was worked out from."""
    at_deg, margin_deg = scene.at_deg, scene.margin(valve)
    checked = Checked(valve=str(valve), at_deg=at_deg, margin_deg=margin_deg, **body)
    sentence = text("{}: {}, so {} is wanted.", valve, came_to, Length(checked.wanted_mm))
    return Reply((Draft(checked, (*scene.crank_number, *rests)),), sentence, "good")


def _or_off(prompt: Prompt, scene: Scene, valve: Valve) -> Prompt:
    """A step whose "not yet" takes the rocker off, for another pushrod."""

    def change(reply: Reply) -> Reply:
        if not isinstance(reply.drafts[0].body, NotYet):
            return reply
        off = back_off(scene, (valve,), "count again")
        return replace(reply, drafts=(*reply.drafts, off))

    return prompt.then(change)


# -------------------------------------------------- by a checking pushrod


def _length_prompt(prompt: Prompt, scene: Scene, valve: Valve) -> Prompt:
    defaults = scene.defaults
    return replace(
        prompt,
        reading="its length at zero lash, or shortest + turns out",
        example=_EXAMPLE,
        facts=(
            Fact(
                text("a turn out adds {}", typed_length(defaults.checking_pitch)),
                defaults.checking_pitch_source,
            ),
            _preload_wanted(scene),
            Fact(HOW_MEASURED, "two makers; see how yours states it"),
        ),
        take=lambda answer, *_: _length_found(scene, valve, answer),
    )


def _preload_wanted(scene: Scene) -> Fact:
    limits = preload_limits(scene)
    deep = Length(limits.wanted_mm)
    return Fact(text("preload wanted {}: the middle of what is allowed", deep), limits.source)


def _length_found(scene: Scene, valve: Valve, answer: str) -> Reply:
    pitch = quantities.length_mm(scene.defaults.checking_pitch)
    try:
        mm = checking_pushrod_mm(answer, pitch)
    except QuantityFault as fault:
        raise Refused(fault.problem, fault.instead) from None
    refuse_far(scene, valve, answer, mm)
    if doubted := doubt_far(scene, valve, answer, mm):
        return doubted
    turned, limits = "+" in answer, preload_limits(scene)
    worked = text("{} is {}", answer, Length(mm)) if turned else text("{}", typed_length(answer))
    rests = answered(scene, scene.build.steps("trial", "valve"), valve)
    body = {
        "length": answer,
        "zero_lash_mm": mm if turned else None,
        "preload_mm": limits.wanted_mm,
        "preload_from": limits.source,
        "wanted_mm": mm + limits.wanted_mm,
    }
    return _checked(scene, valve, worked + " at zero lash", rests, body)


# ------------------------------------------------ by the witness mark on the tip


def _pattern_prompt(prompt: Prompt, scene: Scene, valve: Valve) -> Prompt:
    """Where the mark stands; off the middle, the rocker comes off for another length."""
    tried = scene.recorded(Records.PATTERN_LENGTH, valve)

    def change(reply: Reply) -> Reply:
        kept = isinstance(reply.drafts[0].body, NotYet | Skipped)
        return reply if kept or tried is None else _right_length(scene, valve, tried.body)

    return _or_off(prompt, scene, valve).then(change)


def _right_length(scene: Scene, valve: Valve, tried: Measured) -> Reply:
    mm = quantities.length_mm(tried.reading)
    sold = min(scene.build.setup.lengths(), key=lambda each: abs(each - mm), default=mm)
    entry = scene.recorded(Records.PATTERN_LENGTH, valve)
    body = {
        "length": tried.reading,
        "zero_lash_mm": sold,
        "preload_mm": 0.0,
        "preload_from": "the adjuster",
        "wanted_mm": sold,
        "pattern": True,
    }
    rests = (entry.number,) if entry else ()
    return _checked(scene, valve, text("the mark stands right"), rests, body)


# ------------------------------------------------- by a solid checking lifter


def _lifter_back_prompt(scene: Scene, valves: Iterable[Valve]) -> Prompt | None:
    """The step that puts a hydraulic lifter back where the lash was read, or None.

    It comes after each reading, the rocker backed off first, and again after every new one.
    """
    _, reading, after = parts(scene, "trial")
    if reading.records is not Records.LASH_CHECKED:
        return None
    for valve in valves:
        checked, loosened = scene.state.valves[valve].checked, scene.state.valves[valve].loosened
        due = steps_due(scene, after, checked.number, valve) if checked else None
        if due is not None:
            rests = tuple(e.number for e in (checked, loosened) if e is not None)
            return trials_off(scene, "trial") or step_prompt(scene, due, valve, rests_on=rests)
    return None


def _with_pushrod(prompt: Prompt, scene: Scene, step: Step, valve: Valve) -> Prompt:
    if step.records in (Records.CHECKING_LENGTH, Records.PATTERN_LENGTH):
        return _length_looked_at(prompt, scene, valve)
    before = parts(scene, "trial")[0]
    asked = [each.records for each in before[: before.index(step)]]
    return _or_off(prompt, scene, valve) if Records.CHECKING_LENGTH in asked else prompt


def _length_looked_at(prompt: Prompt, scene: Scene, valve: Valve) -> Prompt:
    def change(reply: Reply) -> Reply:
        measured = reply.drafts[0].body
        if not isinstance(measured, Measured):
            return reply
        return doubt_length(scene, valve, measured.reading) or reply

    in_setup = text("the setup has {}", typed_length(scene.build.set_length(valve)))
    facts = (*prompt.facts, *_served(scene, valve), Fact(in_setup, "the setup's pushrods"))
    return replace(prompt.then(change), facts=facts)


def _served(scene: Scene, valve: Valve) -> tuple[Fact, ...]:
    """What left a lash last, on a valve of the same kind where there is one."""
    checked = [(v.kind is valve.kind, s.checked) for v, s in scene.state.valves.items()]
    served = [(alike, entry.number, entry.body) for alike, entry in checked if entry is not None]
    if not served:
        return ()
    _, _, body = max(served, key=lambda each: each[:2])
    begin = text("begin with {}: it left {} of lash on {}", body.length, body.lash, body.valve)
    return (Fact(begin, "a reading"),)


def _lash_prompt(prompt: Prompt, scene: Scene, valve: Valve) -> Prompt:
    pushrod, above = scene.recorded(Records.CHECKING_LENGTH, valve), cup_above_mm(scene)
    if pushrod is None or above is None:
        raise LookupError("the pushrod's length and both cup heights come before the lash")
    typed, ratio = pushrod.body.reading, scene.build.rocker.ratio
    sentence = f"{valve}: with no lash the pushrod is too long: a shorter one first. "
    sentence += "With too much, a longer one."
    off = Reply((back_off(scene, (valve,), "count again"),), sentence, "warn")
    return replace(
        prompt,
        options=(
            Option("p", "tight, or far too loose: take it out for another pushrod", does=off),
        ),
        reading="the lash: the thickest gauge that passes",
        facts=(
            Fact(text("pushrod in the solid lifter {}", typed_length(typed)), "a reading"),
            Fact(above_text(above), "worked out from the two heights read"),
            Fact(f"ratio {ratio:g}: the lash is divided by it", "the setup"),
            _preload_wanted(scene),
        ),
        take=lambda answer, *_: _lash_found(scene, valve, typed, above, answer),
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
    came_to = text(
        "{} of lash over {} is {} at zero lash on its hydraulic lifter",
        typed_length(answer),
        typed_length(typed),
        Length(zero),
    )
    body = {
        "length": typed,
        "lash": answer,
        "cup_above_mm": above,
        "zero_lash_mm": zero,
        "preload_mm": limits.wanted_mm,
        "preload_from": limits.source,
        "wanted_mm": length_from_lash(length, lash, ratio, limits.wanted_mm, above),
    }
    rests = (*cup_numbers(scene), *answered(scene, parts(scene, "trial")[0], valve))
    return _checked(scene, valve, came_to, rests, body)
