"""A valve's way through Fit: its stand drawn down, unloaded, the steps, the reading, the rest."""

from dataclasses import replace
from datetime import timedelta

from heelwise.documents import entries as e
from heelwise.documents.procedure import Step
from heelwise.documents.quantities import length_mm
from heelwise.documents.quantities import turns as turns_of
from heelwise.documents.steps import Records
from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.positions import Position
from heelwise.walk import counting, steps
from heelwise.walk.counting import AtValve
from heelwise.walk.crank import counted_off, go_round
from heelwise.walk.doubts import accept_option, doubt_length, early_click_prompt, pushrod_mm
from heelwise.walk.prepare import torque_facts
from heelwise.walk.prompts import Fact, Option, Prompt, Reply
from heelwise.walk.scene import Scene
from heelwise.walk.state import Count, ValveState
from heelwise.walk.troubles import NOT_UP, report
from heelwise.wording import listed, text

UNLOAD = "walk/unload"
OUTSIDE = "walk/outside"


def settled(scene: Scene, valve: Valve) -> bool:
    """Whether a valve is done in Fit: read, inside or accepted, and all that follows it done."""
    at = AtValve(scene, valve, "fit")
    if at.state.untouched or at.state.open_troubles:
        return not at.state.open_troubles
    return _stands(at) and is_drawn(scene, valve) and _after_due(at) is None


def valve_prompt(at: AtValve) -> Prompt:
    """The next prompt of a valve that is not settled, in Fit, or in Prove when counted there."""
    if not is_drawn(at.scene, at.valve):
        return _draw_prompt(at)
    # Outside, ended without a click, or inside no more by the travel now in force.
    count = at.state.last_count
    if count and count.number >= at.state.touched and not _stands(at):
        early = early_click_prompt(at.scene, at.state, count)
        return early or _outside_prompt(at, count)
    due = _after_due(at) if at.state.settled_count else None
    return _after(at, due) if due is not None else reading_prompt(at)


def _stands(at: AtValve) -> bool:
    count = at.state.standing_count
    read = count.when(e.Read) if count else None
    inside = read is None or at.scene.judged(read.body).word.value == read.body.verdict == "inside"
    return at.state.settled_count and (inside or at.state.acceptance is not None)


def reading_prompt(at: AtValve) -> Prompt:
    """The next prompt on the way to a valve's reading: unloading, the steps, the reading.

    They start again after every resume, so that an interrupted step is repeated.
    """
    scene, trial = at.scene, at.phase == "trial"
    oily = scene.build.method.reads == "turns" and scene.state.lifters in ("used", "pumped")
    if oily and (at.state.tightened or at.state.as_found) and not _unloading(at.state):
        return _unload(at)
    before, reading, _ = steps.parts(scene, "trial" if trial else "fit")
    due = steps.steps_due(scene, before, max(at.state.touched, scene.state.resumed_at), at.valve)
    given = at.state.fitted if trial else at.state.given_pushrod
    gave = (entry.number for entry in (given, at.state.drawn) if entry is not None)
    rests = (*scene.crank_number, *gave)
    if due is not None:
        prompt = at.prompt(due, rests)
        if trial:
            return prompt
        # A step before the reading also takes word of another pushrod.
        fact = counting.pushrod_fact(at, scene.pushrod_text(at.state))
        return replace(prompt, facts=(*prompt.facts, fact)).offering(_change(at))
    rests = (*rests, *steps.answered(scene, before, at.valve), *_unloading(at.state))
    pushrod = given.body.pushrod if given else scene.build.set_length(at.valve)
    gauged = reading.records is Records.GAUGE
    prompt = (counting.gauge_prompt if gauged else counting.count_prompt)(
        at, reading, rests, pushrod
    )
    # Where nothing is asked before the count, it takes word of another pushrod.
    return prompt if trial or before or gauged else prompt.offering(_change(at))


def after_numbers(scene: Scene, valve: Valve) -> tuple[int, ...]:
    """The entries that answer what follows a valve's reading, which a proof rests on."""
    return steps.answered(scene, steps.parts(scene, "fit")[2], valve)


def _after_due(at: AtValve) -> Step | None:
    since = at.state.set_at
    locked = tuple(each.number for each in at.state.gauged if each.body.locked)
    for step in steps.parts(at.scene, "fit")[2]:
        if not steps.step_applies(at.scene, step):
            continue
        recheck = step.records is Records.RECHECK
        done = locked if recheck else steps.answered(at.scene, (step,), at.valve)
        if max(done, default=0) <= since:
            return step
        since = max(done) if step.records is Records.LOCKED else since
    return None


def _after(at: AtValve, step: Step) -> Prompt:
    scene, valve, count = at.scene, at.valve, at.state.last_count
    rests = (*((count.number,) if count else ()), *scene.crank_number)
    if step.records is Records.RECHECK:
        rests = (*rests, *after_numbers(scene, valve))
        return counting.gauge_prompt(at, step, rests, scene.pushrod_text(at.state))

    def done_over(reply: Reply) -> Reply:
        body = reply.drafts[0].body
        found = isinstance(body, e.Answered) and body.answer == "found"
        if not found and not isinstance(body, e.NotYet):
            return reply
        if step.records is Records.PLUNGER_UP:
            return _not_up(at, "after its gap was gauged", *reply.drafts)
        off = steps.back_off(scene, [valve], "count again")
        return Reply((*reply.drafts, off), f"{valve} is set again.", "bad")

    prompt = at.prompt(step, rests)
    again = step.records in (Records.PLAY, Records.LOCKED, Records.PLUNGER_UP)
    return prompt.then(done_over) if again else prompt


def _not_up(at: AtValve, when: str, *before: e.Draft) -> Reply:
    down = report(NOT_UP, at.phase, at.valve, when)
    return Reply((*before, down), f"{at.valve} stays open until it has.", "bad")


def _unloading(state: ValveState) -> tuple[int, ...]:
    """The unloading that counts since the bolt was last tightened, by number."""
    return tuple(n.number for n in (state.unloaded,) if n and n.number > state.tightened)


def _unload(at: AtValve) -> Prompt:
    """Whether plungers are back up: in Fit of every slack valve of the position, at once."""
    scene, minutes = at.scene, at.scene.defaults.unload_minutes
    placed = at.position.valves if at.position and at.phase == "fit" else ()
    here = (replace(at, valve=each.valve) for each in placed if scene.on_heel(each.valve))
    slack = {at.valve: at} | {
        mate.valve: mate
        for mate in here
        if mate.state.tightened and mate.state.loosened_for and not _unloading(mate.state)
    }
    loose = [mate.state.loosened for mate in slack.values() if mate.state.loosened_for]
    last = scene.state.entries[-1].at
    began = min(max((entry.at for entry in loose if entry), default=last), last)
    names, several = sorted(slack), len(slack) > 1
    up = Reply(tuple(e.Draft(e.Unloaded(valve=str(v), minutes=minutes)) for v in names))

    def down(named: str = "") -> Reply:
        which = slack[steps.valve_among(named, names)] if several else at
        return _not_up(which, "after its minute without load")

    it, wants = ("is the plunger", ()) if not several else ("are the plungers", ("which valve",))
    return Prompt(
        id=UNLOAD,
        phase=at.phase,
        question=f"{listed(names)}: backed off for {minutes:g} min. {it.capitalize()} back up?",
        why="If the plunger is still down you reach zero lash late and count too few turns.",
        options=(
            Option("y", "backed off all that time; up at the retainer", does=up),
            Option("n", "no: one is still down" if several else "no: it is down", wants, down),
        ),
        facts=(Fact(f"{minutes:g} min before any second zero lash", "common practice, no source"),),
        valve=None if several else at.valve,
        valves=tuple(names),
        wait_until=began + timedelta(minutes=minutes),
    )


def _change(at: AtValve, label: str = "", key: str = "p", *before: e.Draft) -> Option:
    """Another pushrod goes in; a length far from the others is asked once more."""

    def changed(length: str) -> Reply:
        fits = e.Draft(e.Fitted(valve=str(at.valve), pushrod=length, phase=at.phase))
        mm = pushrod_mm(at.scene, at.valve, length)
        return doubt_length(at.scene, at.valve, length, mm) or Reply((*before, fits))

    return Option(key, f"{label}another pushrod", ("its measured length",), changed)


def _outside_prompt(at: AtValve, count: Count) -> Prompt:
    scene, valve, method = at.scene, at.valve, at.scene.build.method
    stand = scene.build.stand_of(valve)
    off = f"slacken {listed(stand)} evenly" if method.stands else "back off"
    slack = steps.back_off(scene, stand, "count again")
    later = Reply((steps.back_off(scene, stand, "come back later"),))
    gauged = isinstance(count.body, e.Gauged)
    again = "gauge it again" if gauged else "read it again from zero lash"
    options = [
        Option("1", f"{off}, and {again}", does=Reply((slack,))),
        Option("3", "leave it backed off, come back to it", does=later),
    ]
    if method.length_sets_preload:
        options.insert(1, _change(at, f"{off}, ", "2", slack))
    if _may_accept(scene, count):
        options.append(accept_option("4", "accept as is", valve, count.number))
    return Prompt(
        id=OUTSIDE,
        phase=at.phase,
        question=text("{} What now?", counting.count_text(scene, count)),
        why="Read it again first: off its heel (base circle), with a pushrod out of its cup or a "
        "gauge at a slant, it reads wrong. A bottomed plunger can't be accepted, nor a hydraulic "
        "lifter with lash left, nor a solid one without lash.",
        options=tuple(options),
        facts=counting.try_facts(scene, count) if method.length_sets_preload else (),
        valve=valve,
    )


def _may_accept(scene: Scene, count: Count) -> bool:
    """Never a count that reached the turns never to pass, a gap of nothing, or lash left."""
    body = count.body
    if isinstance(body, e.Read):
        return scene.seat_turns < turns_of(body.turns) < scene.never_past - 1e-9
    if isinstance(body, e.Gauged) and length_mm(body.reading) > 0:
        return body.what == "lash" or counting.preload_of(scene, body) > 0
    return False


# ------------------------------------------------------------------ stands


def is_drawn(scene: Scene, valve: Valve) -> bool:
    """Whether a valve's stand is down: drawn since it was last slackened."""
    if not scene.build.method.stands:
        return True
    states = [scene.state.valves[v] for v in scene.build.stand_of(valve)]
    return all(s.drawn is not None and s.drawn.number > s.slackened for s in states)


def _draw_prompt(at: AtValve) -> Prompt:
    """A stand drawn down evenly; what is asked once for it is kept with its first valve."""
    scene, stand = at.scene, at.scene.build.stand_of(at.valve)
    asked = scene.build.steps("fit", "stand")
    since = max(scene.state.resumed_at, *(scene.state.valves[v].slackened for v in stand))
    due = steps.steps_due(scene, asked, since, stand[0])
    if due is not None:
        return steps.step_prompt(scene, due, stand[0], at.position, scene.crank_number)
    step = next(step for step in asked if step.records is Records.DRAWN)
    lobes = [v for v in stand if not scene.on_heel(v)]

    def drawn(reply: Reply) -> Reply:
        body = e.Drawn(
            valves=[str(v) for v in stand],
            stand=listed(stand),
            torque=scene.build.torque,
            setting=scene.build.setting,
            at_deg=scene.at_deg,
            on_lobe=[str(v) for v in lobes],
        )
        rests = (
            steps.REST_ON_PREVIOUS,
            *scene.crank_number,
            *steps.answered(scene, asked, stand[0]),
        )
        return replace(reply, drafts=(*reply.drafts, e.Draft(body, rests)))

    prompt = steps.step_prompt(scene, step, stand[0], at.position, scene.crank_number)
    facts = [*prompt.facts, *torque_facts(scene.build)]
    if lobes:
        loads = f"{listed(lobes)} on a lobe here: its spring loads the bolts, so draw evenly"
        facts.append(Fact(loads, "worked out from the cam"))
    return replace(prompt.then(drawn, on=e.Answered), facts=tuple(facts), records=Records.DRAWN)


def fit_prompt(scene: Scene) -> Prompt | None:
    """The next prompt of Fit: every valve read with its own pushrod; None when all are settled."""
    state = scene.state
    needy = [v for v in state.valves if not settled(scene, v)]
    if not needy:
        return None
    first = [v for v in needy if state.valves[v].loosened_for != "come back later"] or needy

    def serve(valve: Valve, position: Position | None) -> Prompt:
        return valve_prompt(AtValve(scene, valve, "fit", position))

    prompt = go_round(scene, "fit", scene.plan, first, serve)
    return counted_off(scene, prompt, "valve", len(state.valves) - len(needy))
