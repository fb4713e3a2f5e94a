"""Trial by an adjustable checking pushrod: its length at zero lash, and what is wanted by it."""

from __future__ import annotations

from datetime import datetime

from heelwise.documents import quantities
from heelwise.documents.entries import Checked, Draft
from heelwise.documents.procedure import Step
from heelwise.valvetrain.checking import HOW_MEASURED, length_from_zero_lash
from heelwise.valvetrain.positions import Position
from heelwise.valvetrain.valves import Valve
from heelwise.walk.limits import preload_limits
from heelwise.walk.prompts import Ask, Fact, Prompt, Refused, Taken
from heelwise.walk.rounds import go_round
from heelwise.walk.scene import Scene
from heelwise.walk.steps import (
    answered,
    example_of,
    hazard_of,
    read_quantity,
    step_prompt,
    steps_due,
)
from heelwise.walk.trial import trial_valves
from heelwise.walk.wording import words


def checking_prompt(scene: Scene) -> Prompt | None:
    """The next prompt of the trials, or None when every trial valve has its length."""
    valves = trial_valves(scene)
    needy = [v for v in valves if scene.standing.valve(v).checked is None]
    if not needy:
        return None

    def serve(valve: Valve, position: Position | None) -> Prompt:
        return _serve(scene, valve, position)

    return go_round(scene, "trial", scene.plan, needy, serve)


def _serve(scene: Scene, valve: Valve, position: Position | None) -> Prompt:
    one = scene.standing.valve(valve)
    steps = scene.build.steps("trial", "valve")
    since = max(one.touched, scene.standing.resumed_at)
    due = steps_due(scene, steps, since, valve)
    if due is not None:
        return step_prompt(scene, due, valve, position, scene.crank_number)
    step = next(step for step in steps if step.fills == "checked")
    return _length(scene, step, valve, position)


def _length(scene: Scene, step: Step, valve: Valve, position: Position | None) -> Prompt:
    limits = preload_limits(scene)
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
        reading="its length at zero lash, as measured",
        example=example_of("length"),
        facts=(
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
    mm = read_quantity("length", answer)
    usual = quantities.length_mm(scene.set_length(valve))
    if abs(mm - usual) > usual / 4:
        raise Refused(
            f"{answer} is far from the setup's {scene.set_length(valve)}",
            "measure it again, or mend the setup",
        )
    limits, at = preload_limits(scene), scene.crank_deg
    assert at is not None
    wanted = length_from_zero_lash(mm, limits.middle_mm)
    body = Checked(
        valve=str(valve),
        length=answer,
        at_deg=at,
        margin_deg=scene.margin(valve),
        preload_mm=limits.middle_mm,
        preload_from=limits.said,
        wanted_mm=wanted,
    )
    said = f"{valve}: {answer} at zero lash, so {quantities.show_length(wanted, 'in')} is wanted."
    rests = (*scene.crank_number, *answered(scene, scene.build.steps("trial", "valve"), valve))
    return Taken((Draft(body, rests),), said, "good")
