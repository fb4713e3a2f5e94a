"""One valve's or one stand's proof on the heel: did the bolt or the lock hold?"""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from heelwise.documents.entries import PASSING, Draft, Gauged, Proved, Read
from heelwise.documents.procedure import Step
from heelwise.documents.quantities import show_turns
from heelwise.valvetrain.plan import Plan
from heelwise.valvetrain.positions import Position, other_plan
from heelwise.valvetrain.valves import Valve
from heelwise.walk.by_eye import BY_EYE
from heelwise.walk.chain import after_numbers, settled
from heelwise.walk.limits import gauge_limits
from heelwise.walk.prompts import Ask, Fact, Option, Prompt, Taken
from heelwise.walk.scene import Scene
from heelwise.walk.steps import hazard_of, step_prompt, steps_due
from heelwise.walk.wording import words
from heelwise.walk.wrench import torque_facts


def proof_plan(scene: Scene) -> Plan:
    """Where the proofs are made: the plan of Fit, or another place of each valve's heel.

    What was set a little up a lobe passes at the same place again; elsewhere it shows.
    """
    if not scene.build.way.elsewhere or scene.plan.method == BY_EYE:
        return scene.plan
    placed = ((p.valve, at.crank_deg) for at in scene.plan.positions for p in at.valves)
    used = dict(placed)  # where it is yet to be read, for a valve whose reading fell
    for valve, one in scene.standing.valves.items():
        body = one.last_count.body if one.last_count else None
        if isinstance(body, Read | Gauged):
            used[valve] = body.at_deg
    return other_plan(scene.build.engine, scene.build.cam, used, scene.build.margin_deg)


def proof_prompt(
    scene: Scene, valve: Valve, position: Position | None, needy: Collection[Valve]
) -> Prompt:
    """The next prompt of a proof: the steps before it, then what was found.

    Args:
        scene: The moment of the build.
        valve: The valve.
        position: The position it is worked on at.
        needy: The valves that still want a proof; those of one stand get it together.
    """
    each = "stand" if scene.build.way.stands else "valve"
    steps = scene.build.steps("prove", each)
    stand = scene.build.stand_of(valve)
    since = max(scene.standing.valve(v).touched for v in stand)
    before = steps_due(scene, steps, since, stand[0])
    if before is not None:
        return step_prompt(scene, before, stand[0], position, scene.crank_number)
    step = next(s for s in steps if s.fills == "proof")
    return _proof(scene, step, valve, position, needy)


def _proof(
    scene: Scene, step: Step, valve: Valve, position: Position | None, needy: Collection[Valve]
) -> Prompt:
    # A stand's bolts are proved once for all of its valves that are ready for it.
    stand = scene.build.stand_of(valve)
    together = [v for v in stand if v == valve or (settled(scene, v) and v in needy)]

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        chosen = next(o for o in step.options if o.key == answer)
        drafts = tuple(_proved(scene, v, chosen.value) for v in together)
        said, tone = f"{valve}: {chosen.label}.", "good"
        if chosen.value not in PASSING:
            said += f" {_again(scene)}"
            tone = "bad"
        return Taken(drafts, said, tone)

    return Prompt(
        id=step.id,
        phase="prove",
        ask=Ask.CHOICE,
        question=words(scene, step.say, valve, position),
        why=words(scene, step.why, valve, position),
        caution=hazard_of(step),
        options=tuple(Option(o.key, o.label) for o in step.options),
        facts=_facts(scene, valve),
        valve=valve,
        guarded=True,
        fills="proof",
        take=take,
        rests_on=_rests(scene, valve),
    )


def _again(scene: Scene) -> str:
    way = scene.build.way
    if way.stands:
        return "Its valves are gauged again, and the stand is proved again."
    done = "counted again from zero lash" if way.clicks else "set anew"
    return f"It is {done}, and proved again."


def _rests(scene: Scene, valve: Valve) -> tuple[int, ...]:
    count = scene.standing.valve(valve).last_count
    return ((count.number,) if count else ()) + after_numbers(scene, valve)


def _proved(scene: Scene, valve: Valve, outcome: str) -> Draft:
    at = scene.crank_deg
    assert at is not None
    body = Proved.model_validate(
        {
            "valve": str(valve),
            "outcome": outcome,
            "torque": scene.build.torque,
            "setting": scene.build.setting,
            "at_deg": at,
            "margin_deg": scene.margin(valve),
        }
    )
    return Draft(body, (*_rests(scene, valve), *scene.crank_number))


def _facts(scene: Scene, valve: Valve) -> tuple[Fact, ...]:
    facts: list[Fact] = []
    way = scene.build.way
    if way.clicks or way.stands:
        settles = scene.build.procedure.defaults.settled_turns
        facts += torque_facts(scene.build)
        said = f"settling up to {show_turns(settles)} turn passes"
        facts.append(Fact(said, "common practice, no source"))
    if way.reads == "lash":
        facts += gauge_limits(scene, valve).facts
    margin = scene.margin(valve)
    if margin is not None:
        facts.append(Fact(f"{margin:.0f}° from its lobe", "worked out from the cam"))
    return tuple(facts)
