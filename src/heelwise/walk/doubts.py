"""What is asked once more before it counts: a length, a count, a click far too early."""

from __future__ import annotations

from dataclasses import replace

from heelwise.documents import oddities, quantities
from heelwise.documents.entries import Accepted, Answered, CrossedOut, Draft, Read
from heelwise.documents.entry_base import Entry
from heelwise.documents.faults import QuantityFault
from heelwise.documents.quantities import show_turns, typed_length
from heelwise.documents.quantities import turns as turns_of
from heelwise.documents.steps import Phase
from heelwise.valvetrain.engine import Valve
from heelwise.walk.prompts import Fact, Option, Prompt, Refused, Reply, kept
from heelwise.walk.scene import Scene, reading_of
from heelwise.walk.state import Count, ValveState
from heelwise.walk.steps import back_off
from heelwise.wording import Text, text

DOUBTED = "walk/doubted"
EARLY_CLICK = "walk/early-click"
ODD_TRIAL = "walk/odd-trial"

MOST_SHARE = 0.25
"""A pushrod further than this from the setup's isn't one for this engine."""


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
    usual = quantities.length_mm(scene.build.set_length(valve))
    if abs(mm - usual) > usual * MOST_SHARE:
        raise Refused(
            f"{answer} is far from the setup's {scene.build.set_length(valve)}",
            "measure it again, or mend the setup",
        )


def doubt_length(scene: Scene, valve: Valve, answer: str) -> Reply | None:
    """Ask a length once more that is far from what is sold or set up; None where it may count.

    Raises Refused if it can't be a pushrod of this engine at all.
    """
    return doubt_far(scene, valve, answer, pushrod_mm(scene, valve, answer))


def doubt_far(scene: Scene, valve: Valve, answer: str, mm: float) -> Reply | None:
    """Ask a length once more that is far from what is sold or set up, by what it comes to."""
    why = oddities.doubt_length(scene.build.setup, mm)
    return doubt(scene, valve, answer, Text(f"{answer} {why}.")) if why else None


def doubt(scene: Scene, valve: Valve, answer: str, why: Text) -> Reply | None:
    """Keep an answer as doubted and ask it again; None where the same was just typed again."""
    asked = _doubted(scene)
    if asked is not None and asked.answer == answer:
        return None
    body = Answered(step=DOUBTED, answer=answer, said="asked once more", valve=str(valve))
    return Reply((Draft(body),), text("{} Type it again if it is right.", why), "bad")


# ------------------------------------------------- a trial that can't be right


def odd_trial(scene: Scene, valve_state: ValveState) -> tuple[Entry[Read], str] | None:
    """A valve's trial that disagrees with the others and nobody vouched for, and why; or None."""
    for odd in scene.travel.odd_readings:
        for entry in reversed(valve_state.trials):
            vouched = valve_state.acceptance_of(entry.number) or (
                len(valve_state.trials) == 1 and _counted_so_before(scene, valve_state, entry.body)
            )
            if reading_of(entry.body) == odd.reading and not vouched:
                return entry, odd.why
    return None


def _counted_so_before(scene: Scene, valve_state: ValveState, body: Read) -> bool:
    """Whether a count that was crossed out since came to the same."""
    struck = (e.body for e in valve_state.history if not scene.state.counts(e))
    same = (b for b in struck if isinstance(b, Read) and b.pushrod == body.pushrod)
    return any(
        abs(turns_of(b.turns) - turns_of(body.turns)) <= body.resolution_turns + 1e-9 for b in same
    )


def odd_trial_prompt(scene: Scene, valve: Valve, odd: Entry[Read], why: str) -> Prompt:
    """A trial named as odd: counted again, or kept by a named person with a reason."""
    body = odd.body
    off = back_off(scene, [valve], "trial over")
    crossed = Draft(CrossedOut(of=odd.number, reason="odd: counted again"))
    again = Reply((off, crossed), f"{valve}: counted again from zero lash.", "warn")

    def keep(person: str, reason: str) -> Reply:
        accepted = Accepted(valve=str(valve), of=odd.number, person=person, reason=reason)
        return kept(accepted, f"{valve}: kept as read by {person}.", "warn", (odd.number,))

    options = [
        Option("1", "back it off and count it again", does=again),
        Option("2", "it is as read: keep it", ("who says so", "the reason"), keep),
    ]
    others = [e for e in scene.state.valves[valve].trials if e.number != odd.number]
    if others:
        other = others[-1]
        false = Draft(CrossedOut(of=other.number, reason="false, by the counts after it"))
        label = f"the other was false, {other.body.turns} with {other.body.pushrod}: cross it out"
        does = Reply((false,), f"{valve}: the other count is crossed out.", "warn")
        # Counted so before and crossed out: it is likelier the other that is wrong.
        place = 0 if _counted_so_before(scene, scene.state.valves[valve], body) else 1
        options.insert(place, Option("3", label, does=does))
    return Prompt(
        id=ODD_TRIAL,
        phase="trial",
        heading=f"{valve}: {body.turns} can hardly be right",
        question=text(
            "{}: {} with a pushrod of {} disagrees with the other trials. Count it again?",
            valve,
            body.turns,
            typed_length(body.pushrod),
        ),
        why=why,
        options=tuple(options),
        facts=(Fact("a miscount is likelier than a rocker that moves so", "statics"),),
        valve=valve,
    )


# ------------------------------------------------------ a click far too early

_FOUND_WRONG = {
    "2": "the thread was dirty, or the bolt didn't run free by fingers",
    "3": "the hole was wet, or the bolt bottomed",
    "4": "the wrench was set wrong",
    "5": "the pushrod was not in both cups",
}


def early_click_prompt(
    scene: Scene, valve_state: ValveState, count: Count | None, phase: Phase
) -> Prompt | None:
    """What to look at first where a wrench clicked far too early; None where it is looked at.

    That is with lash left, or before half of the least turns allowed.
    """
    read = count.when(Read) if count and scene.build.method.clicks else None
    if read is None or turns_of(read.body.turns) >= max(read.body.least_turns / 2, 1e-9):
        return None
    valve, turns = valve_state.valve, read.body.turns
    looked_at = scene.state.step(EARLY_CLICK, valve)
    if looked_at is not None and looked_at.number > read.number:
        return None
    seen = "thread, hole, bolt, wrench and cups looked at"
    good = Answered(step=EARLY_CLICK, answer="good", said=seen, valve=str(valve))
    off = back_off(scene, [valve], "count again")

    def again(key: str, found: str) -> Option:
        crossed = Draft(CrossedOut(of=read.number, reason=found))
        reply = Reply((off, crossed), f"{valve}: counted again from zero lash.", "warn")
        return Option(key, found, does=reply)

    return Prompt(
        id=EARLY_CLICK,
        phase=phase,
        heading=f"{valve} clicked at {turns}",
        question="That is far too early. Before you fit a longer pushrod: does the bolt run down a "
        "clean thread by fingers? Is the hole dry and deep enough, the wrench set right in the "
        "right unit, the pushrod in both cups?",
        why="A wrench clicks at whatever stops the bolt. A dirty thread, a wet hole or a bolt that "
        "bottoms clicks without clamping anything.",
        options=(
            Option("1", "all of it is as it should be", does=Reply((Draft(good, (read.number,)),))),
            *(again(*row) for row in _FOUND_WRONG.items()),
        ),
        facts=(
            Fact(f"at least {show_turns(read.body.least_turns)} turns were wanted", ""),
            Fact("look at these first", "common practice, no source"),
        ),
        valve=valve,
    )


def with_doubt(scene: Scene, prompt: Prompt) -> Prompt:
    """A prompt whose last answer was doubted says so above the question."""
    asked = _doubted(scene)
    if asked is None or asked.valve != str(prompt.valve):
        return prompt
    fact = Fact(f"{asked.answer} was typed: type it again if it is right", "asked once more")
    return replace(prompt, facts=(fact, *prompt.facts))


def _doubted(scene: Scene) -> Answered | None:
    """The answer that was doubted just before."""
    last = scene.state.last.body if scene.state.last else None
    return last if isinstance(last, Answered) and last.step == DOUBTED else None
