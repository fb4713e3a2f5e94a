"""Stands and shafts: several rockers held by the same bolts, drawn down evenly together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from heelwise.documents.entries import Draft, Drawn
from heelwise.documents.procedure import Step
from heelwise.valvetrain.positions import Position
from heelwise.valvetrain.valves import Valve
from heelwise.walk.prompts import Fact, Prompt, Taken
from heelwise.walk.scene import Scene
from heelwise.walk.steps import REST_ON_PREVIOUS, answered, step_prompt, steps_due
from heelwise.walk.wording import names
from heelwise.walk.wrench import torque_facts


def is_drawn(scene: Scene, valve: Valve) -> bool:
    """Whether a valve's stand is down: drawn since it was last slackened."""
    if not scene.build.way.stands:
        return True
    ones = [scene.standing.valve(v) for v in scene.build.stand_of(valve)]
    return all(one.drawn is not None and one.drawn.number > one.slackened for one in ones)


def draw_prompt(scene: Scene, valve: Valve, position: Position | None) -> Prompt:
    """The next step on the way to a stand drawn down evenly; the last one keeps that it is."""
    stand = scene.build.stand_of(valve)
    steps = scene.build.steps("fit", "stand")
    since = max(scene.standing.resumed_at, *(scene.standing.valve(v).slackened for v in stand))
    before = [step for step in steps if step.fills != "drawn"]
    due = steps_due(scene, tuple(before), since, stand[0])
    if due is not None:
        return of_stand(scene, due, stand, position)
    drawn = next(step for step in steps if step.fills == "drawn")
    return _draw(scene, drawn, stand, position)


def of_stand(scene: Scene, step: Step, stand: Sequence[Valve], position: Position | None) -> Prompt:
    """A step asked once for a stand; its answer is kept with the stand's first valve."""
    return step_prompt(scene, step, stand[0], position, scene.crank_number)


def _draw(scene: Scene, step: Step, stand: tuple[Valve, ...], position: Position | None) -> Prompt:
    prompt = of_stand(scene, step, stand, position)
    at = scene.crank_deg
    assert at is not None
    lobes = [v for v in stand if not scene.on_heel(v)]

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        taken = prompt.take(answer, texts, now)
        if answer != "y":
            return taken
        body = Drawn(
            valves=[str(v) for v in stand],
            stand=names(list(stand)),
            torque=scene.build.torque,
            setting=scene.build.setting,
            at_deg=at,
            on_lobe=[str(v) for v in lobes],
        )
        before = answered(scene, scene.build.steps("fit", "stand"), stand[0])
        rests = (REST_ON_PREVIOUS, *scene.crank_number, *before)
        return Taken((*taken.drafts, Draft(body, rests)), taken.said, taken.tone)

    facts = [*torque_facts(scene.build)]
    if lobes:
        said = f"{names(lobes)} on a lobe here: its spring loads the bolts, so draw the more evenly"
        facts.append(Fact(said, "worked out from the cam"))
    return replace(prompt, take=take, facts=(*prompt.facts, *facts), fills="drawn")
