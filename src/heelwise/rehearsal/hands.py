"""What hands and eyes report at a prompt, worked out from the virtual engine's truth."""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from heelwise.documents import quantities
from heelwise.documents.entries import (
    Answered,
    Crank,
    Gauged,
    Measured,
    NoClick,
    NotYet,
    Proved,
    Read,
)
from heelwise.rehearsal.engine import INCH, UP_THE_LOBE_MM, Truth, lift_mm
from heelwise.rehearsal.faults import EngineFault
from heelwise.valvetrain.lash import MOST_LASH_MM
from heelwise.walk.buying import ANOTHER, RECEIVE, ordered_lengths
from heelwise.walk.counting import NO_CLICK, proposal
from heelwise.walk.finding import FEEL
from heelwise.walk.gauging import gap_proposal
from heelwise.walk.limits import gauge_limits
from heelwise.walk.outside import OUTSIDE
from heelwise.walk.prompts import Ask, Prompt
from heelwise.walk.prove import SECOND_PERSON
from heelwise.walk.scene import Scene
from heelwise.walk.sign_off import SIGN
from heelwise.walk.trials import FIT_TRIAL
from heelwise.walk.valve_state import ValveState, same_person

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
    one = valve_state(scene, prompt)
    pushrod = quantities.length_mm(_fitted(scene, prompt, one))
    exact = truth.turns(one.valve, pushrod, _lobe(scene, prompt, truth, one))
    if exact >= scene.never_past:
        report = f"You reach {quantities.show_turns(scene.never_past)} turns. No click."
        return Sensed(report, NO_CLICK)
    if exact <= 0:
        return Sensed("It clicks with play still in the pushrod: 0 turns.", "0")
    if truth.planted.get(one.valve) is EngineFault.NOT_BLED and not _seen(one, Read):
        # The plunger is still down: zero lash comes late, and the count short.
        exact = max(exact - NOT_BLED_TURNS, 0.125)
    typed = quantities.show_turns(_in_eighths(exact, truth.seed, one))
    return Sensed(f"From zero lash you count {typed} turns, then the wrench clicks.", typed)


def _fitted(scene: Scene, prompt: Prompt, one: ValveState) -> str:
    if prompt.phase == "trial" and one.fitted is not None:
        return str(getattr(one.fitted.body, "pushrod", ""))
    return scene.pushrod_text(one)


def _lobe(scene: Scene, prompt: Prompt, truth: Truth, one: ValveState) -> float:
    """Lift under the lifter while it is counted: true lobe, and a crank that had crept."""
    build, at = scene.build, scene.crank_deg
    lift = 0.0
    if build.cam is not None and at is not None:
        lift = lift_mm(build.engine, build.cam, one.valve, at)
    if truth.planted.get(one.valve) is EngineFault.UP_THE_LOBE and prompt.phase == "fit":
        lift += UP_THE_LOBE_MM
    return lift


def _in_eighths(exact: float, seed: int, one: ValveState) -> float:
    """A count as a hand gives it: a little off, in eighths."""
    chance = random.Random(f"{seed} {one.valve} {one.tightened}")
    return max(0.125, round((exact + chance.uniform(-0.03, 0.03)) * 8) / 8)


def _seen(one: ValveState, kind: type) -> bool:
    """Whether an entry of a kind is in a valve's history, so that a planted fault has shown."""
    return any(isinstance(entry.body, kind) for entry in one.history)


def _gauge(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    one = valve_state(scene, prompt)
    if scene.build.method.reads == "lash":
        return _gauge_said(gauge_limits(scene, one.valve).wanted_mm)
    gap = truth.gap_mm(one.valve, quantities.length_mm(scene.pushrod_text(one)))
    if truth.planted.get(one.valve) is EngineFault.NOT_BLED and not _seen(one, Gauged):
        gap /= 2  # the plunger was not pressed to its end
    return _gauge_said(gap)


def _recheck(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    one = valve_state(scene, prompt)
    lash = gauge_limits(scene, one.valve).wanted_mm
    seen = any(isinstance(e.body, Gauged) and e.body.locked for e in one.history)
    if truth.planted.get(one.valve) is EngineFault.SHIFTS and not seen:
        lash += SHIFT_MM
    return _gauge_said(lash)


def _gauge_said(mm: float) -> Sensed:
    typed = f"{mm / INCH:.3f} in"
    return Sensed(f"A gauge of {typed} passes with a light drag.", typed)


def _checked(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    one = valve_state(scene, prompt)
    length = truth.just_touching_mm[one.valve]
    if truth.planted.get(one.valve) is EngineFault.NOT_BLED:
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
    one = valve_state(scene, prompt)
    off = [e for e in one.history if getattr(e.body, "why", "") == "count again"]
    length = quantities.length_mm(scene.set_length(one.valve)) - SHORTER_MM * (len(off) % 3)
    typed = quantities.show_length(length, "in")
    return Sensed(f"The caliper says {typed}.", typed)


def lash_checked_mm(scene: Scene, one: ValveState, truth: Truth) -> float | None:
    """The lash on the solid checking lifter; None before a pushrod is in."""
    for step in scene.build.steps("trial", "valve"):
        told = scene.state.step(step.id, one.valve) if step.records == "checking_length" else None
        if told is not None and isinstance(told.body, Measured) and told.number > one.touched:
            return truth.lash_mm(one.valve, quantities.length_mm(told.body.reading))
    return None


def _lash_checked(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    lash = lash_checked_mm(scene, valve_state(scene, prompt), truth)
    assert lash is not None
    if lash > MOST_LASH_MM:
        return Sensed("No gauge is thick enough.", "p")
    return _gauge_said(lash) if lash > TIGHT_MM else Sensed("No gauge passes.", "p")


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


FELT_UP_MM = 0.3
"""Lift a finger can tell from none."""

NAME = "A. Rehearser"
OTHERS = ("BR", "CR")
"""Initials of the second person, and of a third where the second made the first proof."""


def sense(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    """Look, feel and count in the virtual engine for one prompt.

    The engine's state is replayed from the record's entries: which pushrod is in,
    where the crank stands, what was done to the bolt before.
    """
    special = READINGS.get(prompt.records) or _SPECIAL.get(prompt.id)
    if special is not None:
        return special(scene, prompt, truth)
    return _plain(scene, prompt, truth)


def _outside(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    """Count again once, then the pushrod worked out; accept only when nothing serves."""
    one = valve_state(scene, prompt)
    count = one.last_count
    body = count.body if count else None
    same = [
        e
        for e in one.history
        if isinstance(e.body, Read | NoClick | Gauged)
        and e.body.phase != "trial"
        and isinstance(body, Read | NoClick | Gauged)
        and e.body.pushrod == body.pushrod
        and not (isinstance(e.body, Gauged) and e.body.verdict == "inside")
    ]
    if len(same) < 2:
        return Sensed("Seat and lash look right, but once more to be sure.", "1")
    found = proposal(scene, one, count)
    if isinstance(body, Gauged) and body.what == "gap":
        found = gap_proposal(scene, one, body)
    if found is not None and prompt.option("2"):
        length = quantities.show_length(found[0], "in")
        return Sensed(f"The same again. A {length} pushrod is on the bench.", "2", (length,))
    if prompt.option("4"):
        return Sensed("Nothing sold serves.", "4", (NAME, "nothing sold serves"))
    return Sensed("It has to wait.", "3")


def _feel(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    build = scene.build
    places = [e.body.at_deg for e in scene.state.entries if isinstance(e.body, Crank)]
    assert prompt.valve is not None
    assert build.cam is not None
    at = places[-1] if places else 0.0
    up = lift_mm(build.engine, build.cam, prompt.valve, at) > FELT_UP_MM
    if up:
        return Sensed(f"{prompt.valve} stands up.", "u")
    return Sensed(f"{prompt.valve} is down.", "d")


def _fit_trial(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    length = prompt.suggested
    return Sensed(f"The caliper says {length}.", length)


def _receive(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    assert prompt.valve is not None
    ordered = quantities.length_mm(ordered_lengths(scene)[prompt.valve])
    chance = random.Random(f"received {truth.seed} {prompt.valve}")
    length = quantities.show_length(ordered + chance.uniform(-0.04, 0.04), "in")
    return Sensed(f"The caliper says {length}.", length)


def _sign(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    return Sensed("All of it is done.", "s", (NAME,))


def _second_person(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    other = OTHERS[1] if same_person(scene.state.by, OTHERS[0]) else OTHERS[0]
    return Sensed(f"{other} comes over.", "o", (other,))


def _plain(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    """Steps and guards: as told, but for a pushrod that stands beside its cup."""
    if prompt.ask is Ask.NOTE:
        if prompt.option("s") is None:
            return Sensed("All as told so far.", "as the entries say")
        return Sensed("Nothing to add.", "s", ("nothing to add",))
    if prompt.ask is Ask.READING and prompt.records in _WHEEL:
        return Sensed(f"The wheel reads {_WHEEL[prompt.records]}.", _WHEEL[prompt.records])
    if prompt.valve and _beside_its_cup(scene, prompt, truth):
        return Sensed(f"{prompt.valve}'s pushrod stands high and won't spin.", "n")
    if prompt.valve and _tight(scene, prompt, truth):
        return Sensed(f"{prompt.valve}'s pushrod goes tight on the way down.", "n")
    option = prompt.options[0]
    return Sensed(f"{option.label[:1].upper()}{option.label[1:]}.", option.key)


def _tight(scene: Scene, prompt: Prompt, truth: Truth) -> bool:
    """Whether a pushrod too long for the solid checking lifter is going in."""
    if prompt.phase != "trial" or prompt.records or prompt.option("n") is None:
        return False
    lash = lash_checked_mm(scene, valve_state(scene, prompt), truth)
    return lash is not None and lash <= TIGHT_MM


def _beside_its_cup(scene: Scene, prompt: Prompt, truth: Truth) -> bool:
    one = valve_state(scene, prompt)
    planted = truth.planted.get(one.valve) is EngineFault.NOT_SEATED
    asked_for_seat = prompt.option("n") is not None
    seen = any(isinstance(e.body, NotYet) for e in one.history)
    return planted and asked_for_seat and not seen


_WHEEL = {"wheel_first": "31°", "wheel_second": "334°", "tape_between": "3.500 in"}
"""A piston stop met on both sides; the wheel's own zero is a little off."""

_SPECIAL = {
    OUTSIDE: _outside,
    FEEL: _feel,
    FIT_TRIAL: _fit_trial,
    RECEIVE: _receive,
    ANOTHER: _receive,
    SIGN: _sign,
    SECOND_PERSON: _second_person,
}
