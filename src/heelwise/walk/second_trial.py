"""One more trial, with a pushrod far enough from the first, where the travel per turn matters."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from heelwise.documents import quantities
from heelwise.documents.entries import Answered, Draft
from heelwise.documents.entry_base import Entry
from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.pushrods import GOOD_CHANCE
from heelwise.valvetrain.readings import Reading, expected_turns
from heelwise.walk.buying import choices, ordered_lengths, trial_prospects
from heelwise.walk.prompts import Fact, Option, Prompt, Refused, Reply
from heelwise.walk.scene import Scene
from heelwise.walk.trials import (
    FIT_TRIAL,
    fitted_since_trial,
    landed_inside,
    trial_valves,
    try_prompt,
)
from heelwise.wording import Length, text

WITHOUT_IT = "walk/travel-not-measured"
GO_WITHOUT = Option("d", "go without: travel per turn not measured", ("who decides", "the reason"))


_SAME_MM = 0.05
"""Pushrods nearer to each other than this are one length."""


def go_without(scene: Scene) -> Entry[Answered] | None:
    """The answer by which a named person went on without measuring the travel per turn."""
    entry = scene.state.step(WITHOUT_IT)
    return entry.when(Answered) if entry else None


def travel_matters(scene: Scene) -> bool:
    """Whether the travel per turn is not measured, and what is bought or judged hangs on it."""
    if scene.travel.measured or scene.build.method.trial != "pushrods":
        return False
    sheet = scene.build.setup.window_sheet()
    in_turns = sheet.least_turns is not None and sheet.most_turns is not None
    if not in_turns:
        return True
    tried, offered = trial_prospects(scene), choices(scene)
    expected = offered[0].expected if offered else ()
    return any(each.chance < GOOD_CHANCE for each in expected if each.valve in tried)


def second_trial_prompt(scene: Scene) -> Prompt | None:
    """The next prompt of the second trial, or None where none is due."""
    begun = [v for v in trial_valves(scene) if fitted_since_trial(scene.state.valve(v))]
    if ordered_lengths(scene) or go_without(scene) or not travel_matters(scene):
        return None
    lengths = {valve: _length_to_try(scene, valve) for valve in begun or _at_hand_first(scene)}
    valve, length = next(((v, mm) for v, mm in lengths.items() if mm is not None), (None, None))
    if valve is None or length is None:
        return None
    step = Length(scene.travel.telling_step_mm())
    why = text("at least {} from the first", step)
    prompt = try_prompt(scene, [valve], {valve: (scene.build.show_length(length), why)})
    return _second(scene, prompt, valve) if prompt.id == FIT_TRIAL else prompt


def _at_hand_first(scene: Scene) -> list[Valve]:
    """The valves to try twice: those tried and read, first those on their heels here."""
    states = map(scene.state.valve, trial_valves(scene))
    tried = [s.valve for s in states if landed_inside(scene, s) is not None]
    return sorted(tried, key=lambda valve: not scene.on_heel(valve))


def _length_to_try(scene: Scene, valve: Valve) -> float | None:
    """The length nearest what landed inside that is far enough from one tried on the valve."""
    first = landed_inside(scene, scene.state.valve(valve))
    if first is None:
        return None
    mm, turns = quantities.length_mm(first.body.pushrod), quantities.turns(first.body.turns)
    reading, step = Reading(valve, mm, turns), scene.travel.telling_step_mm()
    sold = scene.build.setup.lengths() or (mm - step, mm + step)
    resolution = scene.build.procedure.defaults.resolution_turns

    def can_be_counted(length: float) -> bool:
        used = scene.travel.used
        by_either = (used.least_mm or used.mm, used.most_mm or used.mm)
        expected = [expected_turns(reading, length, travel) for travel in by_either]
        return all(2 * resolution <= each < scene.never_past for each in expected)

    tried = _tried_mm(scene, valve)
    far = [
        each
        for each in sold
        if max(abs(each - other) for other in tried) >= step - 1e-9
        and min(abs(each - other) for other in tried) > _SAME_MM
        and can_be_counted(each)
    ]
    return min(far, key=lambda each: abs(each - mm), default=None)


def _tried_mm(scene: Scene, valve: Valve) -> list[float]:
    return [quantities.length_mm(e.body.pushrod) for e in scene.state.valve(valve).trials]


def _second(scene: Scene, prompt: Prompt, valve: Valve) -> Prompt:
    step = scene.travel.telling_step_mm()
    tried = _tried_mm(scene, valve)

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Reply:
        if answer == GO_WITHOUT.key:
            body = Answered(step=WITHOUT_IT, answer=texts[0], said=texts[1])
            return Reply((Draft(body),), "Travel per turn not measured: the sheet says so.", "warn")
        reply = prompt.take(answer, texts, now)
        mm = quantities.length_mm(answer)
        widest = max((abs(mm - each) for each in tried), default=step)
        if widest < step - _SAME_MM:
            far = text("{} is only {} from what was tried already", answer, Length(widest))
            raise Refused(far, text("one at least {} from it, or d to go without", Length(step)))
        return reply

    used = scene.travel.used
    return replace(
        prompt,
        heading="one more trial: travel per turn",
        why="Turns are counted, but preload is travel. Two pushrods of known difference on one "
        "valve measure what a turn gives; until then what is bought and judged rests on a figure "
        "nobody measured on this engine.",
        options=(GO_WITHOUT,),
        facts=(
            *prompt.facts,
            *(Fact(note, "the sheet and the lever") for note in scene.travel.notes),
            Fact(text("{} of travel per turn so far", Length(used.mm)), used.source),
        ),
        take=take,
    )
