"""One valve's count of turns: from zero lash to the click or as given, and its verdict."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from heelwise.documents import quantities
from heelwise.documents.entries import Ceiling, Draft, Fitted, Phase, Read
from heelwise.documents.procedure import Step
from heelwise.documents.resolution import turns_resolution
from heelwise.valvetrain.figures import length_text, turns_text
from heelwise.valvetrain.positions import Position
from heelwise.valvetrain.pushrods import Reading, try_pushrod
from heelwise.valvetrain.verdict import Word, judge
from heelwise.walk.count_said import told_of
from heelwise.walk.hot import growth_facts
from heelwise.walk.prompts import Ask, Fact, Option, Prompt, Refused, Taken
from heelwise.walk.scene import Scene
from heelwise.walk.standing import ValveStanding
from heelwise.walk.steps import example_of, hazard_of, read_quantity
from heelwise.walk.wording import words
from heelwise.walk.wrench import torque_facts

NO_CLICK = "c"
CLICKED = "turns from zero lash to the click, 0 with lash left"


@dataclass(frozen=True)
class AtValve:
    """One valve about to be read: where, in which phase, and what the reading rests on."""

    scene: Scene
    one: ValveStanding
    phase: Phase
    position: Position | None
    rests: tuple[int, ...]
    recount: bool = False


def count_facts(scene: Scene, pushrod: str) -> tuple[Fact, ...]:
    """Never past, the window, the travel in use and growth, each with its origin."""
    window, used = scene.window, scene.travel.used
    least, most = map(quantities.show_turns, (window.least_turns, window.most_turns))
    return (
        scene.never_past_fact,
        Fact(f"window {least} to {most} turns", window.said),
        Fact(f"{length_text(used.mm)} of travel a turn", used.said),
        *(Fact(note, "the setup and the trials compared") for note in window.notes),
        *growth_facts(scene, pushrod),
    )


def count_prompt(at: AtValve, step: Step) -> Prompt:
    """The prompt that takes a valve's turns."""
    scene, one = at.scene, at.one
    pushrod = _pushrod(at)
    clicks = scene.build.way.clicks
    never = turns_text(scene.never_past)
    heading, facts = f"never past {never}", count_facts(scene, pushrod)
    if not clicks:
        heading = f"give {turns_text(scene.wanted_turns)}, {heading}"
        facts = (_wanted_fact(scene), *facts)
    ended = Option(NO_CLICK, f"{never} reached, no click: count ended")

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        return _counted(at, pushrod, answer)

    return Prompt(
        id=step.id,
        phase=at.phase,
        ask=Ask.READING,
        heading=heading,
        question=words(scene, step.say, one.valve, at.position),
        why=step.why,
        caution=hazard_of(step),
        options=(ended,) if clicks else (),
        reading=CLICKED if clicks else "turns given from zero lash",
        example=example_of("turns"),
        facts=(Fact(f"pushrod {pushrod}", "as measured"), *_setting(scene), *facts),
        valve=one.valve,
        guarded=True,
        fills="count",
        take=take,
        rests_on=at.rests,
    )


def _setting(scene: Scene) -> tuple[Fact, ...]:
    """What to set on the wrench, where an adapter makes it another figure than the torque."""
    return torque_facts(scene.build)[1:] if scene.build.way.clicks else ()


def _wanted_fact(scene: Scene) -> Fact:
    chosen = scene.build.procedure.defaults.wanted_turns
    said = f"give {turns_text(scene.wanted_turns)}"
    return Fact(said, "the procedure" if chosen is not None else "the middle of the window")


def _pushrod(at: AtValve) -> str:
    if at.phase != "trial":
        return at.scene.pushrod_text(at.one)
    fitted = at.one.fitted.body if at.one.fitted else None
    assert isinstance(fitted, Fitted), "a trial is counted with a trial pushrod in"
    return fitted.pushrod


def _counted(at: AtValve, pushrod: str, answer: str) -> Taken:
    name, never = str(at.one.valve), at.scene.never_past
    if answer == NO_CLICK:
        body = Ceiling(valve=name, phase=at.phase, pushrod=pushrod, never_past_turns=never)
        return Taken(
            (Draft(body, at.rests),), f"{name}: no click by {never:g} turns. Too long.", "bad"
        )
    turns = read_quantity("turns", answer)
    if turns < 0:
        raise Refused(f"{answer} turns is no count", CLICKED)
    if turns > never + 1e-9:
        body = Ceiling(
            valve=name, phase=at.phase, pushrod=pushrod, never_past_turns=never, turns=answer
        )
        shown = quantities.show_turns(never)
        said = f"{name}: {answer} is past the {shown} turns never to pass. Taken as bottomed; if "
        said += "it was a slip of the finger, cross it out."
        return Taken((Draft(body, at.rests),), said, "bad")
    return _judged(at, pushrod, answer, turns)


def _judged(at: AtValve, pushrod: str, answer: str, turns: float) -> Taken:
    scene, one = at.scene, at.one
    defaults = scene.build.procedure.defaults
    resolution = turns_resolution(answer, defaults.resolution_turns)
    found = judge(turns, scene.window, resolution, defaults.rule)
    place = scene.crank_deg
    assert place is not None
    body = Read(
        valve=str(one.valve),
        turns=answer,
        phase=at.phase,
        recount=at.recount,
        pushrod=pushrod,
        at_deg=place,
        margin_deg=scene.margin(one.valve),
        resolution_turns=resolution,
        verdict=found.word.value,
        near=found.near,
        rule=found.rule,
        least_turns=scene.window.least_turns,
        most_turns=scene.window.most_turns,
        never_past_turns=scene.never_past,
        travel_mm=scene.travel.used.mm,
        travel_from=scene.travel.used.origin.value,
    )
    said = told_of(scene, one, body)
    tone = "good" if found.word is Word.INSIDE else "bad"
    return Taken((Draft(body, at.rests),), said, "warn" if found.near else tone)


def proposal(scene: Scene, one: ValveStanding, entry_body: object) -> tuple[float, float] | None:
    """The pushrod to try for a count (mm) and the turns to expect, or None if nothing serves."""
    if not isinstance(entry_body, Read | Ceiling):
        return None
    if isinstance(entry_body, Read):
        turns = quantities.turns(entry_body.turns)
    else:
        turns = entry_body.never_past_turns
    at = Reading(one.valve, quantities.length_mm(entry_body.pushrod), turns)
    lengths = scene.build.setup.lengths()
    found = try_pushrod(at, scene.window, scene.travel.used.mm, lengths)
    if found.pushrod_mm is None or found.expect_turns is None:
        return None
    return found.pushrod_mm, found.expect_turns
