"""A valve's way through Fit: unloaded, the steps before, the reading, the steps after it."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from math import ceil

from heelwise.documents.entries import Answered, BackedOff, Draft, Fitted, Gauged, Phase, Unloaded
from heelwise.documents.procedure import Step
from heelwise.valvetrain.positions import Position
from heelwise.valvetrain.valves import Valve
from heelwise.walk.counting import AtValve, count_prompt
from heelwise.walk.gauging import gauge_prompt
from heelwise.walk.outside import fitted_draft, outside_prompt
from heelwise.walk.prompts import Ask, Fact, Option, Prompt, Refused, Taken
from heelwise.walk.scene import Scene
from heelwise.walk.standing import ValveStanding
from heelwise.walk.stands import draw_prompt, is_drawn
from heelwise.walk.steps import answered, step_applies, step_prompt, steps_due

UNLOAD = "walk/unload"
CHANGE = Option("p", "another pushrod goes in", ("its measured length",))
READINGS = ("count", "gauge", "checked", "lash_checked")
"""What the step fills that takes a valve's reading."""


def settled(scene: Scene, valve: Valve) -> bool:
    """Whether a valve is done in Fit: read, inside or accepted, and all that follows it done."""
    one = scene.standing.valve(valve)
    if one.untouched:
        return True
    return one.settled_count and is_drawn(scene, valve) and _after_due(scene, one) is None


def valve_prompt(
    scene: Scene,
    valve: Valve,
    phase: Phase,
    position: Position | None,
    *,
    recount: bool = False,
) -> Prompt:
    """The next prompt of a valve that is not settled.

    Args:
        scene: The moment of the build.
        valve: The valve.
        phase: Fit, or Prove when it is counted there.
        position: The position it is worked on at.
        recount: Whether its count checks an earlier one.
    """
    one = scene.standing.valve(valve)
    if not is_drawn(scene, valve):
        return draw_prompt(scene, valve, position)
    if one.outside:
        return outside_prompt(scene, valve, phase)
    if one.settled_count:
        due = _after_due(scene, one)
        assert due is not None, "a settled valve is not asked about"
        return _after(scene, one, due, phase, position)
    return count_chain(scene, valve, phase, position, recount=recount)


def count_chain(
    scene: Scene,
    valve: Valve,
    phase: Phase,
    position: Position | None = None,
    *,
    recount: bool = False,
) -> Prompt:
    """The next prompt on the way to a valve's reading: unloading, the steps, the reading.

    The chain starts again after every resume, so that an interrupted step is repeated.
    """
    one = scene.standing.valve(valve)
    if _needs_unloading(scene, one):
        return _unload(scene, phase, one)
    before, reading, _ = _parts(scene, "trial" if phase == "trial" else "fit")
    since = max(one.touched, scene.standing.resumed_at)
    due = steps_due(scene, before, since, valve)
    rests = (*scene.crank_number, *_numbers(one, phase))
    if due is not None:
        prompt = step_prompt(scene, due, valve, position, rests)
        return prompt if phase == "trial" else _with_change(scene, prompt, one, phase)
    rests = (*rests, *answered(scene, before, valve), *_unloading(scene, one))
    at = AtValve(scene, one, phase, position, rests, recount)
    return gauge_prompt(at, reading) if reading.fills == "gauge" else count_prompt(at, reading)


def _numbers(one: ValveStanding, phase: Phase) -> tuple[int, ...]:
    """What gave the pushrod that is in, and the stand drawn down: a reading rests on both."""
    fitted = one.fitted.body if one.fitted else None
    own = phase == "trial" or (isinstance(fitted, Fitted) and fitted.phase != "trial")
    given = (one.fitted if own else one.received, one.drawn)
    return tuple(entry.number for entry in given if entry is not None)


def _parts(scene: Scene, phase: str) -> tuple[tuple[Step, ...], Step, tuple[Step, ...]]:
    """The steps of each valve before its reading, that of the reading, and those after it."""
    steps = scene.build.steps(phase, "valve")
    place = next(i for i, step in enumerate(steps) if step.fills in READINGS)
    return steps[:place], steps[place], steps[place + 1 :]


def after_numbers(scene: Scene, valve: Valve) -> tuple[int, ...]:
    """The entries that answer what follows a valve's reading, which a proof rests on."""
    told = [scene.standing.step(step.id, valve) for step in _parts(scene, "fit")[2]]
    return tuple(entry.number for entry in told if entry is not None)


def _after_due(scene: Scene, one: ValveStanding) -> Step | None:
    """The first step after the reading that was not answered since the valve was set."""
    since = one.set_at
    for step in _parts(scene, "fit")[2]:
        if not step_applies(scene, step):
            continue
        told = _gauged_locked(one) if step.fills == "recheck" else None
        if step.fills != "recheck":
            entry = scene.standing.step(step.id, one.valve)
            told = entry.number if entry else None
        if told is None or told <= since:
            return step
        since = told if step.fills == "locked" else since
    return None


def _gauged_locked(one: ValveStanding) -> int | None:
    found = [e.number for e in one.gauged if isinstance(e.body, Gauged) and e.body.locked]
    return found[-1] if found else None


def _after(
    scene: Scene, one: ValveStanding, step: Step, phase: Phase, position: Position | None
) -> Prompt:
    count = one.last_count
    assert count is not None
    rests = (count.number, *scene.crank_number)
    if step.fills == "recheck":
        at = AtValve(scene, one, phase, position, (*rests, *after_numbers(scene, one.valve)))
        return gauge_prompt(at, step, locked=True)
    prompt = replace(step_prompt(scene, step, one.valve, position, rests), phase=phase)
    return _with_play(scene, prompt, one) if step.fills == "play" else prompt


def _with_play(scene: Scene, prompt: Prompt, one: ValveStanding) -> Prompt:
    """Play found after locking sends the valve back to be set anew."""

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        taken = prompt.take(answer, texts, now)
        body = taken.drafts[0].body
        if not isinstance(body, Answered) or body.answer != "found":
            return taken
        off = BackedOff(valves=[str(one.valve)], why="count again")
        drafts = (*taken.drafts, Draft(off, scene.crank_number))
        return Taken(drafts, f"{one.valve}: it is set anew from zero lash.", "bad")

    return replace(prompt, take=take)


def _needs_unloading(scene: Scene, one: ValveStanding) -> bool:
    """Used or pumped lifters need a minute without load before any second zero lash."""
    if scene.build.way.reads != "turns" or not (one.tightened or one.as_found):
        return False
    if scene.standing.lifters not in ("used", "pumped"):
        return False
    return not _unloading(scene, one)


def _unloading(scene: Scene, one: ValveStanding) -> tuple[int, ...]:
    """The entry that its lifter was left to rise since it was last tightened, if it counts."""
    counting = (e for e in one.history if isinstance(e.body, Unloaded) and scene.standing.counts(e))
    return tuple(e.number for e in counting if e.number > one.tightened)[-1:]


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
    """Let a step before the reading also take word of another pushrod."""

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        if answer == CHANGE.key:
            return Taken((fitted_draft(one, texts[0], phase),))
        return prompt.take(answer, texts, now)

    fact = Fact(
        f"its pushrod: {scene.pushrod_text(one)}", "measured when it was received or fitted"
    )
    options, facts = (*prompt.options, CHANGE), (*prompt.facts, fact)
    return replace(prompt, phase=phase, options=options, facts=facts, take=take)
