"""What `heelwise pushrods` works with: readings of a setup or a record, and what judges them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

from heelwise.documents import quantities
from heelwise.documents.entries import Checked, Read
from heelwise.documents.faults import Fault, Faulty
from heelwise.documents.procedure import Defaults
from heelwise.documents.reading_table import Taken
from heelwise.documents.record_reading import Record
from heelwise.documents.setup import Setup
from heelwise.valvetrain.growth import HotPreload
from heelwise.valvetrain.pushrods import (
    Expectation,
    Order,
    Reading,
    expectation,
    length_sets_preload,
)
from heelwise.valvetrain.repeats import Repeats, repeats
from heelwise.valvetrain.travel import TravelInPlay
from heelwise.valvetrain.valves import Valve
from heelwise.valvetrain.verdict import (
    Ceiling,
    Verdict,
    Window,
    judge,
    never_past,
    out_of_reach,
    out_of_reach_said,
    under_ceiling,
    window_in_turns,
)
from heelwise.walk.build import Build
from heelwise.walk.buying import zero_lash_mm
from heelwise.walk.hot import hot_of
from heelwise.walk.scene import Scene
from heelwise.walk.standing import fold

COUNTED = "counted"
LENGTH_STEP_TURNS = 0.0
"""The resolution of a length at zero lash, in turns: nothing was counted."""


@dataclass(frozen=True)
class Counted:
    """A valve's latest reading: its resolution in turns, whether lash was left, how it was got."""

    reading: Reading
    resolution: float
    lash_left: bool = False
    said: str = COUNTED

    @property
    def counted(self) -> bool:
        """Whether turns were counted, and not a length found that leaves no lash."""
        return self.said == COUNTED


@dataclass(frozen=True)
class Again:
    """Counts of one valve with one pushrod length (mm), put together."""

    first: Reading
    found: Repeats


@dataclass(frozen=True)
class Figures:
    """What the readings of a file are judged by, and the readings themselves."""

    setup: Setup
    readings: tuple[Counted, ...]
    repeated: tuple[Again, ...]
    travel: TravelInPlay
    window: Window
    ceiling: Ceiling
    seat_turns: float
    rule: str

    @cached_property
    def lengths(self) -> tuple[float, ...]:
        """Lengths sold or on hand in mm."""
        return self.setup.lengths()

    @property
    def latest(self) -> list[Reading]:
        """The readings alone."""
        return [each.reading for each in self.readings]

    def verdict(self, one: Counted) -> Verdict:
        """A reading's verdict by the rule in force."""
        return judge(one.reading.turns, self.window, one.resolution, self.rule)

    def hot(self, pushrod_mm: float, turns: float) -> HotPreload | None:
        """A count's preload hot; None where the setup has no [growth]."""
        travel = self.travel.used.mm
        return hot_of(self.setup, self.window, travel, self.seat_turns, pushrod_mm, turns)

    def expected(self, bought: Order) -> list[Expectation]:
        """What each valve should read with the pushrod bought for it, and how surely."""
        to_come = {v: purchase.pushrod_mm for purchase in bought.buy for v in purchase.valves}
        return [
            expectation(
                each.reading,
                to_come[each.reading.valve],
                self.window,
                self.travel.used,
                each.resolution,
            )
            for each in self.readings
            if each.reading.valve in to_come
        ]


def figures_of(document: Record | Setup, file: str) -> Figures:
    """Gather what a file's readings are and what they are judged by.

    Args:
        document: The record or setup.
        file: Its name, for faults.

    Raises:
        Faulty: A table is missing, a figure leaves no window, or on this mount the length
            doesn't set the preload.
    """
    found = _of_record(document) if isinstance(document, Record) else _of_setup(document, file)
    assert found.setup.rocker is not None
    why_not = length_sets_preload(found.setup.rocker.mount)
    if why_not is not None:
        raise Faulty(file, [Fault("rocker.mount", why_not, 'mount = "bolt-down"')])
    return found


def _of_setup(setup: Setup, file: str) -> Figures:
    setup.require("rocker", "lifter", "pushrods", file=file)
    defaults = Defaults()
    resolution = defaults.resolution_turns
    assert setup.lifter is not None
    seat = setup.lifter.seat_turns or defaults.seat_turns
    try:
        travel = setup.travel_in_play(setup.trials(resolution))
        window = window_in_turns(setup.window_sheet(), travel.used.mm, seat)
    except ValueError as error:
        raise Faulty(file, [Fault("lifter", str(error), "give the sheet's window")]) from None
    ceiling = never_past(
        setup.plunger_travel_mm(), travel.largest_mm, defaults.reserve_turns, setup.hot_gain_mm()
    )
    if out_of_reach(window, ceiling):
        said = out_of_reach_said(window, ceiling)
        fault = Fault("lifter.plunger_travel", said, "the plunger's whole travel, by the sheet")
        raise Faulty(file, [fault])
    taken = setup.readings(seat)
    latest = {each.reading.valve: each for each in taken}
    return Figures(
        setup=setup,
        readings=tuple(_taken(each, resolution) for each in latest.values()),
        repeated=_repeated([(each.reading, resolution) for each in taken if each.counted]),
        travel=travel,
        window=under_ceiling(window, ceiling),
        ceiling=ceiling,
        seat_turns=seat,
        rule=defaults.rule,
    )


def _of_record(record: Record) -> Figures:
    build = Build(record.head.setup, record.head.procedure)
    scene = Scene(build, fold(build.engine.valves, record.entries))
    every = [e.body for s in scene.standing.valves.values() for e in (*s.trials, *s.reads)]
    reads = [body for body in every if isinstance(body, Read)]
    return Figures(
        setup=record.head.setup,
        readings=tuple(_latest(scene)),
        repeated=_repeated([(_reading(body), body.resolution_turns) for body in reads]),
        travel=scene.travel,
        window=scene.window,
        ceiling=scene.ceiling,
        seat_turns=scene.seat_turns,
        rule=build.procedure.defaults.rule,
    )


def _latest(scene: Scene) -> Iterable[Counted]:
    """Each valve's latest reading not crossed out: in the engine, or else in a trial."""
    for valve, one in sorted(scene.standing.valves.items()):
        entry = one.reads[-1] if one.reads else one.trials[-1] if one.trials else one.checked
        if entry is not None and isinstance(entry.body, Checked):
            zero = Reading(valve, zero_lash_mm(entry.body), scene.seat_turns)
            yield Counted(zero, LENGTH_STEP_TURNS, said=_checked_said(entry.body))
        if entry is not None and isinstance(entry.body, Read):
            reading = _reading(entry.body)
            yield Counted(reading, entry.body.resolution_turns, reading.turns <= 0)


def _taken(taken: Taken, resolution: float) -> Counted:
    step = resolution if taken.counted else LENGTH_STEP_TURNS
    return Counted(taken.reading, step, taken.lash_left, taken.said)


def _checked_said(body: Checked) -> str:
    lash = f", {body.lash} of lash over a solid checking lifter" if body.lash else ""
    return f"at zero lash by a pushrod of {body.length}{lash}"


def _reading(body: Read) -> Reading:
    length = quantities.length_mm(body.pushrod)
    return Reading(Valve.parse(body.valve), length, quantities.turns(body.turns))


def _repeated(counts: Sequence[tuple[Reading, float]]) -> tuple[Again, ...]:
    """Counts made more than once on one valve with one length."""
    groups: dict[tuple[Valve, float], list[tuple[Reading, float]]] = {}
    for reading, resolution in counts:
        key = (reading.valve, round(reading.pushrod_mm, 6))
        groups.setdefault(key, []).append((reading, resolution))
    return tuple(
        Again(group[0][0], repeats([r.turns for r, _ in group], max(step for _, step in group)))
        for _, group in sorted(groups.items())
        if len(group) > 1
    )
