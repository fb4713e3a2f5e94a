"""Trial: a few valves with trial pushrods, until the set to buy is known and measured."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import datetime

from heelwise.documents import quantities
from heelwise.documents.entries import BackedOff, Draft, Fitted, NoClick, Read, Settled
from heelwise.documents.entry_base import Entry
from heelwise.valvetrain.engine import Valve, ValveKind
from heelwise.valvetrain.figures import turns_text
from heelwise.valvetrain.positions import Position
from heelwise.valvetrain.window import Word
from heelwise.walk.counting import bound_text, count_ended_text, proposal, verdict_text
from heelwise.walk.doubts import (
    doubt_length,
    early_click_prompt,
    odd_trial,
    odd_trial_prompt,
)
from heelwise.walk.prompts import Ask, Fact, Option, Prompt, Reply
from heelwise.walk.rounds import go_round
from heelwise.walk.scene import Scene
from heelwise.walk.steps import example_of
from heelwise.walk.valve_state import ValveState
from heelwise.walk.valve_steps import reading_prompt
from heelwise.wording import Length, text

FIT_TRIAL = "walk/fit-trial"
TRIAL_OVER = "walk/trial-outside"
TRY_MORE = "walk/try-more"
Lengths = Mapping[Valve, tuple[str, str]]
"""By valve: the length to try, as text that can be typed back, and where it comes from."""

SETTLE = Option("s", "can't get it: go by the arithmetic", ("the reason",))


def trial_valves(scene: Scene) -> tuple[Valve, ...]:
    """The valves tried: by the procedure's rule, and those asked for besides."""
    return tuple(sorted((*_by_rule(scene), *tried_besides(scene))))


def _by_rule(scene: Scene) -> tuple[Valve, ...]:
    engine, rule = scene.build.engine, scene.build.procedure.defaults.trial
    if rule == "every valve":
        return engine.valves
    chosen: dict[tuple[str, ValveKind], Valve] = {}
    for position in scene.plan.positions:
        for placed in position.valves:
            valve = placed.valve
            bank = engine.bank_of(valve.cylinder).name if rule.endswith("a bank") else ""
            chosen.setdefault((bank, valve.kind), valve)
    return tuple(sorted(chosen.values()))


def tried_besides(scene: Scene) -> list[Valve]:
    """Valves tried besides those of the rule, because too many of the others may land outside."""
    valves = scene.build.engine.valves
    return [v for v in valves if scene.state.step(TRY_MORE, v) and v not in _by_rule(scene)]


def last_trial(valve_state: ValveState) -> Entry[Read] | Entry[NoClick] | None:
    """The latest trial outcome that counts: a reading, or a count without a click."""
    return valve_state.trial_outcomes[-1] if valve_state.trial_outcomes else None


def trial_done(scene: Scene, valve_state: ValveState) -> bool:
    """Whether a valve's trial ended inside the window, or by arithmetic, and can be right."""
    if valve_state.open_troubles or odd_trial(scene, valve_state):
        return False
    if valve_state.settled is not None or landed_inside(scene, valve_state) is not None:
        return True
    # One tried besides the others tells its height by any count.
    counted = any(quantities.turns(entry.body.turns) > 0 for entry in valve_state.trials)
    return counted and valve_state.valve in tried_besides(scene)


def landed_inside(scene: Scene, valve_state: ValveState) -> Entry[Read] | None:
    """A valve's trial that is inside by the window in force: the latest with its pushrod."""
    by_length: dict[float, Entry[Read]] = {}
    for entry in valve_state.trials:
        by_length.pop(quantities.length_mm(entry.body.pushrod), None)
        by_length[quantities.length_mm(entry.body.pushrod)] = entry
    inside = [e for e in by_length.values() if scene.judged(e.body).word is Word.INSIDE]
    return inside[-1] if inside else None


def trial_prompt(scene: Scene) -> Prompt | None:
    """The next prompt of the trials, or None when every trial valve is done."""
    needy = [v for v in trial_valves(scene) if not trial_done(scene, scene.state.valve(v))]
    return try_prompt(scene, needy) if needy else None


def try_prompt(scene: Scene, needy: Collection[Valve], lengths: Lengths | None = None) -> Prompt:
    """The next prompt on the way to another trial of some valves.

    `lengths`: what to try on each and why, where it isn't what their last counts ask for.
    """

    def serve(valve: Valve, position: Position | None) -> Prompt:
        valve_state = scene.state.valve(valve)
        if valve in scene.state.trial_loaded:
            early = early_click_prompt(scene, valve_state, last_trial(valve_state), "trial")
            if early is not None:
                return early
        odd = odd_trial(scene, valve_state)
        if odd is not None:
            return odd_trial_prompt(scene, valve, odd)
        if valve in scene.state.trial_loaded:
            return _outside(scene, valve_state)
        if not fitted_since_trial(valve_state):
            return _fit_trial(scene, valve_state, (lengths or {}).get(valve))
        return reading_prompt(scene, valve, "trial", position)

    return go_round(scene, "trial", scene.plan, needy, serve)


def fitted_since_trial(valve_state: ValveState) -> bool:
    """Whether a trial pushrod went in since the last trial outcome was backed off."""
    off = valve_state.loosened.number if valve_state.loosened else 0
    fitted = valve_state.fitted
    return fitted is not None and fitted.number > max(valve_state.tightened, off)


def _outside(scene: Scene, valve_state: ValveState) -> Prompt:
    valve, last = valve_state.valve, last_trial(valve_state)
    if last is not None and last.number < valve_state.tightened:
        last = None  # the count just made was crossed out: an older one doesn't describe it

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Reply:
        body = BackedOff(valves=[str(valve)], why="trial over")
        return Reply((Draft(body, scene.crank_number),))

    heading, came_to = f"{valve} is loaded", f"{valve}: its trial was crossed out."
    why = "It is counted anew from zero lash, with the same pushrod or another."
    if last is not None:
        read = last.when(Read)
        inside = read is not None and scene.judged(read.body).word is Word.INSIDE
        heading = f"{valve} is {'inside' if inside else 'outside'} its window"
        came_to = verdict_text(scene, read.body) if read else count_ended_text(valve_state)
        why = "The next one to try is worked out from this count."
    return Prompt(
        id=TRIAL_OVER,
        phase="trial",
        ask=Ask.CHOICE,
        heading=heading,
        question=text("{} Back it off and take the trial pushrod out.", came_to),
        why=why,
        options=(Option("y", "backed off, pushrod out"),),
        facts=_next_facts(scene, valve_state),
        valve=valve,
        take=take,
    )


def _next_facts(scene: Scene, valve_state: ValveState) -> tuple[Fact, ...]:
    last = last_trial(valve_state)
    if last is None:
        return ()
    best = proposal(scene, valve_state, last)
    if best is None:
        return (Fact("no length sold or on hand lands inside", "worked out from this count"),)
    expected = turns_text(best[1]) + bound_text(last)
    sentence = text("next: {}, expect about {}", Length(best[0]), expected)
    return (
        Fact(sentence, f"worked out, travel {scene.travel.used.origin.value}"),
        *(Fact(note, "the trials so far") for note in scene.travel.notes),
    )


def _suggested(scene: Scene, valve_state: ValveState) -> tuple[str, str]:
    best = proposal(scene, valve_state, last_trial(valve_state))
    if best is not None:
        return scene.build.show_length(best[0]), "worked out from the last count"
    kind = valve_state.valve.kind
    of_its_kind = (s for s in scene.state.valves.values() if s.valve.kind is kind)
    landed = (landed_inside(scene, valve_state) for valve_state in of_its_kind)
    inside = next((entry for entry in landed if entry is not None), None)
    if inside is not None:
        return inside.body.pushrod, f"what landed inside on {inside.body.valve}"
    return scene.set_length(valve_state.valve), "the setup's pushrods"


def _fit_trial(
    scene: Scene, valve_state: ValveState, wanted: tuple[str, str] | None = None
) -> Prompt:
    length, source = wanted or _suggested(scene, valve_state)
    name, used = str(valve_state.valve), scene.travel.used
    again, shown = last_trial(valve_state) is not None, Length(quantities.length_mm(length))

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Reply:
        if again and answer == SETTLE.key:
            settled = Settled(valves=[name], pushrod=length, reason=texts[0])
            draft = Draft(settled, scene.crank_number)
            return Reply((draft,), f"{name}: settled at {length}.")
        doubted = doubt_length(scene, valve_state.valve, answer)
        return doubted or Reply((Draft(Fitted(valve=name, pushrod=answer, phase="trial")),))

    return Prompt(
        id=FIT_TRIAL,
        phase="trial",
        ask=Ask.READING,
        question=text(
            "{}: fit a trial pushrod, {} if you have it. How long is it, measured?", name, shown
        ),
        why="Measured, not read off a label: the record keeps what was in the engine.",
        options=(SETTLE,) if again else (),
        reading="its length, as measured",
        example=example_of("length"),
        suggested=length,
        facts=(
            Fact(text("try {}", shown), source),
            Fact(text("{} of travel per turn", Length(used.mm)), used.source),
        ),
        valve=valve_state.valve,
        take=take,
    )
