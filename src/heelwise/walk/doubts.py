"""What is asked once more before it counts: a length, a count, a click far too early."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from heelwise.documents import oddities, quantities
from heelwise.documents.entries import Accepted, Answered, BackedOff, CrossedOut, Draft, Read
from heelwise.documents.entry_base import Entry
from heelwise.documents.faults import QuantityFault
from heelwise.documents.quantities import typed_length
from heelwise.documents.steps import Phase
from heelwise.valvetrain.engine import Valve
from heelwise.walk.prompts import Ask, Fact, Option, Prompt, Refused, Reply
from heelwise.walk.scene import Scene, trial_of
from heelwise.walk.state import Count, ValveState
from heelwise.wording import Text, text

DOUBTED = "walk/doubted"
EARLY_CLICK = "walk/early-click"
ODD_TRIAL = "walk/odd-trial"

MOST_SHARE = 0.25
"""A pushrod further than this from the setup's isn't one for this engine."""

COMMON = "common practice, no source"


def pushrod_mm(scene: Scene, valve: Valve, answer: str) -> float:
    """A pushrod's length as typed, in mm.

    Raises Refused if it can't be understood, or can't be a pushrod of this engine at all.
    """
    try:
        mm = oddities.pushrod_mm(answer)
    except QuantityFault as fault:
        raise Refused(fault.problem, fault.instead) from None
    refuse_far(scene, valve, answer, mm)
    return mm


def refuse_far(scene: Scene, valve: Valve, answer: str, mm: float) -> None:
    """Refuse a length that is more than a quarter away from the setup's; Refused if it is."""
    usual = quantities.length_mm(scene.set_length(valve))
    if abs(mm - usual) > usual * MOST_SHARE:
        raise Refused(
            f"{answer} is far from the setup's {scene.set_length(valve)}",
            "measure it again, or mend the setup",
        )


def doubt_length(scene: Scene, valve: Valve, answer: str) -> Reply | None:
    """Ask a length once more that is far from what is sold or set up; None where it may count.

    Raises Refused if it can't be a pushrod of this engine at all.
    """
    why = oddities.doubt_length(scene.build.setup, pushrod_mm(scene, valve, answer))
    return doubt(scene, valve, answer, Text(f"{answer} {why}.")) if why else None


def doubt(scene: Scene, valve: Valve, answer: str, why: Text) -> Reply | None:
    """Keep an answer as doubted and ask it again; None where the same was just typed again."""
    last = scene.state.last
    asked = last.when(Answered) if last else None
    again = asked is not None and asked.body.step == DOUBTED and asked.body.answer == answer
    if again:
        return None
    body = Answered(step=DOUBTED, answer=answer, said="asked once more", valve=str(valve))
    return Reply((Draft(body),), text("{} Type it again if it is right.", why), "bad")


# ------------------------------------------------- a trial that can't be right


@dataclass(frozen=True)
class OddTrial:
    """A trial that can't be right beside the others, and why."""

    entry: Entry[Read]
    why: str


def odd_trial(scene: Scene, valve_state: ValveState) -> OddTrial | None:
    """A valve's trial that disagrees with the others and nobody vouched for; None without one."""
    for odd in scene.travel.odd_readings:
        for entry in reversed(valve_state.trials):
            if trial_of(entry.body) == odd.trial and not valve_state.acceptance_of(entry.number):
                return OddTrial(entry, odd.why)
    return None


def odd_trial_prompt(scene: Scene, valve: Valve, odd: OddTrial) -> Prompt:
    """A trial named as odd: counted again, or kept by a named person with a reason."""
    number = odd.entry.number
    others = [e for e in scene.state.valves[valve].trials if e.number != number]

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Reply:
        if answer == "3":
            false = CrossedOut(of=others[-1].number, reason="false, by the counts after it")
            return Reply((Draft(false),), f"{valve}: the other count is crossed out.", "warn")
        if answer == "2":
            body = Accepted(valve=str(valve), of=number, person=texts[0], reason=texts[1])
            return Reply((Draft(body, (number,)),), f"{valve}: kept as read by {texts[0]}.", "warn")
        off = Draft(BackedOff(valves=[str(valve)], why="trial over"), scene.crank_number)
        crossed = Draft(CrossedOut(of=number, reason="odd: counted again"))
        return Reply((off, crossed), f"{valve}: counted again from zero lash.", "warn")

    body = odd.entry.body
    return Prompt(
        id=ODD_TRIAL,
        phase="trial",
        ask=Ask.CHOICE,
        heading=f"{valve}: {body.turns} can hardly be right",
        question=text(
            "{}: {} with a pushrod of {} disagrees with the other trials. Count it again?",
            valve,
            body.turns,
            typed_length(body.pushrod),
        ),
        why=odd.why,
        options=_odd_options(scene, valve, odd.entry, others),
        facts=(Fact("a miscount is likelier than a rocker that moves so", "statics"),),
        valve=valve,
        take=take,
    )


def _odd_options(
    scene: Scene, valve: Valve, odd: Entry[Read], others: list[Entry[Read]]
) -> tuple[Option, ...]:
    again = Option("1", "back it off and count it again")
    keep = Option("2", "it is as read: keep it", ("who says so", "the reason"))
    if not others:
        return (again, keep)
    other = others[-1].body
    false = Option("3", f"the other was false, {other.turns} with {other.pushrod}: cross it out")
    history = [entry.when(Read) for entry in scene.state.valves[valve].history]
    same = [
        entry
        for entry in history
        if entry is not None
        and entry.number in scene.state.void
        and (entry.body.turns, entry.body.pushrod) == (odd.body.turns, odd.body.pushrod)
    ]
    return (false, again, keep) if same else (again, false, keep)


# ------------------------------------------------------ a click far too early

_FOUND_WRONG = {
    "2": "the thread was dirty, or the bolt didn't run free by fingers",
    "3": "the hole was wet, or the bolt bottomed",
    "4": "the wrench was set wrong",
    "5": "the pushrod was not in both cups",
}


def clicked_far_too_early(body: Read) -> bool:
    """Whether a click came with lash left, or before half of the least turns allowed."""
    return quantities.turns(body.turns) < max(body.least_turns / 2, 1e-9)


def early_click_prompt(
    scene: Scene, valve_state: ValveState, count: Count | None, phase: Phase
) -> Prompt | None:
    """What to look at first where a wrench clicked far too early; None where it is looked at."""
    read = count.when(Read) if count and scene.build.method.clicks else None
    if read is None or not clicked_far_too_early(read.body):
        return None
    looked_at = scene.state.step(EARLY_CLICK, valve_state.valve)
    if looked_at is not None and looked_at.number > read.number:
        return None
    return _early_click(scene, valve_state.valve, read, phase)


def _early_click(scene: Scene, valve: Valve, read: Entry[Read], phase: Phase) -> Prompt:
    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Reply:
        if answer == "1":
            seen = "thread, hole, bolt, wrench and cups looked at"
            body = Answered(step=EARLY_CLICK, answer="good", said=seen, valve=str(valve))
            return Reply((Draft(body, (read.number,)),))
        crossed = Draft(CrossedOut(of=read.number, reason=_FOUND_WRONG[answer]))
        off = Draft(BackedOff(valves=[str(valve)], why="count again"), scene.crank_number)
        return Reply((off, crossed), f"{valve}: counted again from zero lash.", "warn")

    return Prompt(
        id=EARLY_CLICK,
        phase=phase,
        ask=Ask.CHOICE,
        heading=f"{valve} clicked at {read.body.turns}",
        question="That is far too early. Before a longer pushrod: does the bolt run down its clean "
        "thread by fingers, is the hole dry and deep enough, is the wrench set right and in the "
        "right unit, is the pushrod in both cups?",
        why="A wrench clicks at whatever stops the bolt. A dirty thread, a wet hole or a bolt that "
        "bottoms clicks without clamping anything.",
        options=(
            Option("1", "all of it is as it should be"),
            *(Option(key, found) for key, found in _FOUND_WRONG.items()),
        ),
        facts=(
            Fact(f"at least {quantities.show_turns(read.body.least_turns)} turns were wanted", ""),
            Fact("look at these first", COMMON),
        ),
        valve=valve,
        take=take,
    )


def with_doubt(scene: Scene, prompt: Prompt) -> Prompt:
    """A prompt whose last answer was doubted says so above the question."""
    last = scene.state.last
    asked = last.when(Answered) if last else None
    if asked is None or asked.body.step != DOUBTED or asked.body.valve != str(prompt.valve):
        return prompt
    fact = Fact(f"{asked.body.answer} was typed: type it again if it is right", "asked once more")
    return replace(prompt, facts=(fact, *prompt.facts))
