"""What is asked once more before it counts: a length, a count, a click far too early."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from heelwise.documents import quantities
from heelwise.documents.entries import Answered, BackedOff, CrossedOut, Draft, Read
from heelwise.documents.entry_base import Entry
from heelwise.documents.step_records import Phase
from heelwise.valvetrain.engine import Valve
from heelwise.walk.prompts import Ask, Fact, Option, Prompt, Refused, Reply
from heelwise.walk.scene import Scene
from heelwise.walk.valve_state import Count, ValveState
from heelwise.wording import Length, Text, text

DOUBTED = "walk/doubted"
EARLY_CLICK = "walk/early-click"

FAR_SHARE = 0.05
"""A pushrod further than this from the setup's, where no lengths sold are given, is asked again.
Our own figure: 0.4 in on a pushrod of 8 in."""

MOST_SHARE = 0.25
"""A pushrod further than this from the setup's isn't one for this engine."""

COMMON = "common practice, no source"


def refuse_impossible(scene: Scene, valve: Valve, answer: str, mm: float) -> None:
    """Refuse a length that can't be a pushrod of this engine at all.

    Raises:
        Refused: If it is more than a quarter away from the setup's.
    """
    usual = quantities.length_mm(scene.set_length(valve))
    if abs(mm - usual) > usual * MOST_SHARE:
        raise Refused(
            f"{answer} is far from the setup's {scene.set_length(valve)}",
            "measure it again, or mend the setup",
        )


def doubt_length(scene: Scene, valve: Valve, answer: str, mm: float) -> Reply | None:
    """Ask a length once more that is far from what is sold or set up; None where it may count.

    Raises:
        Refused: If it can't be a pushrod of this engine at all.
    """
    refuse_impossible(scene, valve, answer, mm)
    usual = quantities.length_mm(scene.set_length(valve))
    sold = scene.build.setup.lengths()
    step = (sold[-1] - sold[0]) / (len(sold) - 1) if len(sold) > 1 else usual * FAR_SHARE
    least = (sold[0] if sold else usual * (1 - FAR_SHARE)) - step
    most = (sold[-1] if sold else usual * (1 + FAR_SHARE)) + step
    if least <= mm <= most:
        return None
    limits = text(
        "{} to {}", Length(sold[0] if sold else least), Length(sold[-1] if sold else most)
    )
    why = text("{} is outside {}, the lengths sold.", answer, limits)
    return doubt(scene, valve, answer, why)


def doubt(scene: Scene, valve: Valve, answer: str, why: Text) -> Reply | None:
    """Keep an answer as doubted and ask it again; None where the same was just typed again."""
    last = scene.state.last
    asked = last.when(Answered) if last else None
    again = asked is not None and asked.body.step == DOUBTED and asked.body.answer == answer
    if again:
        return None
    body = Answered(step=DOUBTED, answer=answer, said="asked once more", valve=str(valve))
    return Reply((Draft(body),), text("{} Type it again if it is right.", why), "bad")


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
