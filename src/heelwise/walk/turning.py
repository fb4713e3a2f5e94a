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

_SOLID = Hazard(
    "WARNING",
    "A crank that goes solid is a valve on a piston.",
    "Forced, it bends valves and pushrods.",
    "By hand, slowly, running direction only. If it goes solid, never force it.",
)


def turn_prompt(scene: Scene, phase: Phase, position: Position) -> Prompt:
    """The prompt that sends the crank to a position, or the guard that must be served first."""
    barred = before_turning(scene, phase)
    if barred is not None:
        return barred
    return (
        _by_eye(scene, phase, position) if _seen_by_eye(position) else _turn(scene, phase, position)
    )


def _seen_by_eye(position: Position) -> bool:
    return position.landmark.endswith(("begins to open", "almost closed"))


def _by_eye(scene: Scene, phase: Phase, position: Position) -> Prompt:
    """Turning on until the cylinder's other valve shows the place."""
    names = " and ".join(str(p.valve) for p in position.valves)

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        if answer == "n":
            return Taken(
                (), "Then go on round: two whole turns bring the same place again.", "warn"
            )
        place = Crank(at_deg=position.crank_deg, how="turned", seen=position.landmark)
        return Taken((Draft(place, scene.crank_number),))

    return Prompt(
        id=TURN,
        phase=phase,
        ask=Ask.CHOICE,
        heading=f"turn on until {position.landmark}",
        question=f"Turn the crank on, {way_round(scene)}, until {position.landmark}. "
        f"Then {names} is on its heel (base circle).",
        why="Set by eye, because the cam is not known. A little early or late does no harm: it is "
        "a range, not a point.",
        caution=_SOLID,
        options=(Option("y", f"{position.landmark}"), Option("n", "went past it")),
        facts=(
            Fact(f"place {position.number}", "the firing order; how far open is common practice"),
        ),
        crank_target_deg=position.crank_deg,
        guarded=True,
        take=take,
        rests_on=scene.crank_number,
    )


def way_round(scene: Scene) -> str:
    """Which way the engine runs."""
    way = "clockwise" if scene.build.engine.clockwise else "counter-clockwise"
    return f"{way} from the front"


def _turn(scene: Scene, phase: Phase, position: Position) -> Prompt:
    at = scene.crank_deg
    assert at is not None, "the crank's place is asked before it is turned"
    worked_on = [placed.valve for placed in position.valves]
    turn = turn_to(scene.build.engine, scene.build.cam, at, position.crank_deg, worked_on)
    deg = turn.turn_deg or 720.0
    how_far = turn.revolutions_text if turn.turn_deg else "2 whole turns"
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

    way = way_round(scene)
    return Prompt(
        id=TURN,
        phase=phase,
        ask=Ask.READING,
        heading=f"turn on {deg:g}°, to {turn.landmark}",
        question=f"Turn the crank on {deg:g}° ({how_far}), {way}. {turn.proof}.",
        why="What rises, falls or stays still on the way proves the revolution and the heel "
        "(base circle).",
        caution=_SOLID,
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
