"""Trials by checking pushrod, solid checking lifter or witness mark: the lengths wanted."""

from collections.abc import Iterable
from dataclasses import replace
from functools import partial
from typing import Any

from heelwise.documents.entries import Answered, Checked, Measured, NotYet
from heelwise.documents.quantities import length_mm, typed_length
from heelwise.documents.setup_lifters import checking_pushrod_mm
from heelwise.documents.steps import Records
from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.positions import Position
from heelwise.valvetrain.pushrods import HOW_MEASURED, MOST_LASH_MM, length_from_lash
from heelwise.walk.crank import go_round, trials_off
from heelwise.walk.doubts import doubt_length, pushrod_mm
from heelwise.walk.limits import Limits, preload_limits
from heelwise.walk.prepare import above_text, cup_above_mm, cup_numbers
from heelwise.walk.prompts import Fact, Option, Prompt, Refused, Reply, kept
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
    return go_round(scene, "trial", scene.plan, needy, partial(_serve, scene)) if needy else None


def _serve(scene: Scene, valve: Valve, position: Position | None) -> Prompt:
    before, reading, _ = parts(scene, "trial")
    since = max(scene.state.valves[valve].touched, scene.state.resumed_at)
    due = steps_due(scene, before, since, valve)
    prompt = step_prompt(scene, due or reading, valve, position, scene.crank_number)
    if due is not None:
        if due.records in (Records.CHECKING_LENGTH, Records.PATTERN_LENGTH):
            return _pushrod_prompt(prompt, scene, valve)
        asked = [each.records for each in before[: before.index(due)]]
        return _or_off(prompt, scene, valve) if Records.CHECKING_LENGTH in asked else prompt
    if reading.records is Records.PATTERN:
        # The crank is turned for the mark, with this valve's checking pushrod in and no other's.
        return trials_off(scene, but=valve) or _pattern_prompt(prompt, scene, valve)
    by_lash = reading.records is Records.LASH_CHECKED
    return (_lash_prompt if by_lash else _length_prompt)(prompt, scene, valve)


def _pushrod_prompt(prompt: Prompt, scene: Scene, valve: Valve) -> Prompt:
    """The pushrod that goes in, measured: a length far from the others is asked once more."""

    def doubted(reply: Reply) -> Reply:
        typed = getattr(reply.drafts[0].body, "reading", "")
        return doubt_length(scene, valve, typed, pushrod_mm(scene, valve, typed)) or reply

    in_setup = text("the setup has {}", typed_length(scene.build.set_length(valve)))
    fact = Fact(in_setup, "the setup's pushrods")
    return replace(prompt.then(doubted, on=Measured), facts=(*prompt.facts, fact))


def _or_off(prompt: Prompt, scene: Scene, valve: Valve) -> Prompt:
    """A step whose "not yet" takes the rocker off, for another pushrod."""
    off = back_off(scene, (valve,), "count again")
    return prompt.then(lambda reply: replace(reply, drafts=(*reply.drafts, off)), on=NotYet)


def _checked(
    scene: Scene, valve: Valve, came_to: str, zero_mm: float, limits: Limits, **body: Any
) -> Reply:
    checked = Checked(
        valve=str(valve),
        at_deg=scene.at_deg,
        margin_deg=scene.margin(valve),
        preload_mm=limits.wanted_mm,
        preload_from=limits.source,
        wanted_mm=zero_mm + limits.wanted_mm,
        **body,
    )
    sentence = text("{}: {}, so {} is wanted.", valve, came_to, Length(checked.wanted_mm))
    rests = (*cup_numbers(scene), *answered(scene, parts(scene, "trial")[0], valve))
    return kept(checked, sentence, "good", (*scene.crank_number, *rests))


def _length_prompt(prompt: Prompt, scene: Scene, valve: Valve) -> Prompt:
    defaults, limits = scene.defaults, preload_limits(scene)
    pitch = defaults.checking_pitch

    def take(answer: str, *_: object) -> Reply:
        read = partial(checking_pushrod_mm, pitch_mm=length_mm(pitch))
        mm, turned = pushrod_mm(scene, valve, answer, read), "+" in answer
        worked = text("{} is {}", answer, Length(mm)) if turned else Text(typed_length(answer))
        came_to = worked + " at zero lash"
        body = {"length": answer, "zero_lash_mm": mm if turned else None}
        found = _checked(scene, valve, came_to, mm, limits, **body)
        return doubt_length(scene, valve, answer, mm) or found

    return replace(
        prompt,
        reading="its length at zero lash, or shortest + turns out",
        example=_EXAMPLE,
        facts=(
            Fact(text("a turn out adds {}", typed_length(pitch)), defaults.checking_pitch_source),
            *limits.facts,
            Fact(HOW_MEASURED, "two makers; see how yours states it"),
        ),
        take=take,
    )


def _pattern_prompt(prompt: Prompt, scene: Scene, valve: Valve) -> Prompt:
    """Where the witness mark stands; off the middle, the rocker comes off for another length."""
    tried = scene.recorded(Records.PATTERN_LENGTH, valve)
    if tried is None:
        return prompt

    def right_length(_: Reply) -> Reply:
        length, by_nut = tried.body.reading, Limits(0.0, 0.0, 0.0, "the adjuster")
        mm = length_mm(length)
        sold = min(scene.build.setup.lengths(), key=lambda each: abs(each - mm), default=mm)
        body = {"length": length, "zero_lash_mm": sold, "pattern": True}
        return _checked(scene, valve, "the mark sits right", sold, by_nut, **body)

    return _or_off(prompt, scene, valve).then(right_length, on=Answered)


# ------------------------------------------------- by a solid checking lifter


def _lifter_back_prompt(scene: Scene, valves: Iterable[Valve]) -> Prompt | None:
    """The hydraulic lifter goes back after each lash read, the rocker backed off first."""
    _, reading, after = parts(scene, "trial")
    if reading.records is not Records.LASH_CHECKED:
        return None
    for valve in valves:
        checked, loosened = scene.state.valves[valve].checked, scene.state.valves[valve].loosened
        due = steps_due(scene, after, checked.number, valve) if checked else None
        if due is not None:
            rests = tuple(e.number for e in (checked, loosened) if e is not None)
            return trials_off(scene) or step_prompt(scene, due, valve, rests_on=rests)
    return None


def _lash_prompt(prompt: Prompt, scene: Scene, valve: Valve) -> Prompt:
    pushrod, above = scene.recorded(Records.CHECKING_LENGTH, valve), cup_above_mm(scene)
    if pushrod is None or above is None:
        raise LookupError("the pushrod's length and both cup heights come before the lash")
    typed, ratio, limits = pushrod.body.reading, scene.build.rocker.ratio, preload_limits(scene)

    def take(answer: str, *_: object) -> Reply:
        lash = read_quantity("lash", answer)
        if not 0 < lash <= MOST_LASH_MM:
            problem = text("{} isn't a lash above 0, up to {}", answer, Length(MOST_LASH_MM))
            raise Refused(problem, "p, then a shorter pushrod where none is left, or a longer one")
        zero = length_from_lash(length_mm(typed), lash, ratio, 0.0, above)
        came_to = text(
            "{} of lash over {} is {} at zero lash on its hydraulic lifter",
            *(typed_length(answer), typed_length(typed), Length(zero)),
        )
        body = {"length": typed, "lash": answer, "cup_above_mm": above, "zero_lash_mm": zero}
        return _checked(scene, valve, came_to, zero, limits, **body)

    sentence = (
        "with no lash the pushrod is too long: a shorter one first. With too much, a longer one."
    )
    off = Reply((back_off(scene, (valve,), "count again"),), f"{valve}: {sentence}", "warn")
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
            *limits.facts,
        ),
        take=take,
    )
