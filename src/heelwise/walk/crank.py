"""Turning the crank: what must be done before it moves on, and where it is turned to."""

from collections.abc import Callable, Collection, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from heelwise.documents.entries import Answered, Crank, CrankLost, Draft, Held, Noted
from heelwise.documents.steps import Caution, Phase
from heelwise.valvetrain.cam import tdc_distance
from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.positions import Plan, Position
from heelwise.valvetrain.turn import turn_to
from heelwise.walk import steps
from heelwise.walk.prompts import Fact, Option, Prompt, Refused, Reply, kept
from heelwise.walk.scene import ORDER_WISHED, Scene
from heelwise.walk.troubles import STILL_UP, report, valve_trouble_prompt
from heelwise.wording import Length, listed, text

BACK_OFF = "walk/back-off"
HOLD = "walk/hold"
TURN = "walk/turn"
MOST_OVERSHOT_DEG = 180.0
WENT_SOLID_WORDS = ("solid", "stuck", "jammed", "won't turn", "seized")
CLOSE_TO_TDC_DEG = 20.0

WORKED_MEANWHILE = "walk/meanwhile"
MEANWHILE = "w"
ANOTHER_ORDER = Option(
    "o",
    "another order of work",
    does=Reply((Draft(Answered(step=ORDER_WISHED, answer="yes", said="wished")),)),
)

BY_HAND = Caution(
    level="NOTICE",
    hazard="If it goes solid, stop: a valve met a piston, or a pushrod bottomed its lifter.",
    consequence="Forced, it bends valves and pushrods.",
    avoid="By hand, slowly, in the direction of rotation only.",
)
TRIAL_GEAR = Caution(
    level="NOTICE",
    hazard="A trial pushrod that is too long holds its valve open.",
    consequence="Turn the crank and the valve meets the piston, or the pushrod bends.",
    avoid="Loosen with a plain ratchet, not with the torque wrench.",
)
LOADED_LIFTER = Caution(
    level="NOTICE",
    hazard="A lifter full of oil holds its valve open until it bleeds down.",
    consequence="Turn too soon and an open valve hits its piston, or a pushrod bends.",
    avoid="Wait. Then turn by hand and slowly.",
)


def before_turning(scene: Scene, phase: Phase) -> Prompt | None:
    """The guard that still bars the crank from moving: trial gear off, then lifters bled down."""
    # A dry lifter holds no oil: its plunger gives way at once.
    waiting = [] if scene.state.lifters == "dry" else sorted(scene.state.load_times)
    return trials_off(scene) or (_hold(scene, phase, waiting) if waiting else None)


def trials_off(scene: Scene, but: Valve | None = None) -> Prompt | None:
    """The prompt that takes the load off trial gear, of all valves `but` one, or None."""
    valves = sorted((scene.state.trial_loaded | scene.state.trial_in) - {but})
    if not valves:
        return None
    off = Reply((steps.back_off(scene, valves, "trial over"),))
    many = len(valves) > 1
    what, pushrods = ("rockers", "their pushrods spin") if many else ("rocker", "its pushrod spins")
    return Prompt(
        id=BACK_OFF,
        question=f"Back off the {what} of {listed(valves)} until {pushrods} freely.",
        why="A trial or checking pushrod may be too long, or bend under a spring. It comes off "
        "before the crank is turned.",
        caution=TRIAL_GEAR,
        options=(Option("y", f"backed off, {pushrods} freely", does=off),),
        valve=valves[0],
    )


def _hold(scene: Scene, phase: Phase, valves: Sequence[Valve]) -> Prompt:
    defaults, lifters = scene.defaults, scene.state.lifters
    minutes = defaults.hold_minutes.get(lifters, max(defaults.hold_minutes.values(), default=20.0))
    # A clock set back must not keep the crank barred for hours.
    began = min(max(scene.state.load_times.values()), scene.state.entries[-1].at)
    over = began + timedelta(minutes=minutes)

    def held(minutes: float) -> Draft:
        return Draft(Held(minutes=minutes, valves=[str(v) for v in valves]), scene.crank_number)

    def ended_early(answer: str, texts: tuple[str, ...], now: datetime) -> Reply:
        spent = round(max((now - began).total_seconds() / 60, 0.0), 1)
        note = Noted(text=f"hold ended early by {texts[0]}: {texts[1]}")
        danger = "A lifter still full holds its valve open: turn by hand, feel for it."
        return Reply((held(spent), Draft(note, (steps.REST_ON_PREVIOUS,))), danger, "bad")

    def still_up(named: str) -> Reply:
        valve = steps.valve_among(named, valves)
        return Reply((report(STILL_UP, phase, valve, "after its hold"),), tone="warn")

    free = free_here(scene) if phase == "fit" and not works_meanwhile(scene) else []
    meanwhile = Answered(step=WORKED_MEANWHILE, answer="yes", said="worked on meanwhile")
    work = Option(
        MEANWHILE,
        f"work on {listed(free)} meanwhile: on the heel here too",
        does=Reply((Draft(meanwhile, scene.crank_number),)),
    )
    facts = [
        Fact(f"{minutes:g} min for {lifters} lifters", defaults.hold_source or "the procedure"),
        Fact("timed from the last bolt you tightened"),
    ]
    at, engine = scene.crank_deg or 0.0, scene.build.engine
    close = [v for v in valves if tdc_distance(engine, v.cylinder, at) < CLOSE_TO_TDC_DEG]
    if close and scene.loaded_lifters_wait:
        near = f"pistons near TDC under {listed(close)}"
        facts.append(Fact(near, "worked out from the firing order"))
    bleed = "bleeds" if len(valves) == 1 else "bleed"
    return Prompt(
        id=HOLD,
        question=f"Don't turn the crank while {listed(valves)} {bleed} down.",
        why="Then the valves are back on their seats and the crank may turn: each pushrod turns in "
        "your fingers again.",
        caution=LOADED_LIFTER,
        options=(
            Option("y", "time is up, crank not touched", does=Reply((held(minutes),))),
            Option("n", "one is still up", ("which valve",), still_up),
            Option("e", "end it early", ("who ends it", "the reason, like plungers seen down")),
            *((work,) if free else ()),
        ),
        facts=tuple(facts),
        wait_until=over,
        take=ended_early,
    )


def free_here(scene: Scene) -> list[Valve]:
    """Valves not yet settled in Fit that are on their heel here though they belong elsewhere."""
    here = scene.position_here(scene.plan)
    mine = {placed.valve for placed in here.valves} if here else ()
    states = scene.state.valves.items()
    return [v for v, s in states if v not in mine and not s.settled_count and scene.on_heel(v)]


def works_meanwhile(scene: Scene) -> bool:
    """Whether valves of other positions are worked on here while a hold runs."""
    entry = scene.state.step(WORKED_MEANWHILE)
    return entry is not None and entry.number > scene.state.arrived


def turn_prompt(scene: Scene, phase: Phase, position: Position) -> Prompt:
    """The prompt that sends the crank to a position, or the guard that must be served first."""
    barred = before_turning(scene, phase)
    if barred is not None:
        return barred
    seen_by_eye = position.landmark.endswith(("begins to open", "almost closed"))
    turn = replace(
        (_by_eye if seen_by_eye else _turn)(scene, position),
        caution=BY_HAND,
        crank_target_deg=position.crank_deg,
        rests_on=scene.crank_number,
        turns_crank=True,
    )
    orders = phase != "prove" and scene.build.cam is not None and not scene.build.method.stands
    return turn.offering(ANOTHER_ORDER) if orders else turn


def _by_eye(scene: Scene, position: Position) -> Prompt:
    until, on_heel = position.landmark, listed([p.valve for p in position.valves])
    place = Crank(at_deg=position.crank_deg, how="turned", seen=until)
    past = Reply((), "Keep turning: two whole turns bring the same place again.", "warn")
    return Prompt(
        id=TURN,
        heading=f"turn on until {until}",
        question=f"Turn the crank on, {direction(scene)}, until {until}. Then {on_heel} is on its "
        "heel (base circle).",
        why="Set by eye, because the cam is not known. A little early or late does no harm: it is "
        "a range, not a point.",
        options=(
            Option("y", until, does=Reply((Draft(place, scene.crank_number),))),
            Option("n", "went past it", does=past),
        ),
        facts=(
            Fact(f"place {position.number}", "the firing order; how far open is common practice"),
        ),
    )


def direction(scene: Scene) -> str:
    """Which way the engine runs."""
    return f"{'clockwise' if scene.build.engine.clockwise else 'counterclockwise'} from the front"


def _turn(scene: Scene, position: Position) -> Prompt:
    build, rests = scene.build, scene.crank_number
    worked_on = [placed.valve for placed in position.valves]
    turn = turn_to(build.engine, build.cam, scene.at_deg, position.crank_deg, worked_on)
    deg = turn.turn_deg or 720.0
    how_far = turn.revolutions_text if turn.turn_deg else "2 whole turns"

    def lost(seen: str) -> Reply:
        if any(word in seen.lower() for word in WENT_SOLID_WORDS):
            raise Refused("that is a crank gone solid", "x: it went solid")
        body = CrankLost(reason=f"the lifters did something else: {seen}")
        return kept(body, "Then find out where the crank is.", "warn", rests)

    def overshot(answer: str, *_: object) -> Reply:
        bare = answer.replace(".", "", 1).isdigit()
        past = steps.read_quantity("degrees", answer + "°" if bare else answer)
        if not 0 <= past <= MOST_OVERSHOT_DEG:
            raise Refused(
                f"{past:g}° past is out of reach of this position",
                f"0° to {MOST_OVERSHOT_DEG:g}°; further around, answer n",
            )
        sentence = f"Counted from where it is: {past:g}° past. The margins are worked out again."
        return Reply((there(past),), sentence if past else "")

    def there(past: float) -> Draft:
        at = (position.crank_deg + past) % 720
        body = Crank(at_deg=at, how="overshot" if past else "turned", seen=turn.proof)
        return Draft(body, rests)

    source = "worked out from the firing order; the cam is not known"
    if build.cam:
        source = "worked out from firing order and cam card"
    facts = [Fact(f"position {position.number}: crank at {position.crank_deg:g}°", source)]
    if turn.tape_mm is not None:
        tape = text("{} of tape around the damper", Length(turn.tape_mm))
        facts.append(Fact(tape, "its diameter × π × turn"))
    margins = [v.margin_deg for v in position.valves if v.margin_deg is not None]
    if margins:
        facts.append(Fact(f"least margin there {min(margins):.1f}°", "worked out from the cam"))
    return Prompt(
        id=TURN,
        heading=f"turn on {deg:g}°, to {turn.landmark}",
        question=f"Turn the crank on {deg:g}° ({how_far}), {direction(scene)}. {turn.proof}.",
        why="How the lifters move on the way tells you which of the two revolutions you are on, "
        "and that these valves are on their heel (base circle).",
        options=(
            Option("y", "there; the lifters did that", does=Reply((there(0.0),))),
            Option("n", "no, something else", ("what they did",), lost),
        ),
        reading="overshot? degrees past it",
        example="like 5°",
        facts=(*facts, *(Fact(why) for why in scene.plan.reasons)),
        take=overshot,
    )


# ------------------------------------------------------------ going round

Serve = Callable[[Valve, Position | None], Prompt]


def go_round(
    scene: Scene,
    phase: Phase,
    plan: Plan,
    needy: Collection[Valve],
    serve: Serve,
    go_on_here: Callable[[Valve], bool] = lambda valve: True,
) -> Prompt:
    """The next prompt of a round; `needy` are the valves that still need something.

    Valves already begun at this very place come first (those `go_on_here` agrees to), then
    those that belong to it, in the plan's order; then the crank is turned on. A valve without
    its margin here is never served, so it is met at a later position.
    """
    here = scene.position_here(plan)
    # A valve whose trouble was put off waits, its stand with it, until nothing else is left to do.
    waits = {v for v, state in scene.state.valves.items() if state.open_troubles}
    needy = [v for v in needy if waits.isdisjoint(scene.build.stand_of(v))] or needy

    def serve_or_mend(valve: Valve, at: Position | None) -> Prompt:
        return valve_trouble_prompt(scene, valve) or serve(valve, at)

    for valve in sorted(needy):
        valve_state = scene.state.valves[valve]
        put_off = valve_state.loosened_for in ("come back later", "trial over")
        begun_here = valve_state.touched > scene.state.arrived and not put_off
        if begun_here and scene.on_heel(valve) and go_on_here(valve):
            return serve_or_mend(valve, here)
    placed = [p.valve for p in here.valves] if here else []
    if phase == "fit" and works_meanwhile(scene):
        placed += free_here(scene)
    mine = [valve for valve in placed if valve in needy and scene.on_heel(valve)]
    if here is not None and mine:
        due = steps.steps_due(scene, scene.build.steps(phase, "position"), scene.state.arrived)
        if due is not None:
            return steps.step_prompt(scene, due, None, here, scene.crank_number)
        return serve_or_mend(mine[0], here)
    return turn_prompt(scene, phase, scene.next_position(plan, needy))


def counted_off(scene: Scene, prompt: Prompt, what: str, done: int) -> Prompt:
    """A prompt with how far its round is: "valve 3 of 16, position 2 of 5"."""
    total = len(scene.state.valves)
    here = scene.position_here(scene.plan)
    place = f", position {here.number} of {len(scene.plan.positions)}" if here else ""
    progress = f"{what} {min(done + 1, total)} of {total}{place}"
    return replace(prompt, progress=progress, done=done, total=total)
