"""Figures of a setup that can't be, and figures that can be but are odd: look again.

One table says of each figure what is usual, where that comes from, and what is possible at all.
Outside the possible a setup file is refused; a record, which was made before, only gets the note.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from math import pi
from typing import TYPE_CHECKING

from heelwise.documents.faults import Fault, QuantityFault, in_order, quoted
from heelwise.documents.quantities import MEASURES, show_length, show_torque
from heelwise.documents.typed_numbers import thread_mm
from heelwise.valvetrain.engine import ValveKind

if TYPE_CHECKING:
    from heelwise.documents.setup import Setup

PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Range:
    """A figure's ranges, in mm, N·m, turns, degrees or a plain number.

    `where`: `table.key`. `measure`: how it is read, "" for a plain number.
    """

    where: str
    measure: str
    possible: tuple[float, float]
    usual: tuple[float, float]
    source: str = PRACTICE

    def value(self, setup: Setup) -> float | None:
        """The figure of a setup; None where it isn't given or can't be read."""
        table, _, key = self.where.partition(".")
        typed = getattr(getattr(setup, table, None), key, None)
        return _value(self.measure, typed)

    def span(self, limits: tuple[float, float]) -> str:
        """A range in words, lengths and torques in both units."""
        low, high = limits
        if self.measure == "length":
            inches = f"{low / 25.4:.2g} to {high / 25.4:.3g} in"
            return f"{_number(low)} to {_number(high)} mm, {inches}"
        if self.measure == "torque":
            return f"{_number(low)} to {_number(high)} N·m"
        unit = {"degrees": "°", "turns": " turns"}.get(self.measure, "")
        return f"{low:g} to {high:g}{unit}"


def _value(measure: str, typed: object) -> float | None:
    if isinstance(typed, float | int):
        return float(typed)
    try:
        return None if typed is None else MEASURES[measure].read(typed)
    except QuantityFault:
        return None


def _number(value: float) -> str:
    return f"{value:.3g}" if value < 1000 else f"{value:.0f}"


_PUSHROD = (5.0, 1000.0)  # mm; the longest of large boat and truck diesels are under 1 m
_USUAL_PUSHROD = (75.0, 450.0)

_DURATION = (0.001, 719.999)
_USUAL_DURATION = (170.0, 350.0)
_USUAL_SEPARATION = (95.0, 125.0)
RANGES: tuple[Range, ...] = (
    Range("engine.damper_diameter", "length", (10.0, 3000.0), (75.0, 450.0)),
    Range("engine.damper_marks", "degrees", (0.5, 360.0), (5.0, 180.0)),
    Range("cam.duration", "degrees", _DURATION, _USUAL_DURATION),
    Range("cam.intake_duration", "degrees", _DURATION, _USUAL_DURATION),
    Range("cam.exhaust_duration", "degrees", _DURATION, _USUAL_DURATION),
    Range("cam.lobe_separation", "degrees", (0.0, 360.0), _USUAL_SEPARATION),
    Range("cam.intake_centerline", "degrees", (-360.0, 360.0), (90.0, 130.0)),
    Range("cam.at_lift", "length", (0.0, 30.0), (0.0, 1.6)),
    Range("cam.ramp_allowance", "degrees", (0.0, 180.0), (0.0, 50.0)),
    Range("cam.advance", "degrees", (-90.0, 90.0), (-12.0, 12.0)),
    Range("rocker.ratio", "", (0.5, 5.0), (1.0, 2.0)),
    Range("rocker.torque", "torque", (0.1, 1000.0), (3.0, 150.0)),
    Range("lifter.least_turns", "turns", (0.0, 20.0), (0.1, 2.0)),
    Range("lifter.most_turns", "turns", (0.0, 20.0), (0.2, 3.0)),
    Range("lifter.least_preload", "length", (0.0, 25.0), (0.1, 3.0)),
    Range("lifter.most_preload", "length", (0.0, 25.0), (0.2, 5.0)),
    Range("lifter.travel_per_turn", "length", (0.05, 25.0), (0.5, 4.5)),
    Range("lifter.plunger_travel", "length", (0.1, 50.0), (1.5, 9.0)),
    Range("lifter.seat_turns", "turns", (0.0, 10.0), (0.0, 0.35)),
    Range("lifter.cup_height", "length", (1.0, 200.0), (10.0, 80.0)),
    Range("lifter.checking_cup_height", "length", (1.0, 200.0), (10.0, 80.0)),
    Range("lash.intake", "length", (0.001, 10.0), (0.05, 1.0)),
    Range("lash.exhaust", "length", (0.001, 10.0), (0.05, 1.0)),
    Range("lash.tolerance", "length", (0.0, 5.0), (0.01, 0.15)),
    Range("pushrods.intake", "length", _PUSHROD, _USUAL_PUSHROD),
    Range("pushrods.exhaust", "length", _PUSHROD, _USUAL_PUSHROD),
    Range("pushrods.sold_from", "length", _PUSHROD, _USUAL_PUSHROD),
    Range("pushrods.sold_to", "length", _PUSHROD, _USUAL_PUSHROD),
    Range("pushrods.sold_step", "length", (0.01, 100.0), (0.1, 3.0)),
    Range("wrench.least", "torque", (0.01, 3000.0), (0.5, 100.0)),
    Range("wrench.most", "torque", (0.05, 3000.0), (5.0, 400.0)),
    Range("wrench.length", "length", (20.0, 3000.0), (100.0, 1500.0)),
    Range("wrench.adapter", "length", (1.0, 1000.0), (10.0, 300.0)),
    Range("growth.block_length", "length", (1.0, 2000.0), (20.0, 450.0)),
    Range("growth.heads_length", "length", (1.0, 2000.0), (20.0, 300.0)),
    Range("lash.block_length", "length", (1.0, 2000.0), (20.0, 450.0)),
    Range("lash.heads_length", "length", (1.0, 2000.0), (20.0, 300.0)),
)
"""Every figure that is looked at, in the order of a setup's tables."""

_YEARS = (1980, 2100)


def _typed(setup: Setup, where: str) -> str:
    table, _, key = where.partition(".")
    typed = getattr(getattr(setup, table), key)
    return f"{typed:g}" if isinstance(typed, float) else quoted(typed)


def impossible(setup: Setup) -> Iterator[Fault]:
    """Figures that no engine has; a setup file is refused for them."""
    for each in RANGES:
        value = each.value(setup)
        if value is not None and not each.possible[0] <= value <= each.possible[1]:
            problem = f"{_typed(setup, each.where)} can't be right"
            yield Fault(each.where, problem, f"write one within {each.span(each.possible)}")
    calibrated = setup.wrench.calibrated if setup.wrench else None
    if calibrated is not None and not _YEARS[0] <= calibrated.year <= _YEARS[1]:
        problem = f"{calibrated} can't be right"
        yield Fault("wrench.calibrated", problem, "write the day on its certificate")


def notes(setup: Setup, today: date | None = None) -> list[Fault]:
    """Figures that can be, but are odd: what is usual, and where that comes from.

    Args:
        setup: A setup, or what could be read of one.
        today: Without it no date is looked at.
    """
    figures = [
        _odd(each.where, _typed(setup, each.where), each.span(each.usual), each.source)
        for each in RANGES
        if (value := each.value(setup)) is not None
        and not each.usual[0] - 1e-9 <= value <= each.usual[1] + 1e-9
    ]
    compared = [note for check in _CHECKS for note in check(setup)]
    places = {note.where for note in compared}
    odd = [*compared, *(note for note in figures if note.where not in places)]
    calibrated = setup.wrench.calibrated if setup.wrench else None
    if today is not None and calibrated is not None and calibrated > today:
        odd.append(Fault("wrench.calibrated", f"{calibrated} is still to come", "look again"))
    return in_order(odd, type(setup).model_fields)


def _odd(where: str, typed: str, usual: str, source: str) -> Fault:
    return Fault(where, f"{typed} is odd", f"look again: usually {usual} ({source})")


# ---------------------------------------- torque against thread diameter and class

_WEAKEST, _STRONGEST = 225.0, 970.0
"""Proof stress of property classes 4.6 and 12.9, MPa (ISO 898-1)."""
_NUT_FACTOR, _OF_PROOF = 0.2, 0.75
_TORQUE_SOURCE = (
    "classes 4.6 to 12.9 at 75 % of proof load, ISO 898-1; torque = 0.2 × diameter × load, "
    "common practice for dry threads"
)


def thread_torques_nm(thread: str) -> tuple[float, float]:
    """The least and most torque in N·m that is usual on a thread, weakest to strongest class."""
    across, pitch = thread_mm(thread)
    stressed_mm2 = pi / 4 * (across - 0.9382 * pitch) ** 2  # ISO 898-1, tensile stress area
    per_mpa = _NUT_FACTOR * across / 1000 * _OF_PROOF * stressed_mm2
    return per_mpa * _WEAKEST, per_mpa * _STRONGEST


def _torque_on_thread(setup: Setup) -> Iterator[Fault]:
    rocker = setup.rocker
    if rocker is None or rocker.thread is None or rocker.torque_nm is None:
        return
    least, most = thread_torques_nm(rocker.thread)
    if not least * 0.9 <= rocker.torque_nm <= most * 1.1:
        problem = f"{quoted(rocker.torque)} is odd on {rocker.thread}"
        usual = f"{show_torque(least, 'N·m')} to {show_torque(most, 'N·m')}"
        usual += f", {show_torque(least)} to {show_torque(most)}"
        yield Fault("rocker.torque", problem, f"look again: usually {usual} ({_TORQUE_SOURCE})")


# ---------------------------------------- what other figures say of one


def _travel(setup: Setup) -> Iterator[Fault]:
    rocker, lifter = setup.rocker, setup.lifter
    if rocker is None or lifter is None or lifter.travel_per_turn is None:
        return
    if rocker.mount == "shaft" or rocker.pitch_mm is None or not rocker.ratio:
        return
    pitch, travel = rocker.pitch_mm, MEASURES["length"].read(lifter.travel_per_turn)
    lever = pitch * (1 + 1 / rocker.ratio)
    if not pitch * 0.94 <= travel <= lever * 1.06:
        usual = f"{show_length(pitch, 'mm')} to {show_length(lever, 'mm')}"
        usual += f", {show_length(pitch)} to {show_length(lever)}"
        source = "worked out: from the thread's pitch to pitch × (1 + 1/ratio)"
        yield _odd("lifter.travel_per_turn", quoted(lifter.travel_per_turn), usual, source)


def _turns_against_preload(setup: Setup) -> Iterator[Fault]:
    lifter = setup.lifter
    if lifter is None or lifter.most_turns is None or lifter.plunger_travel is None:
        return
    try:
        travel = setup.travel_in_play().used.mm
    except ValueError:
        return
    most = MEASURES["turns"].read(lifter.most_turns)
    if most * travel > MEASURES["length"].read(lifter.plunger_travel):
        problem = f"{quoted(lifter.most_turns)} at {show_length(travel, 'mm')} a turn is more than"
        problem += f" plunger_travel, {quoted(lifter.plunger_travel)}"
        yield Fault("lifter.most_turns", problem, "look again: the plunger would bottom")


_MEASURED_MM = 0.5
"""A pushrod may measure this much beyond the last length sold."""
_FAR_MM = 12.7
"""Half an inch from the setup's: a slip of the pen, or the wrong pushrod (common practice)."""
_FAR_APART_MM = 45.0
"""Between the two kinds of one engine; a few engines have well over an inch."""


def pushrod_mm(typed: object) -> float:
    """Read a pushrod's length in mm.

    Raises:
        QuantityFault: It isn't a length, or one that no pushrod has: 0 in, 73 in.
    """
    mm = MEASURES["length"].read(typed)
    if not _PUSHROD[0] <= mm <= _PUSHROD[1]:
        problem = f"{quoted(typed)} can't be a pushrod's length"
        raise QuantityFault(problem, "check its decimal point and unit: 218.5 mm, 8.150 in")
    return mm


def doubt_length(setup: Setup, mm: float) -> str:
    """Say why a pushrod's length should be looked at again before it counts; "" where it needn't.

    "is beyond the lengths sold, 214 mm to 226 mm"; "is 25.32 mm (0.997 in) from 185.42 mm".
    """
    pushrods = setup.pushrods
    if pushrods is None:
        return ""
    nearest = min((pushrods.length(kind) for kind in ValveKind), key=lambda known: abs(known - mm))
    off = abs(nearest - mm)
    far = f"is {show_length(off, 'mm')} ({show_length(off)}) from {show_length(nearest, 'mm')}"
    return _beyond_sold(setup, mm) or (far if off > _FAR_MM else "")


def _beyond_sold(setup: Setup, mm: float) -> str:
    pushrods = setup.pushrods
    if pushrods is None:
        return ""
    typed = (pushrods.sold_from, pushrods.sold_to, pushrods.sold_step)
    first, last, step = (_value("length", text) for text in typed)
    edge = max((step or 0.0) / 2, _MEASURED_MM)
    if first is None or last is None or first - edge <= mm <= last + edge:
        return ""
    return f"is beyond the lengths sold, {pushrods.sold_from} to {pushrods.sold_to}"


def _pushrods(setup: Setup) -> Iterator[Fault]:
    pushrods = setup.pushrods
    if pushrods is None:
        return
    lengths = {key: _value("length", getattr(pushrods, key)) for key in ("intake", "exhaust")}
    for key, mm in lengths.items():
        if mm and (beyond := _beyond_sold(setup, mm)):
            problem = f"{quoted(getattr(pushrods, key))} {beyond}"
            yield Fault(f"pushrods.{key}", problem, "look again")
    intake, exhaust = lengths.values()
    if intake and exhaust and abs(intake - exhaust) > _FAR_APART_MM:
        problem = f"{quoted(pushrods.exhaust)} is {show_length(abs(intake - exhaust))} off"
        yield Fault("pushrods.exhaust", f"{problem} the intake's", "look again at both")


def _events(setup: Setup) -> Iterator[Fault]:
    try:
        cam = setup.make_cam()
    except (TypeError, ValueError):
        return  # half of a cam card, or one at fault
    if cam is None or setup.cam is None:
        return
    for note in cam.notes():
        if "unusually" not in note:  # the durations, which are in the table
            yield Fault("cam", note, "look again at the cam card")
    timing = setup.cam.timing() if setup.cam.intake_opens_btdc is not None else None
    if timing is None:
        return
    figures = (
        ("intake duration", timing.intake_duration, _USUAL_DURATION),
        ("exhaust duration", timing.exhaust_duration, _USUAL_DURATION),
        ("lobe separation", timing.lobe_separation, _USUAL_SEPARATION),
    )
    for name, value, (low, high) in figures:
        if not low <= value <= high:
            problem = f"the events make an odd {name}, {value:g}°"
            yield Fault("cam", problem, f"look again: usually {low:g} to {high:g}° ({PRACTICE})")


_CHECKS = (_events, _torque_on_thread, _travel, _turns_against_preload, _pushrods)
