"""Prove: round again with every valve on its heel, then a sample counted once more."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from heelwise.documents.entries import BackedOff, Draft, Proved
from heelwise.documents.procedure import Step
from heelwise.valvetrain.positions import Position
from heelwise.valvetrain.valves import Valve
from heelwise.walk.counting import count_chain, outside_prompt
from heelwise.walk.fit import position_said
from heelwise.walk.guards import before_turning
from heelwise.walk.prompts import Ask, Fact, Option, Prompt, Taken
from heelwise.walk.rounds import go_round
from heelwise.walk.sample import recount_plan, sample, under_way
from heelwise.walk.scene import Scene
from heelwise.walk.steps import hazard_of, step_prompt, steps_due, words

LOOSEN = "walk/recount-loosen"


def begun(scene: Scene) -> bool:
    """Whether Prove's opening steps are all answered, so that Fit is behind."""
    return steps_due(scene, scene.build.steps("prove", "build"), 0) is None


def prove_prompt(scene: Scene) -> Prompt | None:
    """The next prompt of Prove, or None when all is proved and the sample counted."""
    opening = steps_due(scene, scene.build.steps("prove", "build"), 0)
    if opening is not None:
        barred = before_turning(scene, "prove")
        return barred or step_prompt(scene, opening, rests_on=scene.crank_number)
    under_way = _recount_under_way(scene)
    if under_way:
        return _recount_round(scene, under_way)
    needy = [v for v, one in scene.standing.valves.items() if one.proof is None]
    if needy:
        return _proof_round(scene, needy)
    due = {v: why for v, why in sample(scene).items() if not scene.standing.valve(v).recounted}
    return _recount_round(scene, due) if due else None


def _proof_round(scene: Scene, needy: list[Valve]) -> Prompt:
    def serve(valve: Valve, position: Position | None) -> Prompt:
        return _counted_then_proved(scene, valve, position, recount=False)

    total = len(scene.standing.valves)
    prompt = go_round(scene, "prove", scene.plan, needy, serve)
    done = total - len(needy)
    said = f"proof {done + 1} of {total}{position_said(scene)}"
    return replace(prompt, progress=said, done=done, total=total)


def _counted_then_proved(
    scene: Scene, valve: Valve, position: Position | None, *, recount: bool
) -> Prompt:
    one = scene.standing.valve(valve)
    if one.settled_count:
        return _proof(scene, valve, position)
    if one.last_count is not None and one.last_count.number >= one.touched:
        return outside_prompt(scene, valve, "prove")
    return count_chain(scene, valve, "prove", position, recount=recount)


def _proof(scene: Scene, valve: Valve, position: Position | None) -> Prompt:
    step = next(s for s in scene.build.steps("prove", "valve") if s.fills == "proof")
    before = steps_due(
        scene, scene.build.steps("prove", "valve"), scene.standing.valve(valve).touched, valve
    )
    if before is not None:
        return step_prompt(scene, before, valve, position, scene.crank_number)
    return _proof_prompt(scene, step, valve, position)


def _proof_prompt(scene: Scene, step: Step, valve: Valve, position: Position | None) -> Prompt:
    one = scene.standing.valve(valve)
    count, at, margin = one.last_count, scene.crank_deg, scene.margin(valve)
    assert count is not None
    assert at is not None

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        chosen = next(o for o in step.options if o.key == answer)
        body = Proved.model_validate(
            {
                "valve": str(valve),
                "outcome": chosen.value,
                "torque": scene.build.torque,
                "at_deg": at,
                "margin_deg": margin,
            }
        )
        said = f"{valve}: {chosen.label}."
        tone = "good"
        if chosen.value == "moved":
            said += " It is counted again from zero lash, and proved again."
            tone = "bad"
        return Taken((Draft(body, (count.number, *scene.crank_number)),), said, tone)

    settles = scene.build.procedure.defaults.settled_turns
    facts = [
        Fact(f"torque {scene.build.torque}", "the setup: the maker's sheet"),
        Fact(f"settling up to {settles:g} turn passes", "common practice, no source"),
    ]
    if margin is not None:
        facts.append(Fact(f"{margin:.0f}° from its lobe", "worked out from the cam"))
    return Prompt(
        id=step.id,
        phase="prove",
        ask=Ask.CHOICE,
        question=words(scene, step.say, valve, position),
        why=step.why,
        caution=hazard_of(step),
        options=tuple(Option(o.key, o.label) for o in step.options),
        facts=tuple(facts),
        valve=valve,
        guarded=True,
        fills="proof",
        take=take,
        rests_on=(count.number,),
    )


def _recount_under_way(scene: Scene) -> dict[Valve, str]:
    """Valves slackened for the re-count and not yet counted."""
    valves = scene.standing.valves.items()
    return {valve: "under way" for valve, one in valves if under_way(one)}


def _recount_round(scene: Scene, due: dict[Valve, str]) -> Prompt:
    chosen = sample(scene)
    plan = recount_plan(scene, {**chosen, **due})

    def serve(valve: Valve, position: Position | None) -> Prompt:
        if under_way(scene.standing.valve(valve)):
            return _counted_then_proved(scene, valve, position, recount=True)
        return _loosen(scene, valve, chosen.get(valve, ""))

    done = sum(scene.standing.valve(v).recounted for v in chosen)
    prompt = go_round(scene, "prove", plan, list(due), serve)
    said = f"re-count {min(done + 1, len(chosen))} of {len(chosen)}"
    return replace(prompt, progress=said, done=done, total=len(chosen))


def _loosen(scene: Scene, valve: Valve, reason: str) -> Prompt:
    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        off = BackedOff(valves=[str(valve)], why="recount")
        return Taken((Draft(off, scene.crank_number),))

    at, margin = scene.crank_deg, scene.margin(valve)
    place = f"at another place of its heel, {margin:.0f}° from its lobe" if margin else "here"
    return Prompt(
        id=LOOSEN,
        phase="prove",
        ask=Ask.CHOICE,
        question=f"{valve} is counted again {place}: slacken its rocker fully.",
        why="A click proves the clamp, not the preload: a bolt drawn down a little up its lobe "
        "clicks all the same, and only its count was false.",
        options=(Option("y", "slack, the pushrod spins freely"),),
        facts=(
            Fact(f"chosen: {reason}", "the readings so far"),
            Fact(f"crank at {at:g}°", "the last turn"),
        ),
        valve=valve,
        guarded=True,
        take=take,
    )
