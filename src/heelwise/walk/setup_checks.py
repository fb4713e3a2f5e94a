"""What of a setup speaks against walking it: figures that leave no way, a wrench that won't do."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from heelwise.documents.faults import Fault, Faulty
from heelwise.documents.setup import Setup
from heelwise.valvetrain.engine import Valve, ValveKind
from heelwise.valvetrain.torque import Calibration, RangeCheck, calibration, check_range
from heelwise.valvetrain.window import out_of_reach, out_of_reach_text
from heelwise.walk.build import Build
from heelwise.walk.limits import SHEET, gauge_limits
from heelwise.walk.prompts import Fact, Refused
from heelwise.walk.scene import Scene
from heelwise.walk.state import fold

ADAPTER = "worked out: T·L/(L+E), the adapter in line"
WRENCH_SOURCE = "the setup's wrench, against ISO 6789-1:2017 as makers cite it"


def unwalkable(build: Build) -> tuple[Fault, ...]:
    """Find what would stop the walk later; none where it can begin.

    The setup's procedure must serve its mount and lifter.
    """
    try:
        build.setup.require(*build.procedure.method.needs_of_setup)
    except Faulty as faulty:
        return tuple(faulty.faults)
    scene = Scene(build, fold(build.engine.valves, ()))
    return tuple(dict.fromkeys(_faults(scene)))


def _faults(scene: Scene) -> Iterator[Fault]:
    reads = scene.build.method.reads
    by_kind = {valve.kind: valve for valve in reversed(scene.build.engine.valves)}
    yield from _fault("cam", scene, "plan", "a shorter cam, or known = false")
    if reads == "turns":
        yield from _fault("lifter.travel_per_turn", scene, "travel", "give it, or rocker.thread")
        window = "least_turns and most_turns, or the preload"
        yield from _fault("lifter", scene, "window", window)
        yield from _out_of_reach(scene)
        return
    for kind in ValveKind:
        yield from _not_gauged(scene, by_kind[kind], "lash" if reads == "lash" else "lifter")


def _fault(where: str, scene: Scene, figure: str, instead: str) -> Iterator[Fault]:
    """A fault where a figure of the scene can't be worked out."""
    try:
        getattr(scene, figure)
    except ValueError as error:
        yield Fault(where, str(error), instead)


def _not_gauged(scene: Scene, valve: Valve, where: str) -> Iterator[Fault]:
    try:
        gauge_limits(scene, valve)
    except ValueError as error:
        yield Fault(where, str(error), "check its figures")


def _out_of_reach(scene: Scene) -> Iterator[Fault]:
    try:
        window, ceiling = scene.window, scene.ceiling
    except ValueError:
        return  # named already
    if out_of_reach(window, ceiling):
        instead = "the plunger's whole travel from the sheet; check the window and the thread"
        yield Fault("lifter.plunger_travel", out_of_reach_text(window, ceiling), instead)


@dataclass(frozen=True)
class WrenchCheck:
    """A setup's wrench against its torque: range and age, None for what can't be judged.

    `ahead`: its calibration is dated after the day of use.
    """

    reach: RangeCheck | None
    age: Calibration | None
    ahead: bool = False

    @property
    def notes(self) -> tuple[str, ...]:
        """What there is to say of both."""
        reach = self.reach.notes if self.reach else ()
        if self.reach is not None and not reach:
            reach = ("its range holds the setting",)
        return (*reach, *((self.age.text,) if self.age else ()))

    @property
    def against(self) -> str:
        """Why it is not to be used, in words; "" where nothing speaks against it."""
        if self.reach is not None and not self.reach.usable:
            return self.reach.notes[0]
        return self.age.text if self.age is not None and (self.age.due or self.ahead) else ""


def judge_wrench(setup: Setup, today: date) -> WrenchCheck:
    """Judge the setup's wrench on the day it is used."""
    table, setting = setup.wrench, setup.setting_nm()
    if table is None:
        return WrenchCheck(None, None)
    wrench = table.make()
    ranged = table.least is not None or table.most is not None
    reach = check_range(setting, wrench) if ranged and setting is not None else None
    ahead = table.calibrated is not None and table.calibrated > today
    return WrenchCheck(reach, calibration(wrench, today), ahead)


def wrench_facts(scene: Scene) -> tuple[Fact, ...]:
    """The wrench in words, for the step that asks after it."""
    table, last = scene.build.setup.wrench, scene.state.last
    if table is None:
        return ()
    notes = judge_wrench(scene.build.setup, last.at.date() if last else date.min).notes
    return (
        Fact(f"wrench: {table.name}", "the setup"),
        *(Fact(note, WRENCH_SOURCE) for note in notes),
    )


def refuse_wrench(scene: Scene, today: date) -> None:
    """Refuse a wrench that can't be set to the torque, or whose calibration is due.

    Raises:
        Refused: With why.
    """
    against = judge_wrench(scene.build.setup, today).against
    if against:
        instead = "another wrench: s skips this, with a reason that names the one used"
        raise Refused(against.rstrip("."), instead)


def torque_facts(build: Build) -> tuple[Fact, ...]:
    """The torque at the bolt, and what to set on the wrench where an adapter makes it another."""
    facts = [Fact(f"torque {build.torque}", SHEET)]
    if build.setting != build.torque:
        facts.append(Fact(f"set {build.setting} on the wrench", ADAPTER))
    return tuple(facts)
