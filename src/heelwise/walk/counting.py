"""One valve's count: loosen, wait, seat, zero lash, turns to the click, and its verdict."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from math import ceil

from heelwise.documents import quantities
from heelwise.documents.entries import (
    Accepted,
    BackedOff,
    Ceiling,
    Draft,
    Fitted,
    Phase,
    Read,
    Unloaded,
)
from heelwise.documents.procedure import Step
from heelwise.documents.resolution import turns_resolution
from heelwise.valvetrain.positions import Position
from heelwise.valvetrain.pushrods import Reading, try_pushrod
from heelwise.valvetrain.valves import Valve
from heelwise.valvetrain.verdict import Word, judge, preload_mm
from heelwise.walk.prompts import Ask, Fact, Option, Prompt, Refused, Taken
from heelwise.walk.scene import Scene
from heelwise.walk.standing import ValveStanding
from heelwise.walk.steps import (
    example_of,
    hazard_of,
    read_quantity,
    step_prompt,
    steps_due,
    words,
)

UNLOAD = "walk/unload"
OUTSIDE = "walk/outside"
CHANGE = Option("p", "another pushrod goes in", ("its measured length",))
NO_CLICK = "c"


def count_chain(
    scene: Scene,
    valve: Valve,
    phase: Phase,
    position: Position | None = None,
    *,
    recount: bool = False,
) -> Prompt:
    """The next prompt on the way to a valve's count: unloading, the steps, the count itself.

    The chain starts again after every resume, so that an interrupted step is repeated.
    """
    one = scene.standing.valve(valve)
    if _needs_unloading(scene, one):
        return _unload(scene, phase, one)
    steps_of = "trial" if phase == "trial" else "fit"
    steps = scene.build.steps(steps_of, "valve")
    since = max(one.touched, scene.standing.resumed_at)
    due = steps_due(scene, steps, since, valve)
    rests = (*scene.crank_number, *((one.fitted.number,) if one.fitted else ()))
    if due is not None:
        prompt = step_prompt(scene, due, valve, position, rests)
        return prompt if phase == "trial" else _with_change(scene, prompt, one, phase)
    count = next(s for s in steps if s.fills == "count")
    return _count(scene, count, one, phase, position, rests, recount)


def _needs_unloading(scene: Scene, one: ValveStanding) -> bool:
    """Used or pumped lifters need a minute without load before any second zero lash."""
    if not one.tightened or scene.standing.lifters not in ("used", "pumped"):
        return False
    unloaded = [e.number for e in one.history if isinstance(e.body, Unloaded)]
    return not unloaded or unloaded[-1] < one.tightened


def _unload(scene: Scene, phase: Phase, one: ValveStanding) -> Prompt:
    minutes = scene.build.procedure.defaults.unload_minutes
    slack = one.loosened if one.loosened_for else None
    since = slack.at if slack else scene.standing.entries[-1].at
    last = scene.standing.entries[-1].at
    over = min(since, last) + timedelta(minutes=minutes)

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        if now < over:
            left = ceil((over - now).total_seconds())
            raise Refused(f"its minute has {left} s to run", "leave it slack until then")
        return Taken((Draft(Unloaded(valve=str(one.valve), minutes=minutes)),))

    return Prompt(
        id=UNLOAD,
        phase=phase,
        ask=Ask.CHOICE,
        question=f"{one.valve}: rocker slack, lifter unloaded for {minutes:g} min. Has it risen?",
        why="A plunger that is still down makes zero lash come late, and the count short.",
        options=(Option("y", "slack all that time; the plunger is up at its retainer"),),
        facts=(Fact(f"{minutes:g} min before any second zero lash", "common practice, no source"),),
        valve=one.valve,
        guarded=True,
        wait_until=over,
        take=take,
    )


def _with_change(scene: Scene, prompt: Prompt, one: ValveStanding, phase: Phase) -> Prompt:
    """Let a step before the count also take word of another pushrod."""

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        if answer == CHANGE.key:
            return _fitted(one, texts[0], phase)
        return prompt.take(answer, texts, now)

    fact = Fact(
        f"its pushrod: {scene.pushrod_text(one)}", "measured when it was received or fitted"
    )
    options, facts = (*prompt.options, CHANGE), (*prompt.facts, fact)
    return replace(prompt, phase=phase, options=options, facts=facts, take=take)


def _fitted(one: ValveStanding, length: str, phase: Phase) -> Taken:
    read_quantity("length", length)
    return Taken((Draft(Fitted(valve=str(one.valve), pushrod=length, phase=phase)),))


def count_facts(scene: Scene) -> tuple[Fact, ...]:
    """Never past, the window and the travel in use, each with its origin."""
    window, used = scene.window, scene.travel.used
    least, most = map(quantities.show_turns, (window.least_turns, window.most_turns))
    travel = quantities.show_length(used.mm, "in")
    return (
        scene.never_past_fact,
        Fact(f"window {least} to {most} turns", window.said),
        Fact(f"{travel} of travel a turn", used.said),
        *(Fact(note, "the setup and the trials compared") for note in window.notes),
    )


def _count(
    scene: Scene,
    step: Step,
    one: ValveStanding,
    phase: Phase,
    position: Position | None,
    rests: tuple[int, ...],
    recount: bool,
) -> Prompt:
    pushrod = scene.pushrod_text(one)
    if phase == "trial":
        fitted = one.fitted.body if one.fitted else None
        assert isinstance(fitted, Fitted), "a trial is counted with a trial pushrod in"
        pushrod = fitted.pushrod
    never = quantities.show_turns(scene.never_past)

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        return _counted(scene, one, phase, pushrod, answer, rests, recount)

    return Prompt(
        id=step.id,
        phase=phase,
        ask=Ask.READING,
        heading=f"never past {never} turns",
        question=words(scene, step.say, one.valve, position),
        why=step.why,
        caution=hazard_of(step),
        options=(Option(NO_CLICK, f"{never} turns reached, no click: count ended"),),
        reading="turns from zero lash to the click",
        example=example_of("turns"),
        facts=(Fact(f"pushrod {pushrod}", "as measured"), *count_facts(scene)),
        valve=one.valve,
        guarded=True,
        fills="count",
        take=take,
        rests_on=rests,
    )


def _counted(
    scene: Scene,
    one: ValveStanding,
    phase: Phase,
    pushrod: str,
    answer: str,
    rests: tuple[int, ...],
    recount: bool,
) -> Taken:
    name, never = str(one.valve), scene.never_past
    if answer == NO_CLICK:
        body = Ceiling(valve=name, phase=phase, pushrod=pushrod, never_past_turns=never)
        return Taken(
            (Draft(body, rests),), f"{name}: no click by {never:g} turns. Too long.", "bad"
        )
    turns = read_quantity("turns", answer)
    if turns < 0:
        raise Refused(
            f"{answer} turns is no count", "turns from zero lash to the click, 0 if lash was left"
        )
    if turns > never + 1e-9:
        body = Ceiling(
            valve=name, phase=phase, pushrod=pushrod, never_past_turns=never, turns=answer
        )
        shown = quantities.show_turns(never)
        said = f"{name}: {answer} is past the {shown} turns never to pass. Taken as bottomed."
        return Taken((Draft(body, rests),), said, "bad")
    return _judged(scene, one, phase, pushrod, answer, rests, recount)


def _judged(
    scene: Scene,
    one: ValveStanding,
    phase: Phase,
    pushrod: str,
    answer: str,
    rests: tuple[int, ...],
    recount: bool,
) -> Taken:
    defaults = scene.build.procedure.defaults
    turns = read_quantity("turns", answer)
    resolution = turns_resolution(answer, defaults.resolution_turns)
    found = judge(turns, scene.window, resolution, defaults.rule)
    at = scene.crank_deg
    assert at is not None
    body = Read(
        valve=str(one.valve),
        turns=answer,
        phase=phase,
        recount=recount,
        pushrod=pushrod,
        at_deg=at,
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
    said = verdict_said(scene, body) + _against_first(scene, one, turns, recount)
    tone = "good" if found.word is Word.INSIDE else "bad"
    return Taken((Draft(body, rests),), said, "warn" if found.near else tone)


def verdict_said(scene: Scene, body: Read) -> str:
    """A reading's verdict in words, with the preload it means and where that comes from."""
    turns = quantities.turns(body.turns)
    deep = preload_mm(turns, scene.travel.used.mm, scene.seat_turns)
    means = {
        "short": "SHORT: too little preload",
        "inside": "INSIDE",
        "long": "LONG: too much preload",
    }[body.verdict]
    near = "; near a limit: only a finer reading settles it" if body.near else ""
    least, most = map(quantities.show_turns, (body.least_turns, body.most_turns))
    return (
        f"{body.valve} {quantities.show_turns(turns)} turns: {means} ({least} to {most}){near}. "
        f"Preload {quantities.show_length(deep, 'in')}, travel {scene.travel.used.origin.value}."
    )


def _against_first(scene: Scene, one: ValveStanding, turns: float, recount: bool) -> str:
    """How a re-count compares with the count it checks."""
    before = one.reading
    if not recount or before is None or not isinstance(before.body, Read):
        return ""
    first = quantities.turns(before.body.turns)
    allowed = scene.build.procedure.defaults.recount_allowance_turns
    if abs(turns - first) <= allowed + 1e-9:
        return f" Agrees with the first count ({before.body.turns})."
    return (
        f" NOT the first count ({before.body.turns}): that one was taken on a lobe or not from "
        "zero lash. This one stands."
    )


def outside_prompt(scene: Scene, valve: Valve, phase: Phase) -> Prompt:
    """What to do with a count outside its window: again, another pushrod, later, or as is.

    A count that was ended at the ceiling, or that reached it, can't be accepted.
    """
    one = scene.standing.valve(valve)
    entry = one.last_count
    assert entry is not None
    options = [
        Option("1", "back off and count again from zero lash"),
        Option("2", "back off, another pushrod", ("its measured length",)),
        Option("3", "leave it backed off, come back to it"),
    ]
    if may_accept(scene, one):
        options.append(Option("4", "accept as is", ("who accepts it", "the reason")))

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        name = str(valve)
        if answer == "4":
            body = Accepted(valve=name, of=entry.number, person=texts[0], reason=texts[1])
            return Taken((Draft(body, (entry.number,)),), f"{name}: accepted as is by {texts[0]}.")
        off = _off(scene, name, later=answer == "3")
        if answer == "2":
            return Taken((off, *_fitted(one, texts[0], phase).drafts))
        return Taken((off,))

    return Prompt(
        id=OUTSIDE,
        phase=phase,
        ask=Ask.CHOICE,
        heading=f"{valve} is outside its window",
        question=f"{valve}: {_outside_said(scene, one)} What now?",
        why="Measure again first: a pushrod not in its cup, or a lash left in, reads wrong. "
        "A plunger at its end is never accepted.",
        options=tuple(options),
        facts=_try_facts(scene, one),
        valve=valve,
        guarded=True,
        take=take,
    )


def _off(scene: Scene, name: str, *, later: bool) -> Draft:
    body = BackedOff(valves=[name], why="come back later" if later else "count again")
    return Draft(body, scene.crank_number)


def may_accept(scene: Scene, one: ValveStanding) -> bool:
    """Whether a count may be accepted as is: it clicked, short of the ceiling."""
    body = one.last_count.body if one.last_count else None
    return isinstance(body, Read) and quantities.turns(body.turns) < scene.never_past - 1e-9


def _outside_said(scene: Scene, one: ValveStanding) -> str:
    body = one.last_count.body if one.last_count else None
    if isinstance(body, Read):
        return verdict_said(scene, body)
    return "the count reached its ceiling without a click: the plunger may be at its end."


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


def _try_facts(scene: Scene, one: ValveStanding) -> tuple[Fact, ...]:
    found = proposal(scene, one, one.last_count.body if one.last_count else None)
    if found is None:
        return (Fact("no length sold or on hand lands inside", "worked out from this count"),)
    length, turns = quantities.show_length(found[0], "in"), quantities.show_turns(found[1])
    said = f"try {length}: expect about {turns} turns"
    return (Fact(said, f"worked out from this count, travel {scene.travel.used.origin.value}"),)
