"""What is asked once more before it counts: a length, a count, a click far too early."""

from collections.abc import Callable

from heelwise.documents import oddities, quantities
from heelwise.documents.entries import Accepted, Answered, CrossedOut, Draft, Read
from heelwise.documents.entry_base import Entry
from heelwise.documents.quantities import turns as turns_of
from heelwise.documents.quantities import typed_length
from heelwise.valvetrain.engine import Valve
from heelwise.walk.prompts import Fact, Option, Prompt, Refused, Reply, kept
from heelwise.walk.scene import Scene, reading_of
from heelwise.walk.state import Count, ValveState
from heelwise.walk.steps import back_off, understood
from heelwise.wording import Text, show_window, text

DOUBTED = "walk/doubted"
EARLY_CLICK = "walk/early-click"
ODD_TRIAL = "walk/odd-trial"

BY_WHOM = ("who decides", "the reason")
MOST_SHARE = 0.25
"""A pushrod further than this from the setup's isn't one for this engine."""


def pushrod_mm(
    scene: Scene, valve: Valve, answer: str, read: Callable[[str], float] = oddities.pushrod_mm
) -> float:
    """A pushrod's length as typed, in mm.

    Raises Refused if it can't be understood, or can't be a pushrod of this engine at all.
    """
    mm, usual = understood(read, answer), scene.build.set_length(valve)
    usual_mm = quantities.length_mm(usual)
    if abs(mm - usual_mm) > usual_mm * MOST_SHARE:
        far = f"{answer} is far from the setup's {usual}"
        raise Refused(far, "measure it again, or mend the setup")
    return mm


def doubt_length(scene: Scene, valve: Valve, answer: str, mm: float) -> Reply | None:
    """Ask a length once more that is far from what is sold or set up; None where it may count."""
    why = oddities.doubt_length(scene.build.setup, mm)
    return doubt(scene, valve, answer, Text(f"{answer} {why}.")) if why else None


def doubt(scene: Scene, valve: Valve, answer: str, why: Text) -> Reply | None:
    """Keep an answer as doubted and ask it again; None where the same was just typed again."""
    last = scene.state.last.body if scene.state.last else None
    if isinstance(last, Answered) and (last.step, last.answer) == (DOUBTED, answer):
        return None
    body = Answered(step=DOUBTED, answer=answer, said="asked once more", valve=str(valve))
    return kept(body, text("{} Type it again if it is right.", why), "bad")


# ------------------------------------------------- kept, and to be looked at


def accept_option(key: str, label: str, valve: Valve, of: int) -> Option:
    """Keep an entry as it is, by a named person with a reason."""

    def accept(person: str, reason: str) -> Reply:
        body = Accepted(valve=str(valve), of=of, person=person, reason=reason)
        return kept(body, f"{valve}: accepted as is by {person}.", "warn", (of,))

    return Option(key, label, BY_WHOM, accept)


def _count_again(scene: Scene, key: str, label: str, read: Entry[Read], reason: str) -> Option:
    valve = Valve.parse(read.body.valve)
    off = back_off(scene, [valve], "count again")
    crossed = Draft(CrossedOut(of=read.number, reason=reason))
    reply = Reply((off, crossed), f"{valve}: count it again from zero lash.", "warn")
    return Option(key, label, does=reply)


def odd_trial(scene: Scene, valve_state: ValveState) -> tuple[Entry[Read], str] | None:
    """A valve's trial that disagrees with the others and nobody vouched for, and why; or None."""
    why = {odd.reading: odd.why for odd in scene.travel.odd_readings}
    trials, accepted = valve_state.trials, valve_state.acceptance_of
    odd = [e for e in trials if reading_of(e.body) in why and not accepted(e.number)]
    if not odd or all(_counted_so_before(scene, valve_state, e.body) for e in trials):
        return None
    return odd[-1], why[reading_of(odd[-1].body)]


def _counted_so_before(scene: Scene, valve_state: ValveState, body: Read) -> bool:
    struck = (e.body for e in valve_state.history if not scene.state.counts(e))
    same = (b for b in struck if isinstance(b, Read) and b.pushrod == body.pushrod)
    return any(
        abs(turns_of(b.turns) - turns_of(body.turns)) <= body.resolution_turns + 1e-9 for b in same
    )


def odd_trial_prompt(scene: Scene, valve_state: ValveState, odd: Entry[Read], why: str) -> Prompt:
    """A trial named as odd: counted again, or kept by a named person with a reason."""
    valve, body = valve_state.valve, odd.body
    options = [
        _count_again(scene, "1", "back it off and count it again", odd, "odd: counted again"),
        accept_option("2", "it is as read: keep it", valve, odd.number),
    ]
    others = [e for e in valve_state.trials if e.number != odd.number]
    if others:
        other = others[-1]
        false = CrossedOut(of=other.number, reason="false, by the counts after it")
        label = f"the other was false, {other.body.turns} with {other.body.pushrod}: cross it out"
        does = kept(false, f"{valve}: the other count is crossed out.", "warn")
        # Counted so before and crossed out: it is likelier the other that is wrong.
        place = 0 if _counted_so_before(scene, valve_state, body) else 1
        options.insert(place, Option("3", label, does=does))
    return Prompt(
        id=ODD_TRIAL,
        phase="trial",
        heading=f"{valve}: {body.turns} can hardly be right",
        question=text(
            "{}: {} with a pushrod of {} disagrees with the other trials. Count it again?",
            *(valve, body.turns, typed_length(body.pushrod)),
        ),
        why=why,
        options=tuple(options),
        facts=(Fact("a miscount is likelier than a rocker that moves so", "statics"),),
        valve=valve,
    )


_FOUND_WRONG = {
    "2": "the thread was dirty, or the bolt didn't run free by fingers",
    "3": "the hole was wet, or the bolt bottomed",
    "4": "the wrench was set wrong",
    "5": "the pushrod was not in both cups",
}


def early_click_prompt(scene: Scene, valve_state: ValveState, count: Count | None) -> Prompt | None:
    """What to look at first where it clicked with lash left, or long before the least turns."""
    read = count.when(Read) if count and scene.build.method.clicks else None
    if read is None or turns_of(read.body.turns) >= max(read.body.least_turns / 2, 1e-9):
        return None
    valve = valve_state.valve
    looked_at = scene.state.step(EARLY_CLICK, valve)
    if looked_at is not None and looked_at.number > read.number:
        return None
    seen = "thread, hole, bolt, wrench and cups looked at"
    good = Answered(step=EARLY_CLICK, answer="good", said=seen, valve=str(valve))
    window = show_window(read.body.least_turns, read.body.most_turns)
    return Prompt(
        id=EARLY_CLICK,
        heading=f"{valve} clicked at {read.body.turns}",
        question="That is far too early. Before you fit a longer pushrod: does the bolt run down a "
        "clean thread by fingers? Is the hole dry and deep enough, the wrench set right in the "
        "right unit, the pushrod in both cups?",
        why="A wrench clicks at whatever stops the bolt. A dirty thread, a wet hole or a bolt that "
        "bottoms clicks without clamping anything.",
        options=(
            Option("1", "all of it is as it should be", does=kept(good, rests=(read.number,))),
            *(_count_again(scene, key, why, read, why) for key, why in _FOUND_WRONG.items()),
        ),
        facts=(
            Fact(f"window {window} turns", scene.window.source),
            Fact("look at these first", "common practice, no source"),
        ),
        valve=valve,
    )
