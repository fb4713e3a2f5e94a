"""Trial by an adjustable checking pushrod or a solid checking lifter: the lengths wanted by it."""

from __future__ import annotations

from datetime import datetime

from heelwise.documents import quantities
from heelwise.documents.checking_lengths import EXAMPLE, by_turns_out, checking_pushrod_mm
from heelwise.documents.entries import Checked, Draft
from heelwise.documents.procedure import Step
from heelwise.valvetrain.checking import HOW_MEASURED, length_from_zero_lash
from heelwise.valvetrain.positions import Position
from heelwise.valvetrain.valves import Valve
from heelwise.walk.checking_lifter import (
    lash_prompt,
    lifter_back_prompt,
    refuse_far,
    with_pushrod,
)
from heelwise.walk.limits import preload_limits
from heelwise.walk.prompts import Ask, Fact, Prompt, Refused, Taken
from heelwise.walk.rounds import go_round
from heelwise.walk.scene import Scene
from heelwise.walk.steps import (
    answered,
    hazard_of,
    step_prompt,
    steps_due,
)
from heelwise.walk.trial import trial_valves
from heelwise.walk.wording import words


def checking_prompt(scene: Scene) -> Prompt | None:
    """The next prompt of the trials, or None when every trial valve has its length."""
    valves = trial_valves(scene)
    back = lifter_back_prompt(scene, valves)
    if back is not None:
        return back
    needy = [v for v in valves if scene.standing.valve(v).checked is None]
    if not needy:
        return None

    def serve(valve: Valve, position: Position | None) -> Prompt:
        return _serve(scene, valve, position)

    return go_round(scene, "trial", scene.plan, needy, serve)


def _serve(scene: Scene, valve: Valve, position: Position | None) -> Prompt:
    one = scene.standing.valve(valve)
    steps = scene.build.steps("trial", "valve")
    by_lash = next((i for i, step in enumerate(steps) if step.fills == "lash_checked"), None)
    since = max(one.touched, scene.standing.resumed_at)
    due = steps_due(scene, steps[:by_lash], since, valve)
    if due is not None:
        prompt = step_prompt(scene, due, valve, position, scene.crank_number)
        return prompt if by_lash is None else with_pushrod(prompt, scene, due, valve)
    if by_lash is not None:
        return lash_prompt(scene, steps[by_lash], valve, position)
    step = next(step for step in steps if step.fills == "checked")
    return _length(scene, step, valve, position)


def _length(scene: Scene, step: Step, valve: Valve, position: Position | None) -> Prompt:
    limits, defaults = preload_limits(scene), scene.build.procedure.defaults
    deep = quantities.show_length(limits.middle_mm, "in")

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        return _checked(scene, valve, answer)

    return Prompt(
        id=step.id,
        phase="trial",
        ask=Ask.READING,
        question=words(scene, step.say, valve, position),
        why=step.why,
        caution=hazard_of(step),
        reading="its length at zero lash, or shortest + turns out",
        example=EXAMPLE,
        facts=(
            Fact(f"a turn out adds {defaults.checking_pitch}", defaults.checking_pitch_source),
            Fact(f"preload wanted {deep}: the middle of what is allowed", limits.said),
            Fact(HOW_MEASURED, "two makers; see how yours states it"),
        ),
        valve=valve,
        guarded=True,
        fills="checked",
        take=take,
        rests_on=scene.crank_number,
    )


def _checked(scene: Scene, valve: Valve, answer: str) -> Taken:
    mm = _read(scene, answer)
    refuse_far(scene, valve, answer, mm)
    turned = by_turns_out(answer)
    limits, at = preload_limits(scene), scene.crank_deg
    assert at is not None
    wanted = length_from_zero_lash(mm, limits.middle_mm)
    body = Checked(
        valve=str(valve),
        length=answer,
        zero_lash_mm=mm if turned else None,
        at_deg=at,
        margin_deg=scene.margin(valve),
        preload_mm=limits.middle_mm,
        preload_from=limits.said,
        wanted_mm=wanted,
    )
    worked = f"{answer} is {quantities.show_length(mm, 'in')}" if turned else answer
    said = f"{valve}: {worked} at zero lash, so {quantities.show_length(wanted, 'in')} is wanted."
    rests = (*scene.crank_number, *answered(scene, scene.build.steps("trial", "valve"), valve))
    return Taken((Draft(body, rests),), said, "good")


def _read(scene: Scene, answer: str) -> float:
    """The length typed, in mm: measured, or by turns out of the checking pushrod's own pitch."""
    pitch = quantities.length_mm(scene.build.procedure.defaults.checking_pitch)
    try:
        return checking_pushrod_mm(answer, pitch)
    except quantities.QuantityFault as fault:
        raise Refused(fault.problem, fault.instead) from None
