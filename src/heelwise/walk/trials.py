"""Trial: a few valves with trial pushrods, until the set to buy is known and measured."""

from collections.abc import Collection
from dataclasses import replace

from heelwise.documents import quantities
from heelwise.documents.entries import Answered, Fitted, Read, Settled
from heelwise.documents.entry_base import Entry
from heelwise.documents.quantities import MEASURES
from heelwise.valvetrain.engine import Valve, ValveKind
from heelwise.valvetrain.positions import FEWEST, Position
from heelwise.valvetrain.pushrods import GOOD_CHANCE, Choice, choose_pushrods
from heelwise.valvetrain.readings import expected_turns, with_untried
from heelwise.valvetrain.trials import Reading
from heelwise.valvetrain.window import Word
from heelwise.walk import doubts
from heelwise.walk.counting import SAME_LENGTH_MM, AtValve, count_text, proposal, try_facts
from heelwise.walk.crank import go_round, trials_off
from heelwise.walk.limits import travel_facts
from heelwise.walk.prompts import Fact, Option, Prompt, Refused, Reply, kept
from heelwise.walk.scene import Scene, reading_of
from heelwise.walk.state import ValveState
from heelwise.walk.valve_steps import reading_prompt
from heelwise.wording import Length, Text, text

FIT_TRIAL = "walk/fit-trial"
TRIAL_OVER = "walk/trial-outside"
TRY_MORE = "walk/try-more"


def trial_valves(scene: Scene) -> tuple[Valve, ...]:
    """The valves tried: by the procedure's rule, and those asked for besides."""
    besides = (v for v in scene.build.engine.valves if scene.state.step(TRY_MORE, v))
    return tuple(sorted({*_by_rule(scene), *besides}))


def _by_rule(scene: Scene) -> tuple[Valve, ...]:
    engine, rule = scene.build.engine, scene.defaults.trial
    if rule == "every valve":
        return engine.valves
    chosen: dict[tuple[str, ValveKind], Valve] = {}
    # Another order of work doesn't change which valves are tried.
    plan = scene.plan if scene.build.cam is None else scene.plan_by(FEWEST)
    for valve in (placed.valve for position in plan.positions for placed in position.valves):
        bank = engine.bank_of(valve.cylinder).name if rule.endswith("a bank") else ""
        chosen.setdefault((bank, valve.kind), valve)
    return tuple(chosen.values())


def _trial_done(scene: Scene, valve: Valve) -> bool:
    valve_state = scene.state.valves[valve]
    # Once pushrods are ordered, a trouble of its valve is met again where the valve is fitted.
    trouble = valve_state.open_troubles and scene.state.ordered is None
    if trouble or doubts.odd_trial(scene, valve_state):
        return False
    if valve_state.settled is not None or landed_inside(scene, valve) is not None:
        return True
    # One tried besides the others tells its height by any count.
    counted = any(quantities.turns(entry.body.turns) > 0 for entry in valve_state.trials)
    return counted and valve not in _by_rule(scene)


def landed_inside(scene: Scene, valve: Valve) -> Entry[Read] | None:
    """A valve's trial that is inside by the window in force: the latest with its pushrod."""
    trials = scene.state.valves[valve].trials
    latest = {quantities.length_mm(entry.body.pushrod): entry for entry in trials}.values()
    inside = [entry for entry in latest if scene.judged(entry.body).word is Word.INSIDE]
    return max(inside, key=lambda entry: entry.number, default=None)


def trial_prompt(scene: Scene) -> Prompt | None:
    """The next prompt of the trials, or None when every trial valve is done."""
    needy = [valve for valve in trial_valves(scene) if not _trial_done(scene, valve)]
    return _try_prompt(scene, needy) if needy else None


def _try_prompt(scene: Scene, needy: Collection[Valve], second: float | None = None) -> Prompt:
    """`second`: the length (mm) to try where it is one more trial, for the travel per turn."""

    def serve(valve: Valve, position: Position | None) -> Prompt:
        valve_state, loaded = scene.state.valves[valve], valve in scene.state.trial_loaded
        last = valve_state.last_trial
        if loaded and (early := doubts.early_click_prompt(scene, valve_state, last)):
            return early
        if odd := doubts.odd_trial(scene, valve_state):
            return doubts.odd_trial_prompt(scene, valve_state, *odd)
        if loaded and (off := trials_off(scene)):
            return _trial_over(scene, valve_state, off)
        if not _fitted_since_trial(valve_state):
            return _fit_trial(scene, valve_state, second)
        return reading_prompt(AtValve(scene, valve, "trial", position))

    return go_round(scene, "trial", scene.plan, needy, serve)


def _fitted_since_trial(valve_state: ValveState) -> bool:
    """Whether a trial pushrod went in since the last trial outcome was backed off."""
    off = valve_state.loosened.number if valve_state.loosened else 0
    fitted = valve_state.fitted
    return fitted is not None and fitted.number > max(valve_state.tightened, off)


def _trial_over(scene: Scene, valve_state: ValveState, off: Prompt) -> Prompt:
    valve, last, facts = valve_state.valve, valve_state.last_trial, tuple[Fact, ...]()
    came_to = Text(f"{valve}: its trial was crossed out.")
    # Where the count just made was crossed out, an older one doesn't describe it.
    if last is not None and last.number >= valve_state.tightened:
        came_to = count_text(scene, last)
        facts = (*try_facts(scene, last), *travel_facts(scene)[1:])
    heading, question = f"{valve}: its trial is over", text("{} {}", came_to, off.question)
    return replace(
        off,
        id=TRIAL_OVER,
        heading=heading,
        question=question,
        caution=None,
        facts=facts,
        valve=valve,
    )


def _suggested(scene: Scene, valve_state: ValveState) -> tuple[str, str]:
    valve, last = valve_state.valve, valve_state.last_trial
    best = proposal(scene, last.body) if last else None
    if best is not None:
        return scene.build.show_length(best[0]), "worked out from the last count"
    of_its_kind = (landed_inside(scene, v) for v in scene.state.valves if v.kind is valve.kind)
    inside = next((entry for entry in of_its_kind if entry is not None), None)
    if inside is not None:
        return inside.body.pushrod, f"what landed inside on {inside.body.valve}"
    before = scene.build.setup.before
    if before and (ended := before.intake if valve.kind is ValveKind.INTAKE else before.exhaust):
        usual = sorted(ended, key=quantities.length_mm)[(len(ended) - 1) // 2]
        return usual, text("{} ({})", before.ended_text, before.ended_source)
    return scene.build.set_length(valve), "the setup's pushrods"


def _fit_trial(scene: Scene, valve_state: ValveState, second: float | None) -> Prompt:
    valve, heading, options = valve_state.valve, "", tuple[Option, ...]()
    why = "Measured, not read off a label: the record keeps what was in the engine."
    apart, travel = Length(scene.travel.telling_step_mm()), travel_facts(scene)

    def settle(reason: str) -> Reply:
        body = Settled(valves=[str(valve)], pushrod=length, reason=reason)
        return kept(body, f"{valve}: settled at {length}.", rests=scene.crank_number)

    if second is None:
        (length, source), travel = _suggested(scene, valve_state), travel[:1]
        if valve_state.last_trial:
            label = "can't get one: go by the calculation"
            options = (Option("s", label, ("the reason",), settle),)
    else:
        length, heading = scene.build.show_length(second), "one more trial: travel per turn"
        source = text("at least {} from one already tried: less tells too little", apart)
        why = (
            "Turns are counted, but preload is travel. Two pushrods of known difference on one "
            "valve measure what a turn gives; until then what is bought and judged rests on a "
            "figure nobody measured on this engine."
        )
        options = (_WITHOUT,)

    def take(answer: str, *_: object) -> Reply:
        mm = doubts.pushrod_mm(scene, valve, answer)
        widest = max((abs(mm - each) for each in _tried_mm(valve_state)), default=0.0)
        if second is not None and widest < apart.mm - SAME_LENGTH_MM:
            far = text("{} is only {} from what was tried already", answer, Length(widest))
            raise Refused(far, text("one at least {} from it, or d to go without", apart))
        doubted = doubts.doubt_length(scene, valve, answer, mm)
        return doubted or kept(Fitted(valve=str(valve), pushrod=answer, phase="trial"))

    shown = Length(quantities.length_mm(length))
    if before := _measured_before(scene, shown.mm):
        label = text("the {} pushrod measured before, out of {}", shown, before.valve)
        options = (Option("m", label, does=lambda: take(before.pushrod)), *options)
    return Prompt(
        id=FIT_TRIAL,
        phase="trial",
        heading=heading,
        question=text(
            "{}: fit a trial pushrod, {} if you have one. What does it measure?", valve, shown
        ),
        why=why,
        options=options,
        reading="its length, as measured",
        example=MEASURES["length"].example,
        suggested=length,
        facts=(Fact(text("try {}", shown), source), *travel),
        valve=valve,
        take=take,
    )


def _measured_before(scene: Scene, mm: float) -> Fitted | None:
    """The trial pushrod nearest a length that was measured for another valve and is out of it."""
    still_in = scene.state.trial_in | scene.state.trial_loaded
    states = scene.state.valves.items()
    out = [s.fitted.body for v, s in states if s.fitted and v not in still_in]
    near = [f for f in out if abs(quantities.length_mm(f.pushrod) - mm) < SAME_LENGTH_MM]
    return near[0] if near else None


# --------------------------------------------------- what the trials come to


def trial_prospects(scene: Scene) -> dict[Valve, Reading]:
    """What each valve tried is known by: its count inside, or the latest, or its checked length."""
    prospects = {}
    for valve in trial_valves(scene):
        valve_state = scene.state.valves[valve]
        if valve_state.trials:
            last = (landed_inside(scene, valve) or valve_state.trials[-1]).body
            prospects[valve] = reading_of(last)
        elif zero := scene.at_zero_lash(valve_state):
            prospects[valve] = zero
    return prospects


def choices(scene: Scene) -> tuple[Choice, ...]:
    """The order to make for every valve, then the others worth knowing; () with nothing tried."""
    if scene.build.method.trial == "pattern":
        return ()  # the mark says which length; no reading of turns does
    setup, tried = scene.build.setup, trial_prospects(scene)
    every = with_untried(scene.build.engine, tried.values(), scene.travel.used.mm)
    fixed = settled_mm(scene)
    stock = setup.stock()
    for mm in fixed.values():
        if mm in stock:
            stock[mm] = max(stock[mm] - 1, 0)
    prospects = [each for valve, each in every.items() if valve not in fixed]
    return choose_pushrods(prospects, scene.basis, setup.lengths(), stock) if prospects else ()


def settled_mm(scene: Scene) -> dict[Valve, float]:
    """Valves whose length was settled untried, in mm."""
    states = scene.state.valves.items()
    return {v: quantities.length_mm(s.settled.body.pushrod) for v, s in states if s.settled}


# ------------------------------------------- one more, for the travel per turn

WITHOUT_IT, GO_WITHOUT = "walk/travel-not-measured", "d"


def go_without(scene: Scene) -> Entry[Answered] | None:
    """The answer by which a named person went on without measuring the travel per turn."""
    entry = scene.state.step(WITHOUT_IT)
    return entry.when(Answered) if entry else None


def travel_matters(scene: Scene) -> bool:
    """Whether the travel per turn is not measured, and what is bought or judged hangs on it."""
    if scene.travel.measured or scene.build.method.trial != "pushrods":
        return False
    if scene.build.setup.window_sheet().turns is None:
        return True
    tried, offered = trial_prospects(scene), choices(scene)
    expected = offered[0].expected if offered else ()
    return any(each.chance < GOOD_CHANCE for each in expected if each.valve in tried)


def second_trial_prompt(scene: Scene) -> Prompt | None:
    """The next prompt of the second trial, or None where none is due."""
    if scene.state.ordered or go_without(scene) or not travel_matters(scene):
        return None
    valves = trial_valves(scene)
    begun = [valve for valve in valves if _fitted_since_trial(scene.state.valves[valve])]
    here_first = sorted(valves, key=lambda valve: not scene.on_heel(valve))
    lengths = ((valve, _length_to_try(scene, valve)) for valve in begun or here_first)
    valve, length = next(((v, mm) for v, mm in lengths if mm is not None), (None, None))
    return _try_prompt(scene, [valve], length) if valve else None


def _length_to_try(scene: Scene, valve: Valve) -> float | None:
    """The length nearest what landed inside that is far enough from one tried on the valve."""
    first = landed_inside(scene, valve)
    if first is None:
        return None
    reading, step, used = reading_of(first.body), scene.travel.telling_step_mm(), scene.travel.used
    sold = scene.build.setup.lengths() or (reading.pushrod_mm - step, reading.pushrod_mm + step)
    tried = _tried_mm(scene.state.valves[valve])

    def tells(length: float) -> bool:
        off = [abs(length - other) for other in tried]
        by_either = used.between_mm or (used.mm, used.mm)
        expected = [expected_turns(reading, length, travel) for travel in by_either]
        least = 2 * scene.defaults.resolution_turns
        can_be_counted = all(least <= each < scene.never_past for each in expected)
        return max(off) >= step - 1e-9 and min(off) > SAME_LENGTH_MM and can_be_counted

    far = filter(tells, sold)
    return min(far, key=lambda each: abs(each - reading.pushrod_mm), default=None)


def _tried_mm(valve_state: ValveState) -> list[float]:
    return [quantities.length_mm(entry.body.pushrod) for entry in valve_state.trials]


def _without(person: str, reason: str) -> Reply:
    body = Answered(step=WITHOUT_IT, answer=person, said=reason)
    return kept(body, "Travel per turn not measured: the sheet says so.", "warn")


_WITHOUT = Option(GO_WITHOUT, "go without: travel per turn not measured", doubts.BY_WHOM, _without)
