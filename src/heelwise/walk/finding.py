"""Taking work up again, and finding a crank that may have been moved."""

from dataclasses import replace
from functools import partial
from typing import Literal

from heelwise.documents.entries import Answered, Crank, CrankLost, Felt
from heelwise.documents.steps import Phase
from heelwise.valvetrain.cam import Arc
from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.turn import landmark
from heelwise.valvetrain.where import feel_next, odd_answers, ranges
from heelwise.walk.crank import BY_HAND, before_turning
from heelwise.walk.prompts import Fact, Option, Prompt, Reply, kept
from heelwise.walk.scene import Scene
from heelwise.walk.state import RESUME_STEP
from heelwise.wording import listed

FEEL = "walk/feel"
FIND_MARK = "walk/find-mark"
WATCH_ONE = "walk/watch-cylinder-one"

CYCLE_DEG = 720.0

_WATCH = (
    "Turn on to cylinder 1 at TDC on compression: 1I closes on the way up, and 30° further neither "
    "of its lifters moves. Is the crank back at that mark?"
)
_ANY_CAM = Fact("right for any four-stroke cam", "how a four-stroke works")

State = Literal["up", "down", "unsure"]


def resume_prompt(scene: Scene) -> Prompt:
    """What stands after a pause or a new start: where the crank is now, or simply going on."""
    at, again = scene.crank_deg, "The step you were on is asked again."
    gone_on = kept(Answered(step=RESUME_STEP, answer="yes", said="gone on"))
    prompt = Prompt(
        id=RESUME_STEP,
        question="You stopped here. Check the last entries, then carry on.",
        why=again,
        options=(Option("y", "checked, carry on", does=gone_on),),
    )
    if at is None:
        return prompt
    here = kept(Crank(at_deg=at, how="still there"), rests=scene.crank_number)
    moved = kept(CrankLost(reason="may have been moved since"))
    return replace(
        prompt,
        question=f"Is the crank still where it was left: {landmark(scene.build.engine, at)}?",
        why=f"Someone may have turned it since. Look at the mark and feel a lifter. {again}",
        options=(
            Option("y", "still there: mark checked, a lifter felt", does=here),
            Option("m", "moved, or not sure", does=moved),
        ),
        facts=(Fact(f"crank at {at:g}°", "the last entry that placed it"),),
    )


def lost_prompt(scene: Scene, phase: Phase) -> Prompt:
    """The next thing to feel, or the mark to turn on to, until the crank's place is known."""
    engine, cam = scene.build.engine, scene.build.cam
    watch = partial(_place, scene, phase, WATCH_ONE, 0.0, _WATCH, _ANY_CAM)
    if cam is None:
        return watch()
    up, down = _felt(scene, "up"), _felt(scene, "down")
    left = ranges(engine, cam, up, down)
    if not left:
        odd = odd_answers(engine, cam, up, down) or tuple(up + down)
        doubt = f"these answers can't all hold: {listed(odd)} disagrees with the rest"
        return _feel(scene, odd[0], Fact(doubt, "worked out"), " again")
    spans = " or ".join(f"{s.start:.0f}°–{s.last:.0f}°" for s in left)
    mark = _next_mark(left)
    if mark is not None:
        where = landmark(engine, mark)
        onward = f"Turn on, in the direction of rotation, to the next TDC mark: {where}."
        seen = Fact(f"the crank is at {spans}", "worked out from what was felt")
        return _place(scene, phase, FIND_MARK, mark, f"{onward} Is the crank there?", seen)
    valve = feel_next(engine, cam, up, down, without=_felt(scene, "unsure"))
    if valve is None:
        return watch()
    somewhere = f"the crank is somewhere in {spans}"
    if not scene.state.felt:
        somewhere = "nothing known yet: the crank could be anywhere in the cycle"
    return _feel(scene, valve, Fact(somewhere, "worked out from what was felt"))


def places_left(scene: Scene) -> tuple[Arc, ...]:
    """Where a lost crank can be by what was felt so far; () while its place is known."""
    if not scene.state.lost or scene.build.cam is None or not scene.state.felt:
        return ()
    return ranges(scene.build.engine, scene.build.cam, _felt(scene, "up"), _felt(scene, "down"))


def _felt(scene: Scene, state: State) -> list[Valve]:
    felt = scene.state.felt.values()
    return [Valve.parse(entry.body.valve) for entry in felt if entry.body.state == state]


def _next_mark(left: tuple[Arc, ...]) -> float | None:
    """Which TDC of cylinder 1 comes next from every place that is left, if it is the same one."""
    nexts = set()
    for span in left:
        start = span.start % 360.0
        if start == 0.0 or start + span.length > 360.0:
            return None
        nexts.add((span.start - start + 360.0) % CYCLE_DEG)
    return nexts.pop() if len(nexts) == 1 else None


def _feel(scene: Scene, valve: Valve, fact: Fact, again: str = "") -> Prompt:
    def felt(state: State) -> Reply:
        return kept(Felt(valve=str(valve), state=state))

    return Prompt(
        id=FEEL,
        question=f"Feel {valve}'s lifter or pushrod{again} without turning the crank: is it up on "
        "its lobe, or down on its heel (base circle)?",
        why="Each answer rules out places the crank could be. This one rules out most.",
        options=(
            Option("u", "up on the lobe", does=felt("up")),
            Option("d", "down on the heel", does=felt("down")),
            Option("c", "can't tell", does=felt("unsure")),
        ),
        facts=(fact,),
        valve=valve,
    )


def _place(
    scene: Scene, phase: Phase, prompt_id: str, at_deg: float, question: str, fact: Fact
) -> Prompt:
    found = kept(Crank(at_deg=at_deg, how="found", seen=question))
    lost = kept(CrankLost(reason="not at the mark"))
    return before_turning(scene, phase) or Prompt(
        id=prompt_id,
        question=question,
        why="From a mark that is sure, everything is counted again.",
        caution=BY_HAND,
        options=(
            Option("y", "at the mark", does=found),
            Option("n", "no: feel lifters again", does=lost),
        ),
        facts=(fact,),
        crank_target_deg=at_deg,
        turns_crank=True,
    )
