"""What is counted, gauged and proved in the virtual engine, by what a prompt wants to learn."""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from heelwise.documents import quantities
from heelwise.documents.entries import (
    Answered,
    AnyEntry,
    Gauged,
    Measured,
    NoClick,
    NotYet,
    Proved,
    Read,
)
from heelwise.rehearsal.engine import Truth
from heelwise.rehearsal.faults import EngineFault, HandSlip
from heelwise.valvetrain.engine import Valve, ValveKind
from heelwise.walk.counting import NO_CLICK
from heelwise.walk.limits import gauge_limits
from heelwise.walk.prompts import Prompt
from heelwise.walk.scene import Scene
from heelwise.walk.valve_state import ValveState

NOT_BLED_MM = 0.9
"""How far a plunger that was not bled down is under its retainer."""

UP_THE_LOBE_MM = 0.56
"""Lift under a lifter whose crank had crept."""

SHIFT_MM = 0.10
SHORTER_MM = 0.75
THICKEST_GAUGE_MM = 1.5
TIGHT_MM = 0.08
"""Lash under which the hand calls a pushrod tight and takes a shorter one."""

MISCOUNTS: Mapping[HandSlip, float] = {
    HandSlip.HALF_TURN_MORE: 0.5,
    HandSlip.HALF_TURN_FEWER: -0.5,
    HandSlip.EIGHTH_MISREAD: 0.125,
}
"""Turns that a slip adds to a count."""


@dataclass(frozen=True)
class Sensed:
    """What is seen and felt, and the answer it leads to."""

    report: str
    answer: str
    texts: tuple[str, ...] = ()


def valve_state(scene: Scene, prompt: Prompt) -> ValveState:
    """The valve a prompt is about."""
    assert prompt.valve is not None
    return scene.state.valve(prompt.valve)


def key_of(scene: Scene, prompt: Prompt, value: str) -> str:
    """The key that stands for a value of a step's choice."""
    step = scene.build.procedure.step(prompt.id)
    assert step is not None
    return next(option.key for option in step.options if option.value == value)


def _count(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    if not scene.build.method.clicks:
        given = quantities.show_turns(scene.wanted_turns)
        return Sensed(f"From zero lash you give {given} turns.", given)
    state = valve_state(scene, prompt)
    fresh = not _counts_of(state)
    slip = truth.slips.get(state.valve) if fresh else None
    valve = _neighbor(state.valve) if slip is HandSlip.WRONG_VALVE else state.valve
    pushrod = _truelength_shown(scene, prompt, truth, state)
    down = _down_at_zero_lash(scene, truth, state, pushrod)
    exact = truth.turns(valve, pushrod, _lift(scene, prompt, truth, state), down)
    exact += MISCOUNTS.get(slip, 0.0) if slip and exact > 0 else 0.0
    if exact >= scene.never_past:
        report = f"You reach {quantities.show_turns(scene.never_past)} turns. No click."
        return Sensed(report, NO_CLICK)
    if exact <= 0:
        return Sensed("It clicks with play still in the pushrod: 0 turns.", "0")
    typed = quantities.show_turns(max(0.125, round(exact * 8) / 8))
    return Sensed(f"From zero lash you count {typed} turns, then the wrench clicks.", typed)


def _counts_of(state: ValveState) -> list[AnyEntry]:
    return [entry for entry in state.history if isinstance(entry.body, Read | NoClick)]


def _neighbor(valve: Valve) -> Valve:
    """The other valve of the same cylinder."""
    other = ValveKind.EXHAUST if valve.kind is ValveKind.INTAKE else ValveKind.INTAKE
    return Valve(valve.cylinder, other)


def _truelength_shown(scene: Scene, prompt: Prompt, truth: Truth, state: ValveState) -> float:
    measured = scene.pushrod_text(state)
    if prompt.phase == "trial" and state.fitted is not None:
        measured = str(getattr(state.fitted.body, "pushrod", ""))
    return truth.true_length_mm(state.valve, quantities.length_mm(measured))


def _down_at_zero_lash(scene: Scene, truth: Truth, state: ValveState, pushrod: float) -> float:
    """How far the plunger is down where the hand calls it zero lash: by feel, and by its oil."""
    chance = random.Random(f"{truth.seed} {state.valve} {len(state.history)}")
    down = chance.gauss(0.0, truth.hand_mm)
    if truth.planted.get(state.valve) is EngineFault.NOT_BLED and not _counts_of(state):
        return down + NOT_BLED_MM
    if state.tightened and state.loosened is not None:
        unloaded = scene.state.entries[-1].at - state.loosened.at
        down += truth.still_down_mm(truth.preload_mm(state.valve, pushrod), unloaded)
    return down


def _lift(scene: Scene, prompt: Prompt, truth: Truth, state: ValveState) -> float:
    """Lift under the lifter while it is counted: true lobe, and a crank that had crept."""
    lift = 0.0 if scene.crank_deg is None else truth.lift_mm(state.valve, scene.crank_deg)
    if truth.planted.get(state.valve) is EngineFault.UP_THE_LOBE and prompt.phase == "fit":
        lift += UP_THE_LOBE_MM
    return lift


def _seen(one: ValveState, kind: type) -> bool:
    """Whether an entry of a kind is in a valve's history, so that a planted fault has shown."""
    return any(isinstance(entry.body, kind) for entry in one.history)


def _gauge(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    one = valve_state(scene, prompt)
    if scene.build.method.reads == "lash":
        return _gauged(scene, gauge_limits(scene, one.valve).wanted_mm)
    gap = truth.gap_mm(one.valve, _truelength_shown(scene, prompt, truth, one))
    if truth.planted.get(one.valve) is EngineFault.NOT_BLED and not _seen(one, Gauged):
        gap /= 2  # the plunger was not pressed to its end
    return _gauged(scene, gap)


def _recheck(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    one = valve_state(scene, prompt)
    lash = gauge_limits(scene, one.valve).wanted_mm
    seen = any(isinstance(e.body, Gauged) and e.body.locked for e in one.history)
    if truth.planted.get(one.valve) is EngineFault.SHIFTS and not seen:
        lash += SHIFT_MM
    return _gauged(scene, lash)


def length_shown(scene: Scene, mm: float) -> str:
    """A length as a gauge or caliper of this shop shows it: in inches, or in mm."""
    metric = "mm" in scene.set_length(next(iter(scene.state.valves)))
    return quantities.show_length(mm, "mm" if metric else "in")


def _gauged(scene: Scene, mm: float) -> Sensed:
    typed = length_shown(scene, mm)
    return Sensed(f"A gauge of {typed} passes with a light drag.", typed)


def _checked(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    one = valve_state(scene, prompt)
    length = truth.just_touching_mm[one.valve]
    if truth.planted.get(one.valve) is EngineFault.NOT_BLED:
        length -= NOT_BLED_MM
    chance = random.Random(f"checked {truth.seed} {one.valve}")
    typed = length_shown(scene, length + chance.gauss(0.0, truth.hand_mm))
    return Sensed(f"At zero lash the checking pushrod measures {typed}.", typed)


def _cup(scene: Scene, height_mm: float) -> Sensed:
    typed = length_shown(scene, height_mm)
    return Sensed(f"The height gauge says {typed}.", typed)


def _cup_hydraulic(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    return _cup(scene, truth.cup_hydraulic_mm)


def _cup_solid(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    return _cup(scene, truth.cup_solid_mm)


def _checking_length(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    """The setup's pushrod first, then shorter and shorter ones, until one leaves a lash."""
    one = valve_state(scene, prompt)
    off = [e for e in one.history if getattr(e.body, "why", "") == "count again"]
    length = quantities.length_mm(scene.set_length(one.valve)) - SHORTER_MM * (len(off) % 8)
    typed = length_shown(scene, length)
    return Sensed(f"The caliper says {typed}.", typed)


def lash_checked_mm(scene: Scene, one: ValveState, truth: Truth) -> float | None:
    """The lash on the solid checking lifter; None before a pushrod is in."""
    for step in scene.build.steps("trial", "valve"):
        told = scene.state.step(step.id, one.valve) if step.records == "checking_length" else None
        if told is not None and isinstance(told.body, Measured) and told.number > one.touched:
            length = quantities.length_mm(told.body.reading)
            return truth.lash_mm(one.valve, truth.true_length_mm(one.valve, length))
    return None


def _lash_checked(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    lash = lash_checked_mm(scene, valve_state(scene, prompt), truth)
    assert lash is not None
    if lash > THICKEST_GAUGE_MM:
        return Sensed("No gauge is thick enough.", "p")
    return _gauged(scene, lash) if lash > TIGHT_MM else Sensed("No gauge passes.", "p")


def _lifter_back(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    one = valve_state(scene, prompt)
    seen = any(isinstance(e.body, NotYet) and e.body.step == prompt.id for e in one.history)
    if truth.planted.get(one.valve) is EngineFault.SOLID_LEFT_IN and not seen:
        return Sensed("The solid lifter is still in its bore.", "n")
    return Sensed("The solid lifter is in the hand, the hydraulic one in its bore.", "y")


def _play(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    one = valve_state(scene, prompt)
    asked = [e for e in one.history if isinstance(e.body, Answered) and e.body.step == prompt.id]
    if truth.planted.get(one.valve) is EngineFault.SHIFTS and not asked:
        return Sensed(
            "The nut came round with its lock: there is play.", key_of(scene, prompt, "found")
        )
    return Sensed("No play.", key_of(scene, prompt, "none"))


_IN_PROOF: Mapping[EngineFault, tuple[str, str]] = {
    EngineFault.BOLT_MOVES: ("moved", "The bolt goes round a fifth of a turn before it clicks."),
    EngineFault.UNEVEN: ("moved", "One bolt of the stand goes round before it clicks."),
    EngineFault.LOCK_SLIPS: ("slipped", "The lock is held, and the nut turns all the same."),
    EngineFault.PLAY_LEFT: ("play", "There is play at the rocker."),
}


def _proof(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    one = valve_state(scene, prompt)
    for valve in scene.build.stand_of(one.valve):
        found = truth.planted.get(valve)
        told = _IN_PROOF.get(found) if found else None
        if _never_tightened(truth, scene.state.valve(valve)):
            told = _IN_PROOF[EngineFault.BOLT_MOVES]
        if told and not _seen(scene.state.valve(valve), Proved):
            return Sensed(told[1], key_of(scene, prompt, told[0]))
    if scene.build.method.reads == "lash":
        return _go_no_go(scene, prompt, truth, one)
    if "held" in scene.build.procedure.method.proofs:
        return Sensed("The nut stands still, and there is no play.", key_of(scene, prompt, "held"))
    chance = random.Random(f"proof {truth.seed} {one.valve}")
    if chance.random() < 0.06:
        key = key_of(scene, prompt, "settled")
        return Sensed("It settles by less than a sixteenth, then clicks.", key)
    return Sensed("It clicks, and the bolt stands still.", key_of(scene, prompt, "clicked"))


def _never_tightened(truth: Truth, state: ValveState) -> bool:
    """Whether only its neighbor was tightened in its stead so far."""
    return truth.slips.get(state.valve) is HandSlip.WRONG_VALVE and len(_counts_of(state)) == 1


def _go_no_go(scene: Scene, prompt: Prompt, truth: Truth, one: ValveState) -> Sensed:
    first = not _seen(one, Proved)
    if truth.planted.get(one.valve) is EngineFault.UP_THE_LOBE and first:
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
