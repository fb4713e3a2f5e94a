"""What hands and eyes report at a prompt, worked out from the virtual engine's truth."""

from __future__ import annotations

import random

from heelwise.documents import quantities
from heelwise.documents.entries import Crank, Gauged, NoClick, NotYet, Read
from heelwise.rehearsal.engine import Truth
from heelwise.rehearsal.faults import EngineFault, HandSlip
from heelwise.rehearsal.readings import (
    READINGS,
    TIGHT_MM,
    Sensed,
    lash_checked_mm,
    length_shown,
    valve_state,
)
from heelwise.walk.buying import ANOTHER, RECEIVE, ordered_lengths
from heelwise.walk.counting import proposal
from heelwise.walk.finding import FEEL
from heelwise.walk.gauging import gap_proposal
from heelwise.walk.outside import OUTSIDE
from heelwise.walk.prompts import Ask, Prompt
from heelwise.walk.prove import SECOND_PERSON
from heelwise.walk.scene import Scene
from heelwise.walk.sign_off import SIGN
from heelwise.walk.trials import FIT_TRIAL
from heelwise.walk.valve_state import same_person

__all__ = ["Sensed", "sense"]

FELT_UP_MM, FELT_DOWN_MM = 0.4, 0.06
"""Lift that a finger is sure of, and lift it takes for none."""

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
        length = length_shown(scene, found[0])
        return Sensed(f"The same again. A {length} pushrod is on the bench.", "2", (length,))
    if prompt.option("4"):
        return Sensed("Nothing sold serves.", "4", (NAME, "nothing sold serves"))
    return Sensed("It has to wait.", "3")


def _feel(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    assert prompt.valve is not None
    places = [e.body.at_deg for e in scene.state.entries if isinstance(e.body, Crank)]
    lift = truth.lift_mm(prompt.valve, places[-1] if places else 0.0)
    if lift > FELT_UP_MM:
        return Sensed(f"{prompt.valve} stands up.", "u")
    if lift > FELT_DOWN_MM:
        return Sensed(f"{prompt.valve} is hardly up, if at all.", "c")
    return Sensed(f"{prompt.valve} is down.", "d")


def _fit_trial(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    length = prompt.suggested
    return Sensed(f"The caliper says {length}.", length)


def _receive(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    assert prompt.valve is not None
    lengths = {v: quantities.length_mm(text) for v, text in ordered_lengths(scene).items()}
    ordered = lengths[prompt.valve]
    chance = random.Random(f"received {truth.seed} {prompt.valve}")
    measured = ordered + chance.uniform(-0.04, 0.04)
    swapped = truth.slips.get(prompt.valve) is HandSlip.SWAPPED
    if swapped and valve_state(scene, prompt).received is None:
        measured = next((mm for mm in lengths.values() if mm != ordered), ordered)
    length = length_shown(scene, measured)
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
    if not prompt.options:
        return Sensed(f"It reads {prompt.suggested}.", prompt.suggested)
    option = prompt.options[0]
    texts = tuple("as it was found" for _ in option.wants)
    return Sensed(f"{option.label[:1].upper()}{option.label[1:]}.", option.key, texts)


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
