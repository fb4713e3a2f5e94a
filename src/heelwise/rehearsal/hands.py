"""What hands and eyes would report at a prompt, worked out from the virtual engine's truth."""

from __future__ import annotations

import random
from dataclasses import dataclass

from heelwise.documents import quantities
from heelwise.documents.entries import Ceiling, Crank, NotYet, Proved, Read
from heelwise.rehearsal.lobe import lift_mm
from heelwise.rehearsal.planting import Fault
from heelwise.rehearsal.truth import UP_THE_LOBE_MM, Truth
from heelwise.walk.buying import ANOTHER, RECEIVE, ordered_lengths
from heelwise.walk.counting import NO_CLICK, proposal
from heelwise.walk.finding import FEEL
from heelwise.walk.outside import OUTSIDE
from heelwise.walk.prompts import Ask, Prompt
from heelwise.walk.scene import Scene
from heelwise.walk.sign_off import SIGN
from heelwise.walk.standing import ValveStanding
from heelwise.walk.trial import FIT_TRIAL

FELT_UP_MM = 0.3
"""Lift a finger can tell from none."""

NAME = "A. Rehearser"


@dataclass(frozen=True)
class Sensed:
    """What is seen and felt, and the answer it leads to."""

    report: str
    answer: str
    texts: tuple[str, ...] = ()


def sense(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    """Look, feel and count in the virtual engine for one prompt.

    The engine's state is replayed from the record's entries: which pushrod is in,
    where the crank stands, what was done to the bolt before.
    """
    if prompt.fills == "count":
        return _count(scene, prompt, truth)
    if prompt.fills == "proof":
        return _proof(scene, prompt, truth)
    if prompt.fills == "lifter_condition":
        return _condition(prompt, truth)
    special = _SPECIAL.get(prompt.id)
    if special is not None:
        return special(scene, prompt, truth)
    return _plain(scene, prompt, truth)


def _one(scene: Scene, prompt: Prompt) -> ValveStanding:
    assert prompt.valve is not None
    return scene.standing.valve(prompt.valve)


def _count(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    one = _one(scene, prompt)
    pushrod = quantities.length_mm(_fitted(scene, prompt, one))
    lobe = _lobe(scene, prompt, truth, one)
    exact = truth.turns(one.valve, pushrod, lobe)
    if exact >= scene.never_past:
        said = f"You reach {quantities.show_turns(scene.never_past)} turns. No click."
        return Sensed(said, NO_CLICK)
    counted = _in_eighths(exact, truth.seed, one)
    typed = quantities.show_turns(counted)
    if exact <= 0:
        return Sensed("It clicks with play still in the pushrod: 0 turns.", "0")
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


def _proof(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    one = _one(scene, prompt)
    before = [e for e in one.history if isinstance(e.body, Proved)]
    if truth.planted.get(one.valve) is Fault.BOLT_MOVES and not before:
        return Sensed("The bolt goes round a fifth of a turn before it clicks.", "3")
    chance = random.Random(f"proof {truth.seed} {one.valve}")
    if chance.random() < 0.06:
        return Sensed("It settles by less than a sixteenth, then clicks.", "2")
    return Sensed("It clicks, and the bolt stands still.", "1")


def _condition(prompt: Prompt, truth: Truth) -> Sensed:
    order = {"dry": "1", "soaked": "2", "pumped": "3", "used": "4"}
    return Sensed(f"The lifters are {truth.lifters}.", order[truth.lifters])


def _outside(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    """Count again once, then the pushrod worked out; accept only when nothing serves."""
    one = _one(scene, prompt)
    count = one.last_count
    body = count.body if count else None
    same = [
        e
        for e in one.history
        if isinstance(e.body, Read | Ceiling)
        and e.body.phase != "trial"
        and isinstance(body, Read | Ceiling)
        and e.body.pushrod == body.pushrod
    ]
    if len(same) < 2:
        return Sensed("Seat and lash look right, but once more to be sure.", "1")
    found = proposal(scene, one, body)
    if found is not None:
        length = quantities.show_length(found[0], "in")
        return Sensed(f"The same again. A {length} pushrod is on the bench.", "2", (length,))
    if prompt.option("4"):
        return Sensed("Nothing sold serves.", "4", (NAME, "nothing sold serves"))
    return Sensed("It has to wait.", "3")


def _feel(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    build = scene.build
    places = [e.body.at_deg for e in scene.standing.entries if isinstance(e.body, Crank)]
    assert prompt.valve is not None
    assert build.cam is not None
    at = places[-1] if places else 0.0
    up = lift_mm(build.engine, build.cam, prompt.valve, at) > FELT_UP_MM
    if up:
        return Sensed(f"{prompt.valve} stands up.", "1")
    return Sensed(f"{prompt.valve} is down.", "2")


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


def _plain(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    """Steps and guards: as told, but for a pushrod that stands beside its cup."""
    if prompt.ask is Ask.NOTE:
        return Sensed("Nothing to add.", "s", ("nothing to add",))
    if prompt.ask is Ask.READING and prompt.fills in _WHEEL:
        return Sensed(f"The wheel reads {_WHEEL[prompt.fills]}.", _WHEEL[prompt.fills])
    if prompt.valve and _beside_its_cup(scene, prompt, truth):
        return Sensed(f"{prompt.valve}'s pushrod stands high and won't spin.", "n")
    option = prompt.options[0]
    return Sensed(f"{option.label[:1].upper()}{option.label[1:]}.", option.key)


def _beside_its_cup(scene: Scene, prompt: Prompt, truth: Truth) -> bool:
    one = _one(scene, prompt)
    planted = truth.planted.get(one.valve) is Fault.NOT_SEATED
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
}
