"""What hands and eyes report at a prompt, worked out from the virtual engine's truth."""

import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from heelwise.documents import entries as e
from heelwise.documents import quantities
from heelwise.rehearsal.engine import CUP_MM, ZERO_LASH_MM, Truth
from heelwise.rehearsal.scenario import EngineFault, HandSlip
from heelwise.valvetrain.engine import Valve, ValveKind
from heelwise.walk.buying import ANOTHER, RECEIVE, ordered_lengths
from heelwise.walk.counting import NO_CLICK, proposal
from heelwise.walk.finding import FEEL
from heelwise.walk.limits import gauge_limits
from heelwise.walk.prompts import Ask, Prompt
from heelwise.walk.prove import SECOND_PERSON, SIGN
from heelwise.walk.scene import Scene
from heelwise.walk.state import ValveState, same_person
from heelwise.walk.trials import FIT_TRIAL
from heelwise.walk.valve_steps import OUTSIDE, UNLOAD
from heelwise.wording import show_turns

FELT_UP_MM, FELT_DOWN_MM = 0.4, 0.06  # lift that a finger is sure of, and takes for none
NOT_BLED_MM = 0.9  # how far a plunger that was not bled down is under its retainer
UP_THE_LOBE_MM = 0.56  # lift under a lifter whose crank had crept
SEATING = timedelta(seconds=20)  # what seating a pushrod and finding zero lash take
SHIFT_MM = 0.10
SHORTER_MM = 0.75
THICKEST_GAUGE_MM = 1.5
TIGHT_MM = 0.08  # lash under which the hand calls a pushrod tight and takes a shorter one

MISCOUNTS: Mapping[HandSlip | None, float] = {
    HandSlip.HALF_TURN_MORE: 0.5,
    HandSlip.HALF_TURN_FEWER: -0.5,
    HandSlip.EIGHTH_MISREAD: 0.125,
}
"""Turns that a slip adds to a count."""

WHEEL = {"wheel_first": "31°", "wheel_second": "334°", "tape_between": "3.500 in"}
"""A piston stop met on both sides; the wheel's own zero is a little off."""

IN_PROOF: Mapping[EngineFault | None, tuple[str, str]] = {
    EngineFault.BOLT_MOVES: ("moved", "The bolt moves a fifth of a turn before it clicks."),
    EngineFault.UNEVEN: ("moved", "One bolt of the stand moves before it clicks."),
    EngineFault.LOCK_SLIPS: ("slipped", "The lock is held, and the nut turns all the same."),
    EngineFault.PLAY_LEFT: ("play", "There is play at the rocker."),
}

NAME = "A. Rehearser"
OTHERS = ("BR", "CR")
"""Initials of the second person, and of a third where the second made the first proof."""


@dataclass(frozen=True)
class Sensed:
    """What is seen and felt, and the answer it leads to."""

    report: str
    answer: str
    texts: tuple[str, ...] = ()


def sense(scene: Scene, prompt: Prompt, truth: Truth) -> Sensed:
    """Look, feel and count in the virtual engine, its state replayed from the record's entries."""
    by = _ANSWERS.get(prompt.records) or _ANSWERS.get(prompt.id) or _Hands.plain
    hands, own = _Hands(scene, prompt, truth), prompt.id.startswith("walk/")
    seats = prompt.records == "count" or (by is _Hands.plain and not own)
    seats = seats and prompt.valve is not None and prompt.option("n") is not None
    if seats and hands.first(EngineFault.NOT_SEATED, e.NotYet):
        return Sensed(f"{prompt.valve}'s pushrod stands high and won't spin.", "n")
    return by(hands)


class _Hands:
    def __init__(self, scene: Scene, prompt: Prompt, truth: Truth) -> None:
        self.scene, self.prompt, self.truth = scene, prompt, truth

    @property
    def valve(self) -> ValveState:
        assert self.prompt.valve is not None
        return self.scene.state.valves[self.prompt.valve]

    def has(self, fault: EngineFault) -> bool:
        return self.truth.planted.get(self.valve.valve) is fault

    def seen(self, *kinds: type) -> list[Any]:
        """What entries of some kinds in the valve's history hold, so that a fault has shown."""
        return [each.body for each in self.valve.history if isinstance(each.body, kinds)]

    def first(self, fault: EngineFault, *kinds: type) -> bool:
        """Whether a fault is there and has not shown yet."""
        return self.has(fault) and not self.seen(*kinds)

    def chosen(self, report: str, value: str, valve: Valve | None = None) -> Sensed:
        """Answer by the step's option that stands for a value, for one valve of several."""
        step = self.scene.build.procedure.step(self.prompt.id)
        assert step is not None
        key = next(option.key for option in step.options if option.value == value)
        option = self.prompt.option(key)
        texts = (str(valve),) if option and option.wants else ()
        return Sensed(f"{valve}: {report[0].lower()}{report[1:]}" if texts else report, key, texts)

    def shown(self, mm: float) -> str:
        """A length as a gauge or caliper of this shop shows it: in inches, or in mm."""
        metric = "mm" in self.scene.build.set_length(next(iter(self.scene.state.valves)))
        return quantities.show_length(mm, "mm" if metric else "in")

    def measured(self, mm: float, report: str = "It measures {}.") -> Sensed:
        return Sensed(report.format(self.shown(mm)), self.shown(mm))

    # ------------------------------------------------------------ what is counted

    def count(self) -> Sensed:
        scene, state = self.scene, self.valve
        if not scene.build.method.clicks:
            given, many = (
                show_turns(scene.wanted_turns),
                "turn" if scene.wanted_turns <= 1 else "turns",
            )
            return Sensed(f"From zero lash you give {given} {many}.", given)
        slip = None if self.seen(e.Read, e.NoClick) else self.truth.slips.get(state.valve)
        valve = state.valve
        if slip is HandSlip.WRONG_VALVE:  # the other of the same cylinder
            valve = next(Valve(valve.cylinder, k) for k in ValveKind if k is not valve.kind)
        pushrod, at = self.true_length(), scene.crank_deg
        lift = 0.0 if at is None else self.truth.lift_mm(state.valve, at)
        if self.has(EngineFault.UP_THE_LOBE) and self.prompt.phase == "fit":
            lift += UP_THE_LOBE_MM
        exact = self.truth.turns(valve, pushrod, lift, self.down_at_zero_lash(pushrod))
        exact += MISCOUNTS.get(slip, 0.0) if exact > 0 else 0.0
        if exact >= scene.never_past:
            report = f"You reach {show_turns(scene.never_past)} turns. No click."
            return Sensed(report, NO_CLICK)
        if exact <= 0:
            return Sensed("It clicks with play still in the pushrod: 0 turns.", "0")
        eighths = max(1, round(exact * 8))
        typed, many = show_turns(eighths / 8), "turn" if eighths <= 8 else "turns"
        return Sensed(f"From zero lash you count {typed} {many}, then the wrench clicks.", typed)

    def true_length(self) -> float:
        fitted, measured = self.valve.fitted, self.scene.pushrod_text(self.valve)
        if self.prompt.phase == "trial" and fitted is not None:
            measured = fitted.body.pushrod
        return self.truth.true_length_mm(self.valve.valve, quantities.length_mm(measured))

    def down_at_zero_lash(self, pushrod: float) -> float:
        """How far the plunger is down where the hand calls it zero lash: by feel, and its oil."""
        state, truth = self.valve, self.truth
        chance = random.Random(f"{truth.seed} {state.valve} {len(state.history)}")
        down = chance.gauss(0.0, ZERO_LASH_MM)
        if self.first(EngineFault.NOT_BLED, e.Read, e.NoClick):
            return down + NOT_BLED_MM
        if state.tightened and state.loosened is not None:
            unloaded = self.scene.state.entries[-1].at - state.loosened.at + SEATING
            down += truth.still_down_mm(truth.preload_mm(state.valve, pushrod), unloaded)
        return down

    # ------------------------------------------------------------- what is gauged

    def gauged(self, mm: float) -> Sensed:
        return self.measured(mm, "A gauge of {} passes with a light drag.")

    def gauge(self) -> Sensed:
        if self.scene.build.method.reads == "lash":
            return self.gauged(gauge_limits(self.scene, self.valve.valve).wanted_mm)
        gap = self.truth.rockers[self.valve.valve].gap(self.true_length(), -self.truth.plunger_mm)
        # Not bled down, a plunger is not pressed to its end.
        share = 0.5 if self.first(EngineFault.NOT_BLED, e.Gauged) else 1.0
        return self.gauged(max(gap, 0.0) * share)

    def recheck(self) -> Sensed:
        lash = gauge_limits(self.scene, self.valve.valve).wanted_mm
        seen = any(gauged.body.locked for gauged in self.valve.gauged)
        return self.gauged(lash + SHIFT_MM if self.has(EngineFault.SHIFTS) and not seen else lash)

    def checked(self) -> Sensed:
        valve, truth = self.valve.valve, self.truth
        chance = random.Random(f"checked {truth.seed} {valve}")
        down = NOT_BLED_MM if self.has(EngineFault.NOT_BLED) else 0.0
        length = truth.rockers[valve].touching - down + chance.gauss(0.0, ZERO_LASH_MM)
        return self.measured(length)

    def pattern_length(self) -> Sensed:
        """The first length tried is too long for its mark, the next is right."""
        right = quantities.length_mm(self.scene.build.set_length(self.valve.valve))
        return self.measured(right if self.seen(e.BackedOff) else right + SHORTER_MM)

    def pattern(self) -> Sensed:
        """Nothing of the virtual engine depends on where a tip rolls: the set's length is right."""
        if not self.seen(e.BackedOff):
            return self.chosen("The mark stands toward the exhaust side.", "exhaust side")
        return self.chosen("The mark is narrow and in the middle.", "middle")

    def checking_length(self) -> Sensed:
        """The setup's pushrod first, then shorter or longer ones, until one leaves a lash."""
        valve = self.valve.valve
        last = self.scene.recorded("checking_length", valve)
        if last is None:
            return self.measured(quantities.length_mm(self.scene.build.set_length(valve)))
        length = quantities.length_mm(last.body.reading)
        loose = self._lash_with(length) > THICKEST_GAUGE_MM
        return self.measured(length + (SHORTER_MM if loose else -SHORTER_MM))

    def _lash_with(self, length: float) -> float:
        valve, above = self.valve.valve, self.truth.cup_solid_mm - CUP_MM
        return self.truth.rockers[valve].gap(self.truth.true_length_mm(valve, length), above)

    def lash_over_solid(self, after: int = 0) -> float | None:
        """The lash on the solid checking lifter; None before a pushrod is in (since an entry)."""
        measured = self.scene.recorded("checking_length", self.valve.valve)
        if measured is None or measured.number <= max(self.valve.touched, after - 1):
            return None
        return self._lash_with(quantities.length_mm(measured.body.reading))

    def lash_checked(self) -> Sensed:
        lash = self.lash_over_solid()
        assert lash is not None
        if lash > THICKEST_GAUGE_MM:
            return Sensed("No gauge is thick enough.", "p")
        return self.gauged(lash) if lash > TIGHT_MM else Sensed("No gauge passes.", "p")

    def lifter_back(self) -> Sensed:
        steps = [body.step for body in self.seen(e.NotYet)]
        if self.has(EngineFault.SOLID_LEFT_IN) and self.prompt.id not in steps:
            return Sensed("The solid lifter is still in its bore.", "n")
        return Sensed("The solid lifter is in the hand, the hydraulic one in its bore.", "y")

    def seated(self) -> Sensed:
        typed = f"{round(self.truth.seat_turns * 72) * 5}°"
        return Sensed(f"From touching to the click the degree wheel turns {typed}.", typed)

    # ------------------------------------------------------------- what is proved

    def play(self) -> Sensed:
        steps = [body.step for body in self.seen(e.Answered)]
        if self.has(EngineFault.SHIFTS) and self.prompt.id not in steps:
            return self.chosen("The nut came around with its lock: there is play.", "found")
        return self.chosen("No play.", "none")

    def proof(self) -> Sensed:
        truth, method = self.truth, self.scene.build.method
        for valve in self.prompt.valves:
            history = self.scene.state.valves[valve].history
            proved = any(isinstance(entry.body, e.Proved) for entry in history)
            wrong = IN_PROOF.get(truth.planted.get(valve))
            counts = sum(isinstance(entry.body, e.Read | e.NoClick) for entry in history)
            if truth.slips.get(valve) is HandSlip.WRONG_VALVE and counts == 1:
                wrong = IN_PROOF[EngineFault.BOLT_MOVES]  # only its neighbor was tightened
            if method.reads == "lash" and truth.planted.get(valve) is EngineFault.UP_THE_LOBE:
                wrong = ("loose", "Here the thick gauge passes too.")
            if wrong and not proved:
                return self.chosen(wrong[1], wrong[0], valve)
            if method.clicks and random.Random(f"proof {truth.seed} {valve}").random() < 0.06:
                report = "It settles by less than a sixteenth, then clicks."
                return self.chosen(report, "settled", valve)
        if method.reads == "lash":
            return self.chosen("The thin gauge goes, the thick one does not.", "held")
        if "held" in method.proofs:
            return self.chosen("The nut stands still, and there is no play.", "held")
        return self.chosen("It clicks, and the bolt stands still.", "clicked")

    # ---------------------------------------------------- what the walk itself asks

    def outside(self) -> Sensed:
        """Count again once, then the pushrod worked out; accept only when nothing serves."""
        count = self.valve.last_count
        assert count is not None
        bodies = self.seen(e.Read, e.NoClick, e.Gauged)
        fitted = [b for b in bodies if b.phase != "trial" and b.pushrod == count.body.pushrod]
        if sum(not isinstance(b, e.Gauged) or b.verdict != "inside" for b in fitted) < 2:
            return Sensed("Seat and lash look right, but once more to be sure.", "1")
        found = proposal(self.scene, count.body) if self.prompt.option("2") else None
        if found is not None:
            length = self.shown(found[0])
            return Sensed(f"The same again. A {length} pushrod is on the bench.", "2", (length,))
        if self.prompt.option("4"):
            return Sensed("Nothing sold serves.", "4", (NAME, "nothing sold serves"))
        return Sensed("It has to wait.", "3")

    def feel(self) -> Sensed:
        name = self.valve.valve
        cranks = [c for entry in self.scene.state.entries if (c := entry.when(e.Crank))]
        lift = self.truth.lift_mm(name, cranks[-1].body.at_deg if cranks else 0.0)
        if lift > FELT_UP_MM:
            return Sensed(f"{name} stands up.", "u")
        if lift > FELT_DOWN_MM:
            return Sensed(f"{name} is hardly up, if at all.", "c")
        return Sensed(f"{name} is down.", "d")

    def receive(self) -> Sensed:
        """The length ordered, within what is sold as that; one that was swapped with another."""
        if not self.prompt.reading:
            return self.plain()
        valves, ordered = self.prompt.valves, ordered_lengths(self.scene)
        for name in valves:
            first = self.scene.state.valves[name].received is None
            if first and self.truth.slips.get(name) is HandSlip.SWAPPED:
                other = next((t for t in ordered.values() if t != ordered[name]), ordered[name])
                return Sensed(f"{name}'s measures {other}.", f"{name} {other}")
        chance = random.Random(f"received {self.truth.seed} {valves[0]}")
        length = quantities.length_mm(ordered[valves[0]])
        return self.measured(length + chance.uniform(-0.04, 0.04))

    def second_person(self) -> Sensed:
        other = OTHERS[1] if same_person(self.scene.state.by, OTHERS[0]) else OTHERS[0]
        return Sensed(f"{other} comes over.", "o", (other,))

    def plain(self) -> Sensed:
        """Steps and guards: as told, but for a pushrod that stands beside its cup."""
        prompt = self.prompt
        if prompt.ask is Ask.NOTE:
            skip = prompt.option("s")
            if skip is None:
                return Sensed("All as told so far.", "as the entries say")
            return Sensed("Nothing to add.", "s", tuple("nothing to add" for _ in skip.wants))
        if prompt.ask is Ask.READING and prompt.records in WHEEL:
            return Sensed(f"The wheel reads {WHEEL[prompt.records]}.", WHEEL[prompt.records])
        if prompt.valve and prompt.phase == "trial" and not prompt.records and prompt.option("n"):
            lash = self.lash_over_solid(self.scene.state.resumed_at)
            if lash is not None and lash <= TIGHT_MM:
                return Sensed(f"{prompt.valve}'s pushrod goes tight on the way down.", "n")
        if not prompt.options:
            return Sensed(f"It reads {prompt.suggested}.", prompt.suggested)
        option = prompt.options[0]
        texts = tuple("as it was found" for _ in option.wants)
        return Sensed(f"{option.label[:1].upper()}{option.label[1:]}.", option.key, texts)


_ANSWERS: Mapping[str, Callable[[_Hands], Sensed]] = {
    "count": _Hands.count,
    "gauge": _Hands.gauge,
    "recheck": _Hands.recheck,
    "checked": _Hands.checked,
    "seat_turns": _Hands.seated,
    "hole_depth": lambda hands: hands.measured(31.0),
    "bolt_reach": lambda hands: hands.measured(24.0),
    "cup_hydraulic": lambda hands: hands.measured(CUP_MM),
    "cup_solid": lambda hands: hands.measured(hands.truth.cup_solid_mm),
    "pattern_length": _Hands.pattern_length,
    "pattern": _Hands.pattern,
    "checking_length": _Hands.checking_length,
    "lash_checked": _Hands.lash_checked,
    "lifter_back": _Hands.lifter_back,
    "play": _Hands.play,
    "proof": _Hands.proof,
    "lifter_condition": lambda hands: hands.chosen(
        f"The lifters are {hands.truth.lifters}.", hands.truth.lifters
    ),
    OUTSIDE: _Hands.outside,
    FEEL: _Hands.feel,
    FIT_TRIAL: lambda hands: (
        Sensed("The one measured before.", "m")
        if hands.prompt.option("m")
        else Sensed(f"It measures {hands.prompt.suggested}.", hands.prompt.suggested)
    ),
    UNLOAD: lambda hands: Sensed("Its plunger is up.", "y"),
    RECEIVE: _Hands.receive,
    ANOTHER: _Hands.receive,
    SIGN: lambda hands: Sensed("All of it is done.", "s", (NAME,)),
    SECOND_PERSON: _Hands.second_person,
}
