"""A reading outside its limits: again, another pushrod, later, or accepted as is."""

from __future__ import annotations

from datetime import datetime

from heelwise.documents import quantities
from heelwise.documents.entries import Accepted, BackedOff, Draft, Fitted, Gauged, Read
from heelwise.documents.steps import Phase
from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.figures import turns_text
from heelwise.walk.counting import (
    count_ended_text,
    gap_fact,
    gauged_text,
    preload_of,
    proposal,
    verdict_text,
)
from heelwise.walk.doubts import pushrod_mm
from heelwise.walk.prompts import Ask, Fact, Option, Prompt, Reply
from heelwise.walk.scene import Scene
from heelwise.walk.state import Count, ValveState
from heelwise.wording import Length, listed, text

OUTSIDE = "walk/outside"

AGAIN, ANOTHER, LATER, ACCEPT = "1", "2", "3", "4"


def outside_prompt(scene: Scene, valve_state: ValveState, count: Count, phase: Phase) -> Prompt:
    """What to do with a reading outside its limits: again, another pushrod, later, or as is.

    A count that was ended at the turns never to pass, or that reached them, can't be
    accepted; nor can a gap of nothing.
    """
    valve = valve_state.valve

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Reply:
        if answer == ACCEPT:
            body = Accepted(valve=str(valve), of=count.number, person=texts[0], reason=texts[1])
            draft = Draft(body, (count.number,))
            return Reply((draft,), f"{valve}: accepted as is by {texts[0]}.")
        off = _off(scene, valve, later=answer == LATER)
        if answer == ANOTHER:
            return Reply((off, fitted_draft(scene, valve, texts[0], phase)))
        return Reply((off,))

    return Prompt(
        id=OUTSIDE,
        phase=phase,
        ask=Ask.CHOICE,
        heading=f"{valve} is outside its window",
        question=text("{} What now?", _reading_text(scene, valve_state, count)),
        why=_why(scene),
        options=_options(scene, valve, count),
        facts=_try_facts(scene, valve_state, count),
        valve=valve,
        take=take,
    )


def _options(scene: Scene, valve: Valve, count: Count) -> tuple[Option, ...]:
    method, stand = scene.build.method, listed(scene.build.stand_of(valve))
    again, off = "back off and count again from zero lash", "back off"
    if method.stands:
        again, off = f"slacken the stand of {stand}, draw it down anew", f"slacken {stand}"
    elif not method.clicks:
        again = "unlock it and set it anew"
    options = [Option(AGAIN, again)]
    if method.length_sets_preload:
        options.append(Option(ANOTHER, f"{off}, another pushrod", ("its measured length",)))
    options.append(Option(LATER, "leave it backed off, come back to it"))
    if may_accept(scene, count):
        options.append(Option(ACCEPT, "accept as is", ("who accepts it", "the reason")))
    return tuple(options)


def _why(scene: Scene) -> str:
    if scene.build.method.reads == "lash":
        return (
            "Gauge again first: a lifter not on its heel (base circle), or a gauge gone in at a "
            "slant, reads wrong. A valve without lash is held open hot: never accepted."
        )
    return (
        "Measure again first: a pushrod not in its cup, or a lash left in, reads wrong. "
        "A plunger at its end is never accepted, nor a valve with lash left."
    )


def _off(scene: Scene, valve: Valve, *, later: bool) -> Draft:
    stand = [str(v) for v in scene.build.stand_of(valve)]
    body = BackedOff(valves=stand, why="come back later" if later else "count again")
    return Draft(body, scene.crank_number)


def fitted_draft(scene: Scene, valve: Valve, length: str, phase: Phase) -> Draft:
    """Another pushrod goes in.

    Raises Refused if its length can't be understood, or isn't one for this engine.
    """
    pushrod_mm(scene, valve, length)
    return Draft(Fitted(valve=str(valve), pushrod=length, phase=phase))


def may_accept(scene: Scene, count: Count) -> bool:
    """Whether a reading may be accepted as is.

    Never a count that reached the turns never to pass, a gap of nothing, or a hydraulic
    lifter with lash left.
    """
    gauged, read = count.when(Gauged), count.when(Read)
    if gauged is not None:
        some_gap = quantities.length_mm(gauged.body.reading) > 0
        return some_gap and (gauged.body.what == "lash" or preload_of(scene, gauged.body) > 0)
    if read is None:
        return False
    turns = quantities.turns(read.body.turns)
    return scene.seat_turns < turns < scene.never_past - 1e-9


def _reading_text(scene: Scene, valve_state: ValveState, count: Count) -> str:
    read, gauged = count.when(Read), count.when(Gauged)
    if read is not None:
        return verdict_text(scene, read.body)
    return gauged_text(scene, gauged.body) if gauged else count_ended_text(valve_state)


def _try_facts(scene: Scene, valve_state: ValveState, count: Count) -> tuple[Fact, ...]:
    if not scene.build.method.length_sets_preload:
        return ()
    gauged = count.when(Gauged)
    if gauged is not None:
        return (gap_fact(scene, valve_state, gauged.body),)
    best = proposal(scene, valve_state, count)
    if best is None:
        return (Fact("no length sold or on hand lands inside", "worked out from this count"),)
    sentence = text("try {}: expect about {}", Length(best[0]), turns_text(best[1]))
    source = f"worked out from this count, {scene.travel_text}"
    return (Fact(sentence, source),)
