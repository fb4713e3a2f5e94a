"""What `heelwise pushrods` works with: readings of a setup or a record, what judges them."""

from __future__ import annotations

from heelwise.documents.faults import Fault, Faulty
from heelwise.documents.procedure import Defaults
from heelwise.documents.reading_table import Taken
from heelwise.documents.record_reading import Record
from heelwise.documents.setup import Setup
from heelwise.valvetrain.ceiling import (
    counted_down,
    never_past,
    out_of_reach,
    out_of_reach_said,
    under_ceiling,
)
from heelwise.valvetrain.pushrods import length_sets_preload
from heelwise.valvetrain.verdict import window_in_turns
from heelwise.walk.build import Build
from heelwise.walk.pushrod_set import LENGTH_STEP_TURNS, Counted, PushrodSet, repeated, set_of
from heelwise.walk.scene import Scene
from heelwise.walk.standing import fold


def figures_of(document: Record | Setup, file: str) -> PushrodSet:
    """Gather what a file's readings are and what they are judged by.

    Args:
        document: The record or setup.
        file: Its name, for faults.

    Raises:
        Faulty: A table is missing, a figure leaves no window, or on this mount the length
            doesn't set the preload.
    """
    try:
        found = _of_record(document) if isinstance(document, Record) else _of_setup(document, file)
    except ValueError as error:
        raise Faulty(file, [Fault("lifter", str(error), "give the sheet's window")]) from None
    assert found.setup.rocker is not None
    why_not = length_sets_preload(found.setup.rocker.mount)
    if why_not is not None:
        raise Faulty(file, [Fault("rocker.mount", why_not, 'mount = "bolt-down"')])
    return found


def _of_setup(setup: Setup, file: str) -> PushrodSet:
    setup.require("rocker", "lifter", "pushrods", file=file)
    defaults = Defaults()
    resolution = defaults.resolution_turns
    assert setup.lifter is not None
    seat = setup.lifter.seat_turns or defaults.seat_turns
    travel = setup.travel_in_play(setup.trials(resolution))
    window = window_in_turns(setup.window_sheet(), travel.used.mm, seat)
    ceiling = never_past(
        setup.plunger_travel_mm(), travel.largest_mm, defaults.reserve_turns, setup.hot_gain_mm()
    )
    if out_of_reach(window, ceiling):
        said = out_of_reach_said(window, ceiling)
        fault = Fault("lifter.plunger_travel", said, "the plunger's whole travel, by the sheet")
        raise Faulty(file, [fault])
    ceiling = counted_down(ceiling, window, resolution)
    taken = setup.readings(seat)
    latest = {each.reading.valve: each for each in taken}
    return PushrodSet(
        setup=setup,
        readings=tuple(_taken(each, resolution) for each in latest.values()),
        repeated=repeated([(each.reading, resolution) for each in taken if each.counted]),
        travel=travel,
        window=under_ceiling(window, ceiling),
        ceiling=ceiling,
        seat_turns=seat,
        rule=defaults.rule,
    )


def _taken(taken: Taken, resolution: float) -> Counted:
    step = resolution if taken.counted else LENGTH_STEP_TURNS
    return Counted(taken.reading, step, taken.lash_left, taken.said)


def _of_record(record: Record) -> PushrodSet:
    build = Build(record.head.setup, record.head.procedure)
    return set_of(Scene(build, fold(build.engine.valves, record.entries)))
