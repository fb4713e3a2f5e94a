"""Trial: a few valves with trial pushrods, until the set to buy is known and measured."""

from __future__ import annotations

from datetime import datetime

from heelwise.documents import quantities
from heelwise.documents.entries import (
    AnyEntry,
    BackedOff,
    Ceiling,
    Draft,
    Fitted,
    Read,
    Settled,
)
from heelwise.valvetrain.figures import length_text, turns_text
from heelwise.valvetrain.positions import Position
from heelwise.valvetrain.valves import Kind, Valve
from heelwise.walk.chain import count_chain
from heelwise.walk.count_said import bound_said, verdict_said
from heelwise.walk.counting import proposal
from heelwise.walk.prompts import Ask, Fact, Option, Prompt, Refused, Taken
from heelwise.walk.rounds import go_round
from heelwise.walk.scene import Scene
from heelwise.walk.standing import ValveStanding
from heelwise.walk.steps import example_of, read_quantity

FIT_TRIAL = "walk/fit-trial"
TRIAL_OVER = "walk/trial-outside"
SETTLE = Option("s", "not to be had: go by the arithmetic", ("the reason",))


def trial_valves(scene: Scene) -> tuple[Valve, ...]:
    """The valves tried, by the procedure's rule: by default one of each kind a bank.

    Of several that would do, those at the earliest positions.
    """
    engine, rule = scene.build.engine, scene.build.procedure.defaults.trial
    if rule == "every valve":
        return engine.valves
    chosen: dict[tuple[str, Kind], Valve] = {}
    for position in scene.plan.positions:
        for placed in position.valves:
            valve = placed.valve
            bank = engine.bank_of(valve.cylinder).name if rule.endswith("a bank") else ""
            chosen.setdefault((bank, valve.kind), valve)
    return tuple(sorted(chosen.values()))


def last_trial(scene: Scene, one: ValveStanding) -> AnyEntry | None:
    """The latest trial outcome that counts: a reading or a ceiling."""
    outcomes = [
        e
        for e in one.history
        if isinstance(e.body, Read | Ceiling)
        and e.body.phase == "trial"
        and scene.standing.counts(e)
    ]
    return outcomes[-1] if outcomes else None


def trial_done(one: ValveStanding) -> bool:
    """Whether a valve's trial ended inside the window or was settled by arithmetic."""
    if one.settled is not None:
        return True
    last = one.trials[-1] if one.trials else None
    return last is not None and isinstance(last.body, Read) and last.body.verdict == "inside"


def trial_prompt(scene: Scene) -> Prompt | None:
    """The next prompt of the trials, or None when every trial valve is done."""
    needy = [v for v in trial_valves(scene) if not trial_done(scene.standing.valve(v))]
    if not needy:
        return None

    def serve(valve: Valve, position: Position | None) -> Prompt:
        return _serve(scene, valve, position)

    return go_round(scene, "trial", scene.plan, needy, serve)


def _serve(scene: Scene, valve: Valve, position: Position | None) -> Prompt:
    one = scene.standing.valve(valve)
    if valve in scene.standing.trial_loaded:
        return _outside(scene, one)
    if not _fitted_since_trial(one):
        return _fit_trial(scene, one)
    return count_chain(scene, valve, "trial", position)


def _fitted_since_trial(one: ValveStanding) -> bool:
    """Whether a trial pushrod went in since the last trial outcome was backed off."""
    if one.fitted is None:
        return False
    return one.fitted.number > max(one.tightened, one.loosened.number if one.loosened else 0)


def _outside(scene: Scene, one: ValveStanding) -> Prompt:
    last = last_trial(scene, one)
    heading, said = f"{one.valve} is loaded", f"{one.valve}: its trial was crossed out."
    if last is not None:
        body, heading = last.body, f"{one.valve} is outside its window"
        said = f"{one.valve}: no click before the turns never to pass."
        said = verdict_said(scene, body) if isinstance(body, Read) else said

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        body = BackedOff(valves=[str(one.valve)], why="trial over")
        return Taken((Draft(body, scene.crank_number),))

    return Prompt(
        id=TRIAL_OVER,
        phase="trial",
        ask=Ask.CHOICE,
        heading=heading,
        question=f"{said} Back it off and take the trial pushrod out.",
        why="The next one to try is worked out from this count."
        if last
        else "It is counted anew from zero lash, with the same pushrod or another.",
        options=(Option("y", "backed off, pushrod out"),),
        facts=_next_facts(scene, one, last),
        valve=one.valve,
        guarded=True,
        take=take,
    )


def _next_facts(scene: Scene, one: ValveStanding, last: AnyEntry | None) -> tuple[Fact, ...]:
    if last is None:
        return ()
    found = proposal(scene, one, last.body)
    if found is None:
        return (Fact("no length sold or on hand lands inside", "worked out from this count"),)
    said = f"next: {quantities.show_length(found[0])}, expect about "
    said += turns_text(found[1]) + bound_said(last.body)
    facts = [Fact(said, f"worked out, travel {scene.travel.used.origin.value}")]
    facts += [Fact(note, "the trials so far") for note in scene.travel.notes]
    return tuple(facts)


def _suggested(scene: Scene, one: ValveStanding) -> tuple[str, str]:
    """The length to try now and where it comes from."""
    last = last_trial(scene, one)
    found = proposal(scene, one, last.body if last else None)
    if found is not None:
        return quantities.show_length(found[0], "in"), "worked out from the last count"
    settled = _settled_of_kind(scene, one.valve)
    if settled:
        return settled, f"what landed inside on another valve like {one.valve}"
    return scene.set_length(one.valve), "the setup's pushrods"


def _settled_of_kind(scene: Scene, valve: Valve) -> str:
    for other in scene.standing.valves.values():
        if other.valve.kind is valve.kind and other.trials and trial_done(other):
            body = other.trials[-1].body
            if isinstance(body, Read) and body.verdict == "inside":
                return body.pushrod
    return ""


def _fit_trial(scene: Scene, one: ValveStanding) -> Prompt:
    length, source = _suggested(scene, one)
    name = str(one.valve)
    again = last_trial(scene, one) is not None

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        if answer == SETTLE.key:
            body = Settled(valves=[name], pushrod=length, reason=texts[0])
            return Taken((Draft(body, scene.crank_number),), f"{name}: settled at {length}.")
        mm = read_quantity("length", answer)
        usual = quantities.length_mm(scene.set_length(one.valve))
        if abs(mm - usual) > usual / 4:
            raise Refused(
                f"{answer} is far from the setup's {scene.set_length(one.valve)}",
                "measure it again, or mend the setup",
            )
        return Taken((Draft(Fitted(valve=name, pushrod=answer, phase="trial")),))

    return Prompt(
        id=FIT_TRIAL,
        phase="trial",
        ask=Ask.READING,
        question=f"{name}: fit a trial pushrod, {length} if you have it. How long is it, measured?",
        why="Measured, not read off a label: the record keeps what was in the engine.",
        options=(SETTLE,) if again else (),
        reading="its length, as measured",
        example=example_of("length"),
        suggested=length,
        facts=(Fact(f"try {length}", source), *_travel_facts(scene)),
        valve=one.valve,
        guarded=True,
        take=take,
    )


def _travel_facts(scene: Scene) -> tuple[Fact, ...]:
    return (
        Fact(
            f"{length_text(scene.travel.used.mm)} of travel a turn",
            scene.travel.used.said,
        ),
    )
