"""Taking work up again, and finding a crank that may have been moved."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from heelwise.documents.entries import (
    Answered,
    Crank,
    CrankLost,
    Draft,
    Felt,
    Phase,
)
from heelwise.valvetrain.landmarks import landmark
from heelwise.valvetrain.valves import Valve
from heelwise.valvetrain.where import Span, feel_next, odd_answers, ranges
from heelwise.walk.guards import before_turning
from heelwise.walk.prompts import Ask, Fact, Hazard, Option, Prompt, Refused, Taken
from heelwise.walk.scene import Scene
from heelwise.walk.standing import RESUME_STEP
from heelwise.walk.wording import names

FEEL = "walk/feel"
FIND_MARK = "walk/find-mark"
WATCH_ONE = "walk/watch-cylinder-one"

CYCLE_DEG = 720.0

# Letters, since another valve may be typed, and that begins with a digit.
_STATES: dict[str, Literal["up", "down", "unsure"]] = {"u": "up", "d": "down", "c": "unsure"}


def resume_prompt(scene: Scene, phase: Phase) -> Prompt:
    """What stands after a pause or a new start: where the crank is now, or simply going on."""
    at = scene.crank_deg
    if at is None:
        return _go_on(scene, phase)

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        if answer == "y":
            return Taken((Draft(Crank(at_deg=at, how="still there"), scene.crank_number),))
        return Taken((Draft(CrankLost(reason="may have been moved since")),))

    place = landmark(scene.build.engine, at)
    return Prompt(
        id=RESUME_STEP,
        phase=phase,
        ask=Ask.CHOICE,
        question=f"Is the crank still where it was left: {place}?",
        why="Whoever was at the engine since may have turned it. Look at the mark and feel a "
        "lifter. The step that was under way is asked again.",
        options=(
            Option("y", "still there: mark looked at, a lifter felt"),
            Option("m", "moved, or not sure"),
        ),
        facts=(Fact(f"crank at {at:g}°", "the last entry that placed it"),),
        guarded=True,
        take=take,
    )


def _go_on(scene: Scene, phase: Phase) -> Prompt:
    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        return Taken((Draft(Answered(step=RESUME_STEP, answer="yes", said="gone on")),))

    return Prompt(
        id=RESUME_STEP,
        phase=phase,
        ask=Ask.CHOICE,
        question="Work was broken off here. Read what was done last, then go on.",
        why="The step that was under way is asked again.",
        options=(Option("y", "read, go on"),),
        guarded=True,
        take=take,
    )


def lost_prompt(scene: Scene, phase: Phase) -> Prompt:
    """The next thing to feel, or the mark to turn on to, until the crank's place is known."""
    if scene.build.cam is None:
        return _watch_cylinder_one(scene, phase)
    up, down = _answers(scene, "up"), _answers(scene, "down")
    left = ranges(scene.build.engine, scene.build.cam, up, down)
    if not left:
        odd = odd_answers(scene.build.engine, scene.build.cam, up, down)
        again = odd[0] if odd else (up + down)[-1]
        return _feel(scene, phase, again, left, odd or tuple(up + down))
    mark = _next_mark(left)
    if mark is not None:
        return _turn_to_mark(scene, phase, mark, left)
    unsure = _answers(scene, "unsure")
    valve = feel_next(scene.build.engine, scene.build.cam, up, down, without=unsure)
    if valve is None:
        return _watch_cylinder_one(scene, phase)
    return _feel(scene, phase, valve, left, ())


def places_left(scene: Scene) -> tuple[Span, ...]:
    """Where a lost crank can be by what was felt so far; () while its place is known."""
    if scene.standing.lost is None or scene.build.cam is None or not scene.standing.felt:
        return ()
    up, down = _answers(scene, "up"), _answers(scene, "down")
    return ranges(scene.build.engine, scene.build.cam, up, down)


def _answers(scene: Scene, state: str) -> list[Valve]:
    felt = scene.standing.felt.values()
    return [
        Valve.parse(e.body.valve)
        for e in felt
        if isinstance(e.body, Felt) and e.body.state == state
    ]


def _next_mark(left: tuple[Span, ...]) -> float | None:
    """Which TDC of cylinder 1 comes next from every place that is left, if it is the same one."""
    nexts = set()
    for span in left:
        length = (span.to_deg - span.from_deg) % CYCLE_DEG or CYCLE_DEG
        start = span.from_deg % 360.0
        if start == 0.0 or start + length > 360.0:
            return None
        nexts.add((span.from_deg - start + 360.0) % CYCLE_DEG)
    return nexts.pop() if len(nexts) == 1 else None


def spans_said(left: tuple[Span, ...]) -> str:
    """The ranges that are left, in words."""
    return " or ".join(f"{s.from_deg:.0f}°–{s.to_deg:.0f}°" for s in left)


def _feel(
    scene: Scene, phase: Phase, valve: Valve, left: tuple[Span, ...], odd: tuple[Valve, ...]
) -> Prompt:
    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        state = _STATES.get(answer)
        felt = Felt(valve=str(valve), state=state) if state else _other_valve(scene, answer)
        return Taken((Draft(felt),))

    if odd:
        doubt = "these answers can't all hold"
        fact = Fact(f"{doubt}: {names(list(odd))} disagrees with the rest", "worked out")
    else:
        said = f"the crank is somewhere in {spans_said(left)} of its 720°"
        fact = Fact(said, "worked out from what was felt")
    again = "again " if odd else ""
    return Prompt(
        id=FEEL,
        phase=phase,
        ask=Ask.READING,
        question=f"Feel {valve}'s lifter or pushrod {again}without turning the crank: "
        "is it up on its lobe, or down on its heel (base circle)?",
        why="Each answer rules out places the crank could be. This one rules out most.",
        options=(
            Option("u", "up on the lobe"),
            Option("d", "down on the heel"),
            Option("c", "can't tell"),
        ),
        reading="another valve and how it stands",
        example="like 3E up or 4I down",
        facts=(fact,),
        valve=valve,
        guarded=True,
        take=take,
    )


def _other_valve(scene: Scene, answer: str) -> Felt:
    """What was felt of a valve the walk had not asked for."""
    name, _, state = answer.partition(" ")
    state = state.strip().lower()
    try:
        valve = Valve.parse(name)
    except ValueError as error:
        raise Refused(str(error), "u, d or c, or another valve like 3E up") from None
    if valve not in scene.standing.valves:
        raise Refused(f"{valve} is not on this engine", "a valve of its own")
    if state == "up":
        return Felt(valve=str(valve), state="up")
    if state == "down":
        return Felt(valve=str(valve), state="down")
    raise Refused(f"{answer!r} doesn't say how it stands", "like 3E up or 4I down")


def _turn_to_mark(scene: Scene, phase: Phase, mark: float, left: tuple[Span, ...]) -> Prompt:
    barred = before_turning(scene, phase)
    if barred is not None:
        return barred
    said = landmark(scene.build.engine, mark)
    return _place_prompt(
        phase,
        FIND_MARK,
        mark,
        f"Turn on, in the running direction, to the next TDC mark: {said}. Is the crank there?",
        (Fact(f"the crank is at {spans_said(left)}", "worked out from what was felt"),),
    )


def _watch_cylinder_one(scene: Scene, phase: Phase) -> Prompt:
    barred = before_turning(scene, phase)
    if barred is not None:
        return barred
    return _place_prompt(
        phase,
        WATCH_ONE,
        0.0,
        "Turn on to cylinder 1 at TDC on compression: 1I closes on the way up, and 30° further "
        "neither of its lifters moves. Is the crank back at that mark?",
        (Fact("right for any four-stroke cam", "how a four-stroke works"),),
    )


def _place_prompt(
    phase: Phase, prompt_id: str, at_deg: float, question: str, facts: tuple[Fact, ...]
) -> Prompt:
    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        if answer == "y":
            return Taken((Draft(Crank(at_deg=at_deg, how="found", seen=question)),))
        return Taken((Draft(CrankLost(reason="the mark was not found as told")),))

    return Prompt(
        id=prompt_id,
        phase=phase,
        ask=Ask.CHOICE,
        question=question,
        why="From a mark that is sure, everything is counted again.",
        caution=Hazard(
            "WARNING",
            "Lifters may still hold valves open.",
            "Forced, a solid crank bends valves.",
            "By hand, slowly, running direction only. If it goes solid, never force it.",
        ),
        options=(Option("y", "at the mark"), Option("n", "no: feel lifters again")),
        facts=facts,
        crank_target_deg=at_deg,
        guarded=True,
        take=take,
    )
