"""Trial by a solid checking lifter: the pushrod in it, the lash left, the lifter put back."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from heelwise.documents import quantities
from heelwise.documents.entries import AnyEntry, BackedOff, Checked, Draft, Measured, NotYet
from heelwise.documents.procedure import Step
from heelwise.valvetrain.checking import MOST_LASH_MM, length_from_lash
from heelwise.valvetrain.positions import Position
from heelwise.valvetrain.valves import Valve
from heelwise.walk.cups import above_said, cup_above_mm, cup_numbers
from heelwise.walk.guards import trials_off
from heelwise.walk.limits import preload_limits
from heelwise.walk.prompts import Ask, Fact, Option, Prompt, Refused, Taken
from heelwise.walk.scene import Scene
from heelwise.walk.steps import (
    answered,
    example_of,
    hazard_of,
    read_quantity,
    step_prompt,
    steps_due,
)
from heelwise.walk.wording import words

ANOTHER = Option("p", "tight, or far too loose: it comes off for another pushrod")


def lifter_back_prompt(scene: Scene, valves: Iterable[Valve]) -> Prompt | None:
    """The step that puts a hydraulic lifter back where the lash was read, or None.

    It comes after each reading, the rocker backed off first, and anew after every new one.
    """
    steps = scene.build.steps("trial", "valve")
    place = next((i for i, s in enumerate(steps) if s.fills == "lash_checked"), len(steps))
    for valve in valves:
        one = scene.standing.valve(valve)
        if one.checked is None:
            continue
        due = steps_due(scene, steps[place + 1 :], one.checked.number, valve)
        if due is not None:
            rests = [e.number for e in (one.checked, one.loosened) if e is not None]
            off = trials_off(scene, "trial")
            return off or step_prompt(scene, due, valve, rests_on=tuple(rests))
    return None


def with_pushrod(prompt: Prompt, scene: Scene, step: Step, valve: Valve) -> Prompt:
    """A step before the lash: the pushrod's length is looked at; one that goes tight comes off."""
    if step.fills == "checking_length":
        return _length_looked_at(prompt, scene, valve)
    steps = scene.build.steps("trial", "valve")
    before = [each.fills for each in steps[: steps.index(step)]]
    return _comes_off(prompt, scene, valve) if "checking_length" in before else prompt


def _length_looked_at(prompt: Prompt, scene: Scene, valve: Valve) -> Prompt:
    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        refuse_far(scene, valve, answer, read_quantity("length", answer))
        return prompt.take(answer, texts, now)

    fact = Fact(f"the setup has {scene.set_length(valve)}", "the setup's pushrods")
    facts = (*prompt.facts, *_served(scene, valve), fact)
    return replace(prompt, facts=facts, take=take)


def _served(scene: Scene, valve: Valve) -> tuple[Fact, ...]:
    """The length that last left some lash elsewhere, on a valve of the same kind if on any."""
    found = [
        (one.valve.kind is valve.kind, one.checked.number, one.checked.body)
        for one in scene.standing.valves.values()
        if one.checked is not None
    ]
    best = max(found, key=lambda each: each[:2], default=None)
    if best is None or not isinstance(best[2], Checked):
        return ()
    said = f"begin with {best[2].length}: it left {best[2].lash} of lash on {best[2].valve}"
    return (Fact(said, "a reading"),)


def _comes_off(prompt: Prompt, scene: Scene, valve: Valve) -> Prompt:
    """With the pushrod in, a "not yet" means another pushrod: its length is asked anew."""

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        taken = prompt.take(answer, texts, now)
        if not isinstance(taken.drafts[0].body, NotYet):
            return taken
        return replace(taken, drafts=(*taken.drafts, _off(scene, valve)))

    return replace(prompt, take=take)


def _off(scene: Scene, valve: Valve) -> Draft:
    return Draft(BackedOff(valves=[str(valve)], why="count again"), scene.crank_number)


def refuse_far(scene: Scene, valve: Valve, answer: str, mm: float) -> None:
    """Refuse a pushrod's length that is far from the setup's.

    Raises:
        Refused: If it is more than a quarter of it away.
    """
    usual = quantities.length_mm(scene.set_length(valve))
    if abs(mm - usual) > usual / 4:
        raise Refused(
            f"{answer} is far from the setup's {scene.set_length(valve)}",
            "measure it again, or mend the setup",
        )


def lash_prompt(scene: Scene, step: Step, valve: Valve, position: Position | None) -> Prompt:
    """The lash at the valve, a pushrod of known length in the solid lifter."""
    pushrod, above = _pushrod(scene, valve), cup_above_mm(scene)
    assert pushrod is not None, "the step before gave the length"
    assert above is not None, "Prepare gave both heights"
    limits, ratio = preload_limits(scene), _ratio(scene)
    deep = quantities.show_length(limits.middle_mm, "in")

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        if answer == ANOTHER.key:
            said = f"{valve}: with no lash the pushrod is too long: a shorter one first. "
            said += "With too much, a longer one."
            return Taken((_off(scene, valve),), said, "warn")
        return _lash(scene, valve, answer)

    return Prompt(
        id=step.id,
        phase="trial",
        ask=Ask.READING,
        question=words(scene, step.say, valve, position),
        why=words(scene, step.why, valve, position),
        caution=hazard_of(step),
        options=(ANOTHER,),
        reading="the lash: the thickest gauge that passes",
        example=example_of("lash"),
        facts=(
            Fact(f"pushrod in the solid lifter {pushrod.reading}", "a reading"),
            Fact(above_said(above), "worked out from the two heights read"),
            Fact(f"ratio {ratio:g}: the lash is divided by it", "the setup"),
            Fact(f"preload wanted {deep}: the middle of what is allowed", limits.said),
        ),
        valve=valve,
        guarded=True,
        fills="lash_checked",
        take=take,
        rests_on=scene.crank_number,
    )


def _lash(scene: Scene, valve: Valve, answer: str) -> Taken:
    lash = read_quantity("lash", answer)
    if lash <= 0:
        problem = f"{answer} is no lash: the pushrod is too long for the solid lifter"
        raise Refused(problem, "p, then a shorter pushrod")
    if lash > MOST_LASH_MM:
        most = quantities.show_length(MOST_LASH_MM, "in")
        raise Refused(f"{answer} is more than {most} of lash", "p, then a longer pushrod")
    body = _worked_out(scene, valve, lash, answer)
    inches = [quantities.show_length(mm or 0.0, "in") for mm in (body.zero_lash_mm, body.wanted_mm)]
    said = f"{valve}: {answer} of lash over {body.length} is {inches[0]} at zero lash on its "
    said += f"hydraulic lifter, so {inches[1]} is wanted."
    steps = scene.build.steps("trial", "valve")
    place = next(i for i, step in enumerate(steps) if step.fills == "lash_checked")
    rests = (*cup_numbers(scene), *scene.crank_number, *answered(scene, steps[:place], valve))
    return Taken((Draft(body, rests),), said, "good")


def _worked_out(scene: Scene, valve: Valve, lash: float, typed: str) -> Checked:
    pushrod, above, at = _pushrod(scene, valve), cup_above_mm(scene), scene.crank_deg
    assert pushrod is not None
    assert above is not None
    assert at is not None
    limits, ratio = preload_limits(scene), _ratio(scene)
    length = quantities.length_mm(pushrod.reading)
    return Checked(
        valve=str(valve),
        length=pushrod.reading,
        lash=typed,
        cup_above_mm=above,
        zero_lash_mm=length_from_lash(length, lash, ratio, 0.0, above),
        at_deg=at,
        margin_deg=scene.margin(valve),
        preload_mm=limits.middle_mm,
        preload_from=limits.said,
        wanted_mm=length_from_lash(length, lash, ratio, limits.middle_mm, above),
    )


def _pushrod(scene: Scene, valve: Valve) -> Measured | None:
    """The latest length given for the pushrod in the solid lifter."""
    steps = scene.build.steps("trial", "valve")
    told: AnyEntry | None = None
    for step in steps:
        if step.fills == "checking_length":
            told = scene.standing.step(step.id, valve)
    return told.body if told is not None and isinstance(told.body, Measured) else None


def _ratio(scene: Scene) -> float:
    rocker = scene.build.setup.require("rocker").rocker
    assert rocker is not None
    return rocker.ratio
