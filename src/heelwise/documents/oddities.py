"""Figures of a setup that can't be, and figures that can be but are odd: look again.

Outside what is possible a setup file is refused; a record, made before, only gets the note.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from datetime import date
from math import pi
from typing import TYPE_CHECKING

from heelwise.documents.faults import Fault, QuantityFault, in_order, quoted
from heelwise.documents.fields import Table, measure_of
from heelwise.documents.quantities import length_mm, show_length, thread_mm
from heelwise.documents.setup_lifters import SOLD_KEYS
from heelwise.valvetrain.engine import ValveKind

if TYPE_CHECKING:
    from heelwise.documents.setup import Setup

PRACTICE = "common practice, no source"

_PUSHROD = (5.0, 1000.0)  # mm; the longest of large boat and truck diesels are under 1 m
_DURATIONS = "cam.duration cam.intake_duration cam.exhaust_duration"
_PUSHRODS = "pushrods.intake pushrods.exhaust pushrods.sold_from pushrods.sold_to"
_HEIGHTS = "growth.block_length growth.heads_length lash.block_length lash.heads_length"
_Span = tuple[float, float]
_ROWS: tuple[tuple[str, _Span, _Span], ...] = (
    ("engine.damper_diameter", (10, 3000), (75, 450)),
    ("engine.damper_marks", (0.5, 360), (5, 180)),
    (_DURATIONS, (0.001, 719.999), (170, 350)),
    ("cam.lobe_separation", (0, 360), (95, 125)),
    ("cam.intake_centerline", (-360, 360), (90, 130)),
    ("cam.at_lift", (0, 30), (0, 1.6)),
    ("cam.ramp_allowance", (0, 180), (0, 50)),
    ("cam.advance", (-90, 90), (-12, 12)),
    ("rocker.ratio", (0.5, 5), (1, 2)),
    ("rocker.torque", (0.1, 1000), (3, 150)),
    ("lifter.least_turns", (0, 20), (0.1, 2)),
    ("lifter.most_turns", (0, 20), (0.2, 3)),
    ("lifter.least_preload", (0, 25), (0.1, 3)),
    ("lifter.most_preload", (0, 25), (0.2, 5)),
    ("lifter.travel_per_turn", (0.05, 25), (0.5, 4.5)),
    ("lifter.plunger_travel", (0.1, 50), (1.5, 9)),
    ("lifter.seat_turns", (0, 10), (0, 0.35)),
    ("lifter.cup_height lifter.checking_cup_height", (1, 200), (10, 80)),
    ("lash.intake lash.exhaust", (0.001, 10), (0.05, 1)),
    ("lash.tolerance", (0, 5), (0.01, 0.15)),
    (_PUSHRODS, _PUSHROD, (75, 450)),
    ("pushrods.sold_step", (0.01, 100), (0.1, 3)),
    ("wrench.least", (0.01, 3000), (0.5, 100)),
    ("wrench.most", (0.05, 3000), (5, 400)),
    ("wrench.length", (20, 3000), (100, 1500)),
    ("wrench.adapter", (1, 1000), (10, 300)),
    (_HEIGHTS, (1, 2000), (20, 450)),
)
RANGES = {where: (possible, usual) for wheres, possible, usual in _ROWS for where in wheres.split()}
"""By `table.key`: what is possible, and what is usual by common practice; mm, N·m, °, turns."""


def _outside(setup: Setup, possible: bool) -> Iterator[tuple[str, str, str]]:
    """Figures outside what is possible, else what is usual: where, as typed, the range in words."""
    for where, (widest, usual) in RANGES.items():
        name, _, key = where.partition(".")
        value, (low, high) = setup.figure(where), widest if possible else usual
        if value is not None and not low - 1e-9 <= value <= high + 1e-9:
            table: Table = getattr(setup, name)
            typed = getattr(table, key)
            shown = f"{typed:g}" if isinstance(typed, float) else quoted(typed)
            measure = measure_of(type(table), key)
            yield where, shown, _span(measure.name if measure else "", low, high)


def _span(measure: str, low: float, high: float) -> str:
    unit = {"length": " mm", "torque": " N·m", "degrees": "°", "turns": " turns"}.get(measure, "")
    words = f"{low:g} to {high:g}{unit}"
    return f"{words}, {low / 25.4:.2g} to {high / 25.4:.3g} in" if measure == "length" else words


def impossible(setup: Setup) -> Iterator[Fault]:
    """Figures that no engine has; a setup file is refused for them."""
    for where, typed, span in _outside(setup, possible=True):
        yield Fault(where, f"{typed} can't be right", f"it must be within {span}")
    calibrated = setup.wrench.calibrated if setup.wrench else None
    if calibrated is not None and not 1980 <= calibrated.year <= 2100:
        instead = "write the day on its certificate"
        yield Fault("wrench.calibrated", f"{calibrated} can't be right", instead)


def notes(setup: Setup, today: date | None = None) -> list[Fault]:
    """Figures that can be, but are odd, in a setup or what could be read of one.

    Each says what is usual and where that comes from. `today`: without it no date is looked at.
    """
    odd = [*_cam(setup), *_of_others(setup), *_pushrods(setup)]
    places = {note.where for note in odd}
    for where, typed, span in _outside(setup, possible=False):
        if where not in places:
            odd.append(_odd(where, typed, span, PRACTICE))
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


def _of_others(setup: Setup) -> Iterator[Fault]:
    """Figures that are odd by what others say."""
    rocker, lifter = setup.rocker, setup.lifter
    torque, travel = setup.figure("rocker.torque"), setup.figure("lifter.travel_per_turn")
    if rocker and rocker.thread and torque:
        least, most = thread_torques_nm(rocker.thread)
        if not least * 0.9 <= torque <= most * 1.1:
            typed = f"{quoted(rocker.torque)} on {rocker.thread}"
            span = _span("torque", round(least), round(most))
            yield _odd("rocker.torque", typed, span, _TORQUE_SOURCE)
    pitch = setup.figure("rocker.thread")
    if rocker and lifter and pitch and travel and rocker.ratio and rocker.mount != "shaft":
        lever = pitch * (1 + 1 / rocker.ratio)
        if not pitch * 0.94 <= travel <= lever * 1.06:
            span = _span("length", round(pitch, 2), round(lever, 2))
            source = "worked out: from the thread's pitch to pitch × (1 + 1/ratio)"
            yield _odd("lifter.travel_per_turn", quoted(lifter.travel_per_turn), span, source)
    most_turns, whole = setup.figure("lifter.most_turns"), setup.figure("lifter.plunger_travel")
    with suppress(ValueError):  # nothing is known of the travel per turn
        mm = setup.travel_in_play().used.mm
        if lifter and most_turns and whole and most_turns * mm > whole:
            problem = f"{quoted(lifter.most_turns)} at {show_length(mm, 'mm')} a turn is more than"
            problem += f" plunger_travel, {quoted(lifter.plunger_travel)}"
            yield Fault("lifter.most_turns", problem, "look again: the plunger would bottom")


_MEASURED_MM = 0.5
"""A pushrod may measure this much beyond the last length sold."""
_FAR_MM = 12.7
"""Half an inch from the setup's: a slip of the pen, or the wrong pushrod (common practice)."""
_FAR_APART_MM = 45.0
"""Between the two kinds of one engine; a few engines have well over an inch."""


def pushrod_mm(typed: object) -> float:
    """Read a pushrod's length in mm, or QuantityFault: also of one that no pushrod has, 73 in."""
    mm = length_mm(typed)
    if not _PUSHROD[0] <= mm <= _PUSHROD[1]:
        problem = f"{quoted(typed)} can't be a pushrod's length"
        raise QuantityFault(problem, "check its decimal point and unit: 218.5 mm, 8.150 in")
    return mm


def doubt_length(setup: Setup, mm: float) -> str:
    """Say why a pushrod's length should be looked at again before it counts; "" where it needn't.

    "is beyond the lengths sold, 214 mm to 226 mm"; "is 25.32 mm (0.997 in) from 185.42 mm".
    """
    if setup.pushrods is None:
        return ""
    known = min(map(setup.pushrods.length, ValveKind), key=lambda length: abs(length - mm))
    off = abs(known - mm)
    far = f"is {show_length(off, 'mm')} ({show_length(off)}) from {show_length(known, 'mm')}"
    return _beyond_sold(setup, mm) or (far if off > _FAR_MM else "")


def _beyond_sold(setup: Setup, mm: float) -> str:
    first, last, step = (setup.figure(f"pushrods.{key}") for key in SOLD_KEYS)
    if setup.pushrods is None or first is None or last is None or step is None:
        return ""
    edge = max(step / 2, _MEASURED_MM)
    span = f"{setup.pushrods.sold_from} to {setup.pushrods.sold_to}"
    return "" if first - edge <= mm <= last + edge else f"is beyond the lengths sold, {span}"


def _pushrods(setup: Setup) -> Iterator[Fault]:
    intake, exhaust = setup.figure("pushrods.intake"), setup.figure("pushrods.exhaust")
    for key, mm in (("intake", intake), ("exhaust", exhaust)):
        if mm and (beyond := _beyond_sold(setup, mm)):
            typed = quoted(getattr(setup.pushrods, key))
            yield Fault(f"pushrods.{key}", f"{typed} {beyond}", "look again")
    if intake and exhaust and abs(intake - exhaust) > _FAR_APART_MM:
        problem = f"differs from the intake's by {show_length(abs(intake - exhaust))}"
        yield Fault("pushrods.exhaust", problem, "look again at both")


def _cam(setup: Setup) -> Iterator[Fault]:
    try:
        cam = setup.make_cam()
        timing = setup.cam and setup.cam.timing()
    except (TypeError, ValueError):
        return  # half of a cam card, or one at fault
    for note in cam.notes() if cam else ():
        yield Fault("cam", note, "look again at the cam card")
    if setup.cam and timing and setup.cam.intake_opens_btdc is not None:
        low, high = RANGES["cam.lobe_separation"][1]
        if not low <= timing.lobe_separation <= high:
            typed = f"the events' lobe separation, {timing.lobe_separation:g}°,"
            yield _odd("cam", typed, _span("degrees", low, high), PRACTICE)
