"""A valve's way through Fit: its stand drawn down, unloaded, the steps, the reading, the rest."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from heelwise.documents import entries as e
from heelwise.documents.procedure import Step
from heelwise.documents.quantities import length_mm
from heelwise.documents.quantities import turns as turns_of
from heelwise.documents.steps import Phase, Records
from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.positions import Position
from heelwise.walk.counting import (
    AtValve,
    count_prompt,
    count_text,
    gauge_prompt,
    preload_of,
    pushrod_fact,
    try_facts,
)
from heelwise.walk.crank import counted_off, go_round
from heelwise.walk.doubts import accept_option, doubt_length, early_click_prompt, pushrod_mm
from heelwise.walk.prepare import torque_facts
from heelwise.walk.prompts import Fact, Option, Prompt, Reply, kept
from heelwise.walk.scene import Scene
from heelwise.walk.state import Count, ValveState
from heelwise.walk.steps import (
    REST_ON_PREVIOUS,
    answered,
    back_off,
    parts,
    step_applies,
    step_prompt,
    steps_due,
)
from heelwise.walk.troubles import NOT_UP, report
from heelwise.wording import listed, text

UNLOAD = "walk/unload"
OUTSIDE = "walk/outside"


def settled(scene: Scene, valve: Valve) -> bool:
    """Whether a valve is done in Fit: read, inside or accepted, and all that follows it done."""
    valve_state = scene.state.valves[valve]
    if valve_state.untouched or valve_state.open_troubles:
        return not valve_state.open_troubles
    due = _stands(scene, valve_state) and is_drawn(scene, valve)
    return due and _after_due(scene, valve_state) is None


def valve_prompt(
    scene: Scene,
    valve: Valve,
    phase: Phase,
    position: Position | None,
    recount: bool = False,
) -> Prompt:
    """The next prompt of a valve that is not settled; `recount`: its count checks an earlier one.

    `phase` is Fit, or Prove when it is counted there.
    """
    valve_state = scene.state.valves[valve]
    if not is_drawn(scene, valve):
        return _draw_prompt(scene, valve, position)
    # Outside, ended without a click, or inside no more by the travel now in force.
    count = valve_state.last_count
    if count and count.number >= valve_state.touched and not _stands(scene, valve_state):
        early = early_click_prompt(scene, valve_state, count, phase)
        return early or outside_prompt(scene, valve, count, phase)
    due = _after_due(scene, valve_state) if valve_state.settled_count else None
    if due is not None:
        return _after(scene, valve_state, due, phase, position)
    return reading_prompt(scene, valve, phase, position, recount=recount)


def _stands(scene: Scene, valve_state: ValveState) -> bool:
    """Whether its count stands, and inside by the travel now in force, or accepted as is."""
    count = valve_state.standing_count
    read = count.when(e.Read) if count else None
    inside = read is None or scene.judged(read.body).word.value == read.body.verdict == "inside"
    return valve_state.settled_count and (inside or valve_state.acceptance is not None)


def reading_prompt(
    scene: Scene,
    valve: Valve,
    phase: Phase,
    position: Position | None = None,
    *,
    recount: bool = False,
) -> Prompt:
    """The next prompt on the way to a valve's reading: unloading, the steps, the reading.

    They start again after every resume, so that an interrupted step is repeated.
    """
    valve_state = scene.state.valves[valve]
    if _needs_unloading(scene, valve_state):
        return _unload(scene, phase, valve_state)
    before, reading, _ = parts(scene, "trial" if phase == "trial" else "fit")
    since = max(valve_state.touched, scene.state.resumed_at)
    due = steps_due(scene, before, since, valve)
    given = valve_state.fitted if phase == "trial" else valve_state.given_pushrod
    gave = (entry.number for entry in (given, valve_state.drawn) if entry is not None)
    rests = (*scene.crank_number, *gave)
    if due is not None:
        prompt = step_prompt(scene, due, valve, position, rests)
        return prompt if phase == "trial" else _with_change(scene, prompt, valve_state, phase)
    rests = (*rests, *answered(scene, before, valve), *_unloading(scene, valve_state))
    pushrod = given.body.pushrod if given else scene.build.set_length(valve)
    at = AtValve(scene, valve, phase, position, rests, pushrod, recount)
    gauged = reading.records is Records.GAUGE
    prompt = gauge_prompt(at, reading) if gauged else count_prompt(at, reading)
    # Where nothing is asked before the count, it takes word of another pushrod.
    takes = phase != "trial" and not before and not gauged
    return prompt.offering(_change(scene, valve, phase)) if takes else prompt


def after_numbers(scene: Scene, valve: Valve) -> tuple[int, ...]:
    """The entries that answer what follows a valve's reading, which a proof rests on."""
    return answered(scene, parts(scene, "fit")[2], valve)


def _after_due(scene: Scene, valve_state: ValveState) -> Step | None:
    since = valve_state.set_at
    locked = tuple(each.number for each in valve_state.gauged if each.body.locked)
    for step in parts(scene, "fit")[2]:
        if not step_applies(scene, step):
            continue
        recheck = step.records is Records.RECHECK
        done = locked if recheck else answered(scene, (step,), valve_state.valve)
        if max(done, default=0) <= since:
            return step
        since = max(done) if step.records is Records.LOCKED else since
    return None


def _after(
    scene: Scene, valve_state: ValveState, step: Step, phase: Phase, position: Position | None
) -> Prompt:
    valve, count = valve_state.valve, valve_state.last_count
    rests = (*((count.number,) if count else ()), *scene.crank_number)
    if step.records is Records.RECHECK:
        rests = (*rests, *after_numbers(scene, valve))
        at = AtValve(scene, valve, phase, position, rests, scene.pushrod_text(valve_state))
        return gauge_prompt(at, step, locked=True)

    def done_over(reply: Reply) -> Reply:
        body = reply.drafts[0].body
        found = isinstance(body, e.Answered) and body.answer == "found"
        if not found and not isinstance(body, e.NotYet):
            return reply
        if step.records is Records.PLUNGER_UP:
            down = report(NOT_UP, phase, valve, "after its gap was gauged")
            return Reply((*reply.drafts, down), f"{valve} stays open until it has.", "bad")
        off = back_off(scene, [valve], "count again")
        lash = scene.build.method.reads == "lash"
        again = "its lash is set again" if lash else "it is set again from zero lash"
        return Reply((*reply.drafts, off), f"{valve}: {again}.", "bad")

    prompt = replace(step_prompt(scene, step, valve, position, rests), phase=phase)
    again = step.records in (Records.PLAY, Records.LOCKED, Records.PLUNGER_UP)
    return prompt.then(done_over) if again else prompt


def _needs_unloading(scene: Scene, valve_state: ValveState) -> bool:
    touched = valve_state.tightened or valve_state.as_found
    oily = scene.build.method.reads == "turns" and scene.state.lifters in ("used", "pumped")
    return bool(touched) and oily and not _unloading(scene, valve_state)


def _unloading(scene: Scene, valve_state: ValveState) -> tuple[int, ...]:
    entries = (each for each in valve_state.history if each.number > valve_state.tightened)
    return tuple(x.number for x in entries if x.when(e.Unloaded) and scene.state.counts(x))[-1:]


def _unload(scene: Scene, phase: Phase, valve_state: ValveState) -> Prompt:
    valve, minutes = valve_state.valve, scene.defaults.unload_minutes
    slack = valve_state.loosened if valve_state.loosened_for else None
    last = scene.state.entries[-1].at
    over = min(slack.at if slack else last, last) + timedelta(minutes=minutes)
    up = kept(e.Unloaded(valve=str(valve), minutes=minutes))
    down = Reply(
        (report(NOT_UP, phase, valve, "after its minute without load"),),
        f"{valve} stays open until it has.",
        "warn",
    )

    return Prompt(
        id=UNLOAD,
        phase=phase,
        question=f"{valve}: rocker backed off for {minutes:g} min. Is the plunger back up?",
        why="If the plunger is still down you reach zero lash late and count too few turns.",
        options=(
            Option("y", "backed off all that time; the plunger is up at its retainer", does=up),
            Option("n", "no: it is still down", does=down),
        ),
        facts=(Fact(f"{minutes:g} min before any second zero lash", "common practice, no source"),),
        valve=valve,
        wait_until=over,
    )


def _with_change(scene: Scene, prompt: Prompt, valve_state: ValveState, phase: Phase) -> Prompt:
    """Let a step before the reading also take word of another pushrod."""
    fact = pushrod_fact(scene, valve_state.valve, scene.pushrod_text(valve_state), phase)
    changed = replace(prompt, phase=phase, facts=(*prompt.facts, fact))
    return changed.offering(_change(scene, valve_state.valve, phase))


def _change(
    scene: Scene, valve: Valve, phase: Phase, label: str = "", key: str = "p", *before: e.Draft
) -> Option:
    """Another pushrod goes in; a length far from the others is asked once more."""

    def changed(length: str) -> Reply:
        fits = e.Draft(e.Fitted(valve=str(valve), pushrod=length, phase=phase))
        doubted = doubt_length(scene, valve, length, pushrod_mm(scene, valve, length))
        return doubted or Reply((*before, fits))

    return Option(key, f"{label}another pushrod", ("its measured length",), changed)


# ------------------------------------------------- a reading outside its limits


def outside_prompt(scene: Scene, valve: Valve, count: Count, phase: Phase) -> Prompt:
    """What to do with a reading outside its limits: again, another pushrod, later, or as is."""
    method, stand = scene.build.method, scene.build.stand_of(valve)
    again, off = "back off and count again from zero lash", "back off"
    if method.stands:
        off = f"slacken {listed(stand)} evenly"
        again = f"slacken the stand of {listed(stand)} evenly, draw it down again"
    elif not method.clicks:
        again = "unlock it and set it again"
    slack = back_off(scene, stand, "count again")
    later = Reply((back_off(scene, stand, "come back later"),))
    options = [
        Option("1", again, does=Reply((slack,))),
        Option("3", "leave it backed off, come back to it", does=later),
    ]
    if method.length_sets_preload:
        options.insert(1, _change(scene, valve, phase, f"{off}, ", "2", slack))
    if _may_accept(scene, count):
        options.append(accept_option("4", "accept as is", valve, count.number))
    return Prompt(
        id=OUTSIDE,
        phase=phase,
        heading=f"{valve} can't stay as it is",
        question=text("{} What now?", count_text(scene, count)),
        why="Gauge again first: off its heel (base circle), or with the gauge in at a slant, it "
        "reads wrong. A valve without lash is held open hot and can't be accepted."
        if method.reads == "lash"
        else "Count again first: a pushrod out of its cup, or lash left in, reads wrong. "
        "A bottomed plunger can't be accepted as is, nor a valve with lash left.",
        options=tuple(options),
        facts=try_facts(scene, count) if method.length_sets_preload else (),
        valve=valve,
    )


def _may_accept(scene: Scene, count: Count) -> bool:
    """Never a count that reached the turns never to pass, a gap of nothing, or lash left."""
    body = count.body
    if isinstance(body, e.Read):
        return scene.seat_turns < turns_of(body.turns) < scene.never_past - 1e-9
    if isinstance(body, e.Gauged) and length_mm(body.reading) > 0:
        return body.what == "lash" or preload_of(scene, body) > 0
    return False


# ------------------------------------------------------------------ stands


def is_drawn(scene: Scene, valve: Valve) -> bool:
    """Whether a valve's stand is down: drawn since it was last slackened."""
    if not scene.build.method.stands:
        return True
    states = [scene.state.valves[v] for v in scene.build.stand_of(valve)]
    return all(s.drawn is not None and s.drawn.number > s.slackened for s in states)


def _draw_prompt(scene: Scene, valve: Valve, position: Position | None) -> Prompt:
    """The next step on the way to a stand drawn down evenly; the last one keeps that it is.

    A step asked once for a stand is kept with the stand's first valve.
    """
    stand = scene.build.stand_of(valve)
    steps = scene.build.steps("fit", "stand")
    since = max(scene.state.resumed_at, *(scene.state.valves[v].slackened for v in stand))
    due = steps_due(scene, steps, since, stand[0])
    if due is not None:
        return step_prompt(scene, due, stand[0], position, scene.crank_number)
    step = next(step for step in steps if step.records is Records.DRAWN)
    lobes = [v for v in stand if not scene.on_heel(v)]

    def drawn(reply: Reply) -> Reply:
        if not isinstance(reply.drafts[0].body, e.Answered):
            return reply
        body = e.Drawn(
            valves=[str(v) for v in stand],
            stand=listed(stand),
            torque=scene.build.torque,
            setting=scene.build.setting,
            at_deg=scene.at_deg,
            on_lobe=[str(v) for v in lobes],
        )
        rests = (REST_ON_PREVIOUS, *scene.crank_number, *answered(scene, steps, stand[0]))
        return replace(reply, drafts=(*reply.drafts, e.Draft(body, rests)))

    facts = [*torque_facts(scene.build)]
    if lobes:
        loads = f"{listed(lobes)} on a lobe here: its spring loads the bolts, so draw evenly"
        facts.append(Fact(loads, "worked out from the cam"))
    prompt = step_prompt(scene, step, stand[0], position, scene.crank_number).then(drawn)
    return replace(prompt, facts=(*prompt.facts, *facts), records=Records.DRAWN)


def fit_prompt(scene: Scene) -> Prompt | None:
    """The next prompt of Fit: every valve read with its own pushrod; None when all are settled."""
    state = scene.state
    needy = [v for v in state.valves if not settled(scene, v)]
    if not needy:
        return None
    first = [v for v in needy if state.valves[v].loosened_for != "come back later"] or needy

    def serve(valve: Valve, position: Position | None) -> Prompt:
        return valve_prompt(scene, valve, "fit", position)

    prompt = go_round(scene, "fit", scene.plan, first, serve)
    return counted_off(scene, prompt, "valve", len(state.valves) - len(needy))
