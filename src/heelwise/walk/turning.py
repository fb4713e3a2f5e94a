"""Turning the crank on to a position, told by what must be seen on the way."""

from __future__ import annotations

from datetime import datetime

from heelwise.documents import quantities
from heelwise.documents.entries import Crank, CrankLost, Draft, Phase
from heelwise.valvetrain.positions import Position
from heelwise.valvetrain.turning import turn_to
from heelwise.walk.guards import before_turning
from heelwise.walk.prompts import Ask, Fact, Hazard, Option, Prompt, Refused, Taken
from heelwise.walk.scene import Scene
from heelwise.walk.steps import read_quantity

TURN = "walk/turn"
MOST_OVERSHOT_DEG = 180.0


def turn_prompt(scene: Scene, phase: Phase, position: Position) -> Prompt:
    """The prompt that sends the crank to a position, or the guard that must be served first."""
    barred = before_turning(scene, phase)
    return barred if barred is not None else _turn(scene, phase, position)


def _turn(scene: Scene, phase: Phase, position: Position) -> Prompt:
    at = scene.crank_deg
    assert at is not None, "the crank's place is asked before it is turned"
    turn = turn_to(scene.build.engine, scene.build.cam, at, position.crank_deg)
    rests = scene.crank_number

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        if answer == "n":
            lost = CrankLost(reason=f"not seen as told: {texts[0]}")
            return Taken((Draft(lost, rests),), "Then the place is found anew.", "warn")
        past = 0.0 if answer == "y" else _past(answer)
        body = Crank(
            at_deg=(position.crank_deg + past) % 720,
            how="overshot" if past else "turned",
            seen=turn.proof,
        )
        said = f"Counted from where it is: {past:g}° past. Margins are worked out anew."
        return Taken((Draft(body, rests),), said if past else "")

    way = "clockwise" if scene.build.engine.clockwise else "counter-clockwise"
    return Prompt(
        id=TURN,
        phase=phase,
        ask=Ask.READING,
        heading=turn.landmark,
        question=f"Turn the crank on {turn.revolutions_text}, {way} from the front. {turn.proof}",
        why="What rises, falls or stays still on the way proves the revolution and the heel "
        "(base circle).",
        caution=Hazard(
            "WARNING",
            "A crank that goes solid is a valve on a piston.",
            "Forced, it bends valves and pushrods.",
            "By hand, slowly, running direction only. If it goes solid, never force it.",
        ),
        options=(
            Option("y", "there, and seen as told"),
            Option("n", "not seen as told", ("what was seen instead",)),
        ),
        reading="how many degrees past it you are, if overshot",
        example="like 5°",
        facts=_turn_facts(scene, turn.tape_mm, position, len(turn.proof) > 0),
        crank_target_deg=position.crank_deg,
        guarded=True,
        take=take,
        rests_on=rests,
    )


def _past(answer: str) -> float:
    past = read_quantity("degrees", answer if not _bare(answer) else answer + "°")
    if not 0 <= past <= MOST_OVERSHOT_DEG:
        raise Refused(
            f"{past:g}° past is out of reach of this position",
            f"0° to {MOST_OVERSHOT_DEG:g}°; further round, answer n and find the place anew",
        )
    return past


def _bare(answer: str) -> bool:
    return answer.replace(".", "", 1).isdigit()


def _turn_facts(
    scene: Scene, tape_mm: float | None, position: Position, proved: bool
) -> tuple[Fact, ...]:
    facts = [
        Fact(
            f"position {position.number}: crank at {position.crank_deg:g}°",
            "worked out from firing order and cam card"
            if scene.build.cam
            else "worked out from the firing order; the cam is not known",
        )
    ]
    if tape_mm is not None:
        inches, mm = quantities.show_length(tape_mm, "in"), quantities.show_length(tape_mm, "mm")
        facts.append(Fact(f"{inches} ({mm}) of tape round the damper", "its diameter × π × turn"))
    margins = [v.margin_deg for v in position.valves if v.margin_deg is not None]
    if margins:
        facts.append(Fact(f"least margin there {min(margins):.1f}°", "worked out from the cam"))
    facts += [Fact(said, "the walk's preference") for said in scene.preferred.said]
    return tuple(facts)
