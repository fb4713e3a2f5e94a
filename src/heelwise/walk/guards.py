"""What must be done before the crank moves on: nothing here is passed by Enter alone."""

from __future__ import annotations

from datetime import datetime, timedelta
from math import ceil

from heelwise.documents.entries import BackedOff, Draft, Held, Phase
from heelwise.valvetrain.valves import Valve
from heelwise.walk.prompts import Ask, Fact, Hazard, Option, Prompt, Refused, Taken
from heelwise.walk.scene import Scene
from heelwise.walk.wording import names

BACK_OFF = "walk/back-off"
HOLD = "walk/hold"


def before_turning(scene: Scene, phase: Phase) -> Prompt | None:
    """The guard that still bars the crank from moving, or None when it may.

    Trial pushrods are backed off first; then lifters that were loaded here have
    their time to bleed down.
    """
    trial = trials_off(scene, phase)
    if trial is not None:
        return trial
    waiting = sorted(scene.standing.load_times)
    return _hold(scene, phase, waiting) if waiting else None


def trials_off(scene: Scene, phase: Phase) -> Prompt | None:
    """The prompt that takes the load off trial gear, or None when none is in."""
    trial = sorted(scene.standing.trial_loaded | scene.standing.trial_in)
    return _back_off(scene, phase, trial) if trial else None


def _back_off(scene: Scene, phase: Phase, valves: list[Valve]) -> Prompt:
    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        body = BackedOff(valves=[str(v) for v in valves], why="trial over")
        return Taken((Draft(body, scene.crank_number),))

    return Prompt(
        id=BACK_OFF,
        phase=phase,
        ask=Ask.CHOICE,
        question=_back_off_said(valves),
        why="A trial or checking pushrod may be too long, or bend under a spring. It comes off "
        "before the crank is turned.",
        caution=Hazard(
            "WARNING",
            "A trial pushrod that is too long holds its valve open.",
            "Turned on, the valve meets the piston or the pushrod bends.",
            "Loosen with a plain ratchet, not with the torque wrench.",
        ),
        options=(Option("y", "backed off, pushrods spin freely"),),
        valve=valves[0],
        guarded=True,
        take=take,
    )


def _back_off_said(valves: list[Valve]) -> str:
    if len(valves) == 1:
        return f"Back off the rocker of {valves[0]}, until its pushrod spins freely."
    return f"Back off the rockers of {names(valves)}, until the pushrods spin freely."


def hold_minutes(scene: Scene) -> float:
    """Minutes the lifters need to bleed down, by their condition."""
    by_condition = scene.build.procedure.defaults.hold_minutes
    return by_condition.get(scene.standing.lifters, max(by_condition.values(), default=20.0))


def hold_over(scene: Scene) -> datetime:
    """When the lifters loaded since the last hold have had their time."""
    last = scene.standing.last
    assert last is not None
    # A clock set back must not keep the crank barred for hours.
    latest = min(max(scene.standing.load_times.values()), last.at)
    return latest + timedelta(minutes=hold_minutes(scene))


def _hold(scene: Scene, phase: Phase, valves: list[Valve]) -> Prompt:
    minutes, over = hold_minutes(scene), hold_over(scene)

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        if now < over:
            left = ceil((over - now).total_seconds())
            raise Refused(
                f"the hold has {left // 60} min {left % 60:02d} s to run",
                "leave the crank alone until then",
            )
        held = Held(minutes=minutes, valves=[str(v) for v in valves])
        return Taken((Draft(held, scene.crank_number),))

    close = [v for v in valves if (scene.from_tdc(v) or 0.0) < 20.0]
    caution = Hazard(
        "WARNING",
        "A lifter full of oil holds its valve open until it bleeds down.",
        "Turned too soon, an open valve meets its piston, or a pushrod bends.",
        "Wait. Then turn by hand and slowly.",
    )
    facts = [
        Fact(f"{minutes:g} min for {scene.standing.lifters} lifters", _hold_source(scene)),
        Fact("counted from the last bolt tightened here", "the record's own times"),
    ]
    if close and scene.loaded_lifters_wait:
        facts.append(
            Fact(f"pistons near TDC under {names(close)}", "worked out from the firing order")
        )
    return Prompt(
        id=HOLD,
        phase=phase,
        ask=Ask.CHOICE,
        question=f"Leave the crank alone while {names(valves)} bleed down.",
        why="Then the valves are back on their seats and the crank may turn.",
        caution=caution,
        options=(Option("y", "the time is over, nothing was turned"),),
        facts=tuple(facts),
        guarded=True,
        wait_until=over,
        take=take,
    )


def _hold_source(scene: Scene) -> str:
    return scene.build.procedure.defaults.hold_source or "the procedure"
