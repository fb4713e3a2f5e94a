"""What is counted, gauged and proved in the virtual engine, by what a prompt wants to learn."""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from heelwise.documents import quantities
from heelwise.documents.entries import Answered, Gauged, Measured, NotYet, Proved, Read
from heelwise.rehearsal.lobe import lift_mm
from heelwise.rehearsal.planting import Fault
from heelwise.rehearsal.truth import INCH, UP_THE_LOBE_MM, Truth
from heelwise.valvetrain.checking import MOST_LASH_MM
from heelwise.walk.counting import NO_CLICK
from heelwise.walk.limits import gauge_limits
from heelwise.walk.prompts import Prompt
from heelwise.walk.scene import Scene
from heelwise.walk.standing import ValveStanding

NOT_BLED_TURNS = 0.375
SHIFT_MM = 0.004 * INCH
SHORTER_MM = 0.100 * INCH
TIGHT_MM = 0.003 * INCH
"""Lash under which the hand calls a pushrod tight and takes a shorter one."""


@dataclass(frozen=True)
class Sensed:
    """What is seen and felt, and the answer it leads to."""

    report: str
    answer: str
    texts: tuple[str, ...] = ()


def one_of(scene: Scene, prompt: Prompt) -> ValveStanding:
    """The valve a prompt is about."""
    assert prompt.valve is not None
    return scene.standing.valve(prompt.valve)


def key_of(scene: Scene, prompt: Prompt, value: str) -> str:
    """The key that stands for a value of a step's choice."""
    step = scene.build.procedure.step(prompt.id)
    assert step is not None
    return next(option.key for option in step.options if option.value == value)


def _count(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    if not scene.build.way.clicks:
        given = quantities.show_turns(scene.wanted_turns)
        return Sensed(f"From zero lash you give {given} turns.", given)
    one = one_of(scene, prompt)
    pushrod = quantities.length_mm(_fitted(scene, prompt, one))
    exact = truth.turns(one.valve, pushrod, _lobe(scene, prompt, truth, one))
    if exact >= scene.never_past:
        said = f"You reach {quantities.show_turns(scene.never_past)} turns. No click."
        return Sensed(said, NO_CLICK)
    if exact <= 0:
        return Sensed("It clicks with play still in the pushrod: 0 turns.", "0")
    if truth.planted.get(one.valve) is Fault.NOT_BLED and not _seen(one, Read):
        # The plunger is still down: zero lash comes late, and the count short.
        exact = max(exact - NOT_BLED_TURNS, 0.125)
    typed = quantities.show_turns(_in_eighths(exact, truth.seed, one))
    return Sensed(f"From zero lash you count {typed} turns, then the wrench clicks.", typed)


def _fitted(scene: Scene, prompt: Prompt, one: ValveStanding) -> str:
    if prompt.phase == "trial" and one.fitted is not None:
        return str(getattr(one.fitted.body, "pushrod", ""))
    return scene.pushrod_text(one)


def _lobe(scene: Scene, prompt: Prompt, truth: Truth, one: ValveStanding) -> float:
    """Lift under the lifter while it is counted: true lobe, and a crank that had crept."""
    build, at = scene.build, scene.crank_deg
    lift = 0.0
    if build.cam is not None and at is not None:
        lift = lift_mm(build.engine, build.cam, one.valve, at)
    if truth.planted.get(one.valve) is Fault.UP_THE_LOBE and prompt.phase == "fit":
        lift += UP_THE_LOBE_MM
    return lift


def _in_eighths(exact: float, seed: int, one: ValveStanding) -> float:
    """A count as a hand gives it: a little off, in eighths."""
    chance = random.Random(f"{seed} {one.valve} {one.tightened}")
    return max(0.125, round((exact + chance.uniform(-0.03, 0.03)) * 8) / 8)


def _seen(one: ValveStanding, kind: type) -> bool:
    """Whether an entry of a kind is in a valve's history, so that a planted fault has shown."""
    return any(isinstance(entry.body, kind) for entry in one.history)


def _gauge(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    one = one_of(scene, prompt)
    if scene.build.way.reads == "lash":
        return _gauge_said(gauge_limits(scene, one.valve).wanted_mm)
    gap = truth.gap_mm(one.valve, quantities.length_mm(scene.pushrod_text(one)))
    if truth.planted.get(one.valve) is Fault.NOT_BLED and not _seen(one, Gauged):
        gap /= 2  # the plunger was not pressed to its end
    return _gauge_said(gap)


def _recheck(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    one = one_of(scene, prompt)
    lash = gauge_limits(scene, one.valve).wanted_mm
    seen = any(isinstance(e.body, Gauged) and e.body.locked for e in one.history)
    if truth.planted.get(one.valve) is Fault.SHIFTS and not seen:
        lash += SHIFT_MM
    return _gauge_said(lash)


def _gauge_said(mm: float) -> Sensed:
    typed = f"{mm / INCH:.3f} in"
    return Sensed(f"A gauge of {typed} passes with a light drag.", typed)


def _checked(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    one = one_of(scene, prompt)
    length = truth.just_touching_mm[one.valve]
    if truth.planted.get(one.valve) is Fault.NOT_BLED:
        length -= NOT_BLED_TURNS * truth.travel_mm
    chance = random.Random(f"checked {truth.seed} {one.valve}")
    typed = quantities.show_length(length + chance.uniform(-0.04, 0.04), "in")
    return Sensed(f"At zero lash the checking pushrod measures {typed}.", typed)


def _cup(height_mm: float) -> Sensed:
    typed = quantities.show_length(height_mm, "in")
    return Sensed(f"The height gauge says {typed}.", typed)


def _cup_hydraulic(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    return _cup(truth.cup_hydraulic_mm)


def _cup_solid(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    return _cup(truth.cup_solid_mm)


def _checking_length(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    """The setup's pushrod first, then a tenth and two tenths shorter, until one leaves a lash."""
    one = one_of(scene, prompt)
    off = [e for e in one.history if getattr(e.body, "why", "") == "count again"]
    length = quantities.length_mm(scene.set_length(one.valve)) - SHORTER_MM * (len(off) % 3)
    typed = quantities.show_length(length, "in")
    return Sensed(f"The caliper says {typed}.", typed)


def lash_checked_mm(scene: Scene, one: ValveStanding, truth: Truth) -> float | None:
    """The lash on the solid checking lifter; None before a pushrod is in."""
    for step in scene.build.steps("trial", "valve"):
        told = scene.standing.step(step.id, one.valve) if step.fills == "checking_length" else None
        if told is not None and isinstance(told.body, Measured) and told.number > one.touched:
            return truth.lash_mm(one.valve, quantities.length_mm(told.body.reading))
    return None


def _lash_checked(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    lash = lash_checked_mm(scene, one_of(scene, prompt), truth)
    assert lash is not None
    if lash > MOST_LASH_MM:
        return Sensed("No gauge is thick enough.", "p")
    return _gauge_said(lash) if lash > TIGHT_MM else Sensed("No gauge passes.", "p")


def _lifter_back(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    one = one_of(scene, prompt)
    seen = any(isinstance(e.body, NotYet) and e.body.step == prompt.id for e in one.history)
    if truth.planted.get(one.valve) is Fault.SOLID_LEFT_IN and not seen:
        return Sensed("The solid lifter is still in its bore.", "n")
    return Sensed("The solid lifter is in the hand, the hydraulic one in its bore.", "y")


def _play(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    one = one_of(scene, prompt)
    asked = [e for e in one.history if isinstance(e.body, Answered) and e.body.step == prompt.id]
    if truth.planted.get(one.valve) is Fault.SHIFTS and not asked:
        return Sensed(
            "The nut came round with its lock: there is play.", key_of(scene, prompt, "found")
        )
    return Sensed("No play.", key_of(scene, prompt, "none"))


_IN_PROOF: Mapping[Fault, tuple[str, str]] = {
    Fault.BOLT_MOVES: ("moved", "The bolt goes round a fifth of a turn before it clicks."),
    Fault.UNEVEN: ("moved", "One bolt of the stand goes round before it clicks."),
    Fault.LOCK_SLIPS: ("slipped", "The lock is held, and the nut turns all the same."),
    Fault.PLAY_LEFT: ("play", "There is play at the rocker."),
}


def _proof(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    one = one_of(scene, prompt)
    for valve in scene.build.stand_of(one.valve):
        found = truth.planted.get(valve)
        told = _IN_PROOF.get(found) if found else None
        if told and not _seen(scene.standing.valve(valve), Proved):
            return Sensed(told[1], key_of(scene, prompt, told[0]))
    if scene.build.way.reads == "lash":
        return _go_no_go(scene, prompt, truth, one)
    if "held" in scene.build.procedure.form.proofs:
        return Sensed("The nut stands still, and there is no play.", key_of(scene, prompt, "held"))
    chance = random.Random(f"proof {truth.seed} {one.valve}")
    if chance.random() < 0.06:
        key = key_of(scene, prompt, "settled")
        return Sensed("It settles by less than a sixteenth, then clicks.", key)
    return Sensed("It clicks, and the bolt stands still.", key_of(scene, prompt, "clicked"))


def _go_no_go(scene: Scene, prompt: Prompt, truth: Truth, one: ValveStanding) -> Sensed:
    first = not _seen(one, Proved)
    if truth.planted.get(one.valve) is Fault.UP_THE_LOBE and first:
        return Sensed("Here the thick gauge passes too.", key_of(scene, prompt, "loose"))
    return Sensed("The thin gauge goes, the thick one does not.", key_of(scene, prompt, "held"))


def _condition(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    return Sensed(f"The lifters are {truth.lifters}.", key_of(scene, prompt, truth.lifters))


READINGS: Mapping[str, Callable[[Scene, Prompt, Truth], Sensed]] = {
    "count": _count,
    "gauge": _gauge,
    "recheck": _recheck,
    "checked": _checked,
    "cup_hydraulic": _cup_hydraulic,
    "cup_solid": _cup_solid,
    "checking_length": _checking_length,
    "lash_checked": _lash_checked,
    "lifter_back": _lifter_back,
    "play": _play,
    "proof": _proof,
    "lifter_condition": _condition,
}
"""By what a prompt fills."""
