"""A second person's proof of every valve, made without being shown what the first one found."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from heelwise.documents.entries import Draft, HandedOver, Proved, ProvedApart
from heelwise.valvetrain.positions import Position
from heelwise.valvetrain.valves import Valve
from heelwise.walk.prompts import Ask, Fact, Option, Prompt, Refused, Taken
from heelwise.walk.proof import proof_plan, proof_prompt
from heelwise.walk.rounds import go_round
from heelwise.walk.scene import Scene
from heelwise.walk.valve_standing import same_person
from heelwise.walk.wording import names

SECOND_PERSON = "walk/second-person"
WANTED = "wanted"


def wanted(scene: Scene) -> bool:
    """Whether this build is to be proved by a second person too."""
    return scene.standing.fills.get("second_person") == WANTED


def apart_prompt(scene: Scene) -> Prompt | None:
    """The next prompt of the second proof, or None when it is not wanted or is complete."""
    if not wanted(scene):
        return None
    needy = [v for v, one in scene.standing.valves.items() if one.proved_apart is None]
    if not needy:
        return None
    # Whoever is at the engine proves apart what somebody else proved first.
    others = [v for v in needy if not _proved_by_whoever_is_here(scene, v)]
    if not others:
        return _who(scene, needy)

    def serve(valve: Valve, position: Position | None) -> Prompt:
        return _apart(scene, valve, position, others)

    total = len(scene.standing.valves)
    done = total - len(needy)
    prompt = go_round(scene, "prove", proof_plan(scene), others, serve)
    said = f"second person's proof {done + 1} of {total}"
    return replace(prompt, progress=said, done=done, total=total, blind=True)


def _proved_by_whoever_is_here(scene: Scene, valve: Valve) -> bool:
    proof = scene.standing.valve(valve).proof
    return proof is not None and same_person(proof.by, scene.standing.by)


def _who(scene: Scene, needy: list[Valve]) -> Prompt:
    first = scene.standing.by
    many = "1 valve was" if len(needy) == 1 else f"{len(needy)} valves were"

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        if same_person(texts[0], first):
            raise Refused(
                f"{texts[0]} made the first proof: one person twice is measured again, "
                "not proved apart",
                "the initials of somebody else",
            )
        return Taken((Draft(HandedOver(to=texts[0])),), f"{texts[0]} goes on from here.")

    return Prompt(
        id=SECOND_PERSON,
        phase="prove",
        ask=Ask.CHOICE,
        question=f"{many} proved by {first}. Who proves again, apart?",
        why="Another pair of hands, not shown what was found, finds what the first took for "
        "granted. It was asked for in Prepare: crossing that answer out does without.",
        options=(Option("o", "another person is here", ("their initials",)),),
        facts=(Fact(f"to prove apart: {names(needy)}", "the record"),),
        guarded=True,
        take=take,
        blind=True,
    )


def _apart(scene: Scene, valve: Valve, position: Position | None, needy: list[Valve]) -> Prompt:
    first = proof_prompt(scene, valve, position, needy)

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        taken = first.take(answer, texts, now)
        drafts = tuple(_second(scene, draft) for draft in taken.drafts)
        return Taken(drafts, taken.said, taken.tone)

    return replace(first, take=take, heading="second person", blind=True)


def _second(scene: Scene, draft: Draft) -> Draft:
    body = draft.body
    assert isinstance(body, Proved)
    proof = scene.standing.by_name[body.valve].proof
    rests = (*draft.rests_on, *((proof.number,) if proof else ()))
    return Draft(ProvedApart(**body.model_dump(exclude={"kind"})), rests)
