"""The torque wrench: what to set on it, and whether its range and age will do."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from heelwise.documents.setup import Setup
from heelwise.valvetrain.torque import Calibration, RangeCheck, calibration, check_range
from heelwise.walk.build import Build
from heelwise.walk.prompts import Fact, Refused
from heelwise.walk.scene import Scene

SHEET = "the setup: the maker's sheet"
ADAPTER = "worked out: T·L/(L+E), the adapter in line"


@dataclass(frozen=True)
class Judged:
    """A setup's wrench against its torque: range and age, None for what can't be told.

    `ahead`: its calibration is dated after the day of use.
    """

    reach: RangeCheck | None
    age: Calibration | None
    ahead: bool = False

    @property
    def notes(self) -> tuple[str, ...]:
        """What is to be said of both."""
        told = self.reach.notes if self.reach else ()
        if self.reach is not None and not told:
            told = ("its range holds the setting",)
        return (*told, *((self.age.said,) if self.age else ()))

    @property
    def against(self) -> str:
        """Why it is not to be used, in words; "" where nothing speaks against it."""
        if self.reach is not None and not self.reach.usable:
            return self.reach.notes[0]
        return self.age.said if self.age is not None and (self.age.due or self.ahead) else ""


def judge_wrench(setup: Setup, today: date) -> Judged:
    """Judge the setup's wrench.

    Args:
        setup: The setup.
        today: The day of use.

    Returns:
        Range (None without a torque or a range) and age (None without a wrench).
    """
    table, setting = setup.wrench, setup.setting_nm()
    if table is None:
        return Judged(None, None)
    wrench = table.make()
    ranged = table.least is not None or table.most is not None
    reach = check_range(setting, wrench) if ranged and setting is not None else None
    ahead = table.calibrated is not None and table.calibrated > today
    return Judged(reach, calibration(wrench, today), ahead)


def wrench_facts(scene: Scene) -> tuple[Fact, ...]:
    """The wrench in words, for the step that asks after it."""
    table = scene.build.setup.wrench
    if table is None:
        return ()
    notes = judge_wrench(scene.build.setup, _today(scene)).notes
    source = "the setup's wrench, against ISO 6789-1:2017 as makers cite it"
    return (Fact(f"wrench: {table.name}", "the setup"), *(Fact(note, source) for note in notes))


def refuse_wrench(scene: Scene, today: date) -> None:
    """Refuse a wrench that can't be set to the torque, or whose calibration is due.

    Raises:
        Refused: With why.
    """
    against = judge_wrench(scene.build.setup, today).against
    if against:
        raise Refused(
            against.rstrip("."),
            "another wrench: s skips this, with a reason that names the one used",
        )


def torque_facts(build: Build) -> tuple[Fact, ...]:
    """The torque at the bolt, and what to set on the wrench where an adapter makes it another."""
    facts = [Fact(f"torque {build.torque}", SHEET)]
    if build.setting != build.torque:
        facts.append(Fact(f"set {build.setting} on the wrench", ADAPTER))
    return tuple(facts)


def _today(scene: Scene) -> date:
    entries = scene.standing.entries
    return entries[-1].at.date() if entries else date.min
