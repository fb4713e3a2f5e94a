"""Prove: round again with every valve on its heel, then a sample counted once more."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from heelwise.documents.entries import BackedOff, Draft
from heelwise.valvetrain.positions import Position
from heelwise.valvetrain.valves import Valve
from heelwise.walk.chain import settled, valve_prompt
from heelwise.walk.fit import position_said
from heelwise.walk.guards import before_turning
from heelwise.walk.prompts import Ask, Fact, Option, Prompt, Taken
from heelwise.walk.proof import proof_plan, proof_prompt
from heelwise.walk.rounds import go_round
from heelwise.walk.sample import counted_again, recount_plan, sample, under_way
from heelwise.walk.scene import Scene
from heelwise.walk.steps import step_prompt, steps_due

LOOSEN = "walk/recount-loosen"


def begun(scene: Scene) -> bool:
    """Whether Prove was begun, so that Fit is behind: its opening is answered."""
    steps = scene.build.steps("prove", "build")
    if steps_due(scene, steps, 0) is not None:
        return False
    answered = any(scene.standing.step(step.id) is not None for step in steps)
    return answered or any(one.proofs for one in scene.standing.valves.values())


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
    if not scene.build.way.recounts:
        return None
    due = {v: why for v, why in sample(scene).items() if not counted_again(scene, v)}
    return _recount_round(scene, due) if due else None


def _proof_round(scene: Scene, needy: list[Valve]) -> Prompt:
    def serve(valve: Valve, position: Position | None) -> Prompt:
        return _counted_then_proved(scene, valve, position, recount=False)

    def go_on_here(valve: Valve) -> bool:
        # Where the proof is to be made elsewhere, only what is not yet settled goes on here.
        return not scene.build.way.elsewhere or not settled(scene, valve)

    total = len(scene.standing.valves)
    prompt = go_round(scene, "prove", proof_plan(scene), needy, serve, go_on_here)
    done = total - len(needy)
    said = f"proof {done + 1} of {total}{position_said(scene)}"
    return replace(prompt, progress=said, done=done, total=total)


def _counted_then_proved(
    scene: Scene, valve: Valve, position: Position | None, *, recount: bool
) -> Prompt:
    for mate in (valve, *scene.build.stand_of(valve)):
        if not settled(scene, mate) and (mate == valve or scene.on_heel(mate)):
            return valve_prompt(scene, mate, "prove", position, recount=recount)
    needy = [v for v, one in scene.standing.valves.items() if one.proof is None]
    return proof_prompt(scene, valve, position, needy)


def _recount_under_way(scene: Scene) -> dict[Valve, str]:
    """Valves slackened for the re-count and not yet counted."""
    valves = scene.standing.valves.items()
    return {valve: "under way" for valve, one in valves if under_way(scene, one)}


def _recount_round(scene: Scene, due: dict[Valve, str]) -> Prompt:
    chosen = sample(scene)
    plan = recount_plan(scene, {**chosen, **due})

    def serve(valve: Valve, position: Position | None) -> Prompt:
        if under_way(scene, scene.standing.valve(valve)):
            return _counted_then_proved(scene, valve, position, recount=True)
        return _loosen(scene, valve, chosen.get(valve, ""))

    done = sum(counted_again(scene, v) for v in chosen)
    prompt = go_round(scene, "prove", plan, list(due), serve)
    said = f"re-count {min(done + 1, len(chosen))} of {len(chosen)}"
    return replace(prompt, progress=said, done=done, total=len(chosen))


def _loosen(scene: Scene, valve: Valve, reason: str) -> Prompt:
    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        off = BackedOff(valves=[str(valve)], why="recount")
        return Taken((Draft(off, scene.crank_number),))

    at, margin = scene.crank_deg, scene.margin(valve)
    elsewhere = "" if scene.standing.valve(valve).as_found else "another place of "
    place = f"at {elsewhere}its heel, {margin:.0f}° from its lobe" if margin else "here"
    again = "" if scene.standing.valve(valve).as_found else " again"
    return Prompt(
        id=LOOSEN,
        phase="prove",
        ask=Ask.CHOICE,
        question=f"{valve} is counted{again} {place}: slacken its rocker fully.",
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
