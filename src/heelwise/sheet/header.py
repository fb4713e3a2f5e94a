"""The head of a sheet: the build, its parts and its procedure, each with where it comes from."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from heelwise.documents.entries import Skipped
from heelwise.documents.quantities import QuantityFault, show_turns, turns, understood
from heelwise.documents.record_reading import Record
from heelwise.documents.setup import Setup
from heelwise.documents.setup_tables import EVENT_KEYS, TIMING_KEYS, CamTable, LifterTable
from heelwise.plain_text import one_line, plain
from heelwise.sheet.layout import Figure
from heelwise.valvetrain.cam import Cam
from heelwise.valvetrain.valves import Kind
from heelwise.walk.hot import growth_said
from heelwise.walk.standing import Standing
from heelwise.walk.steps import WRENCH

SHEET_OF_THE_MAKER = "the setup, from the maker's sheet"
SETUP = "the setup"


def header(record: Record, standing: Standing) -> tuple[Figure, ...]:
    """What the build is made of and by what procedure.

    Args:
        record: the record.
        standing: the fold of its entries.

    Returns:
        One figure a line.
    """
    setup, build = record.head.setup, record.head.build
    begun = f"{when(build.begun)} by {one_line(build.by)}"
    return (
        *_rehearsal(record),
        Figure("begun", begun, f"at the engine: {_people(standing)}"),
        _engine(setup),
        *_cam(setup),
        *_rocker(setup),
        *_lifter(setup),
        *_growth(setup),
        *_wrench(setup),
        *_another_wrench(record, standing),
        *_procedure(record),
    )


def when(at: datetime) -> str:
    """A time as a sheet says it, with its offset.

    Args:
        at: a time with an offset.

    Returns:
        Such as "2026-03-02 09:30 +01:00".
    """
    offset = at.strftime("%z")
    return f"{at:%Y-%m-%d %H:%M} {offset[:3]}:{offset[3:5]}"


def _people(standing: Standing) -> str:
    people = dict.fromkeys(one_line(entry.by, 40) for entry in standing.entries)
    return ", ".join([*people, *({one_line(standing.by, 40)} - set(people))])


def _rehearsal(record: Record) -> tuple[Figure, ...]:
    build = record.head.build
    if build.seed is None:
        return ()
    planted = "; ".join(plain(text) for text in build.planted or ()) or "none"
    return (Figure("rehearsal", f"no real engine: seed {build.seed}, faults planted: {planted}"),)


def _engine(setup: Setup) -> Figure:
    engine = setup.make_engine()
    order = "-".join(map(str, engine.firing_order))
    turns_way = "clockwise" if engine.clockwise else "counterclockwise"
    many = f"{engine.cylinders} {'cylinder' if engine.cylinders == 1 else 'cylinders'}"
    gaps = ""
    if len({round(gap, 3) for gap in engine.firing_gaps}) > 1:
        gaps = f", gaps {'-'.join(f'{gap:g}' for gap in engine.firing_gaps)}°"
    said = f"{many}, firing order {order}{gaps}, turns {turns_way} seen from the front"
    card = setup.engine.card
    return Figure("engine", said, f"engine card {one_line(card)}" if card else SETUP)


def _cam(setup: Setup) -> tuple[Figure, ...]:
    cam = setup.make_cam()
    if cam is None or setup.cam is None:
        return (Figure("cam", "not known: each cylinder at its TDC on compression"),)
    source = SHEET_OF_THE_MAKER
    said = [Figure("cam", f"{_cam_words(setup.cam)}, {_at_lift(setup.cam)}", source)]
    if cam.lobe_ends != cam.events:
        own = setup.cam.ramp_allowance is not None
        said.append(
            Figure(
                "ramp allowance",
                f"each end of a lobe widened by {cam.ramp_allowance_deg:g}°",
                SETUP if own else "from memory",
            )
        )
    return (*said, *(Figure("", note) for note in Cam.notes(cam)))


def _cam_words(cam: CamTable) -> str:
    keys: Iterable[str] = EVENT_KEYS if cam.intake_opens_btdc is not None else TIMING_KEYS
    if cam.duration is not None:
        keys = ("duration", *TIMING_KEYS[2:])
    told = [f"{_key_words(key)} {getattr(cam, key):g}°" for key in keys]
    if cam.advance:
        told.append(f"{'advanced' if cam.advance > 0 else 'retarded'} {abs(cam.advance):g}°")
    return ", ".join(told)


def _key_words(key: str) -> str:
    words = key.replace("_", " ")
    return (
        words.replace("btdc", "BTDC")
        .replace("abdc", "ABDC")
        .replace("bbdc", "BBDC")
        .replace("atdc", "ATDC")
    )


def _at_lift(cam: CamTable) -> str:
    return f"at {one_line(cam.at_lift)} of lift" if cam.at_lift else "at a lift not stated"


def _rocker(setup: Setup) -> tuple[Figure, ...]:
    rocker = setup.rocker
    if rocker is None:
        return ()
    said = [rocker.mount, f"ratio {rocker.ratio:g}"]
    said += [f"thread {one_line(rocker.thread)}"] if rocker.thread else []
    said += [f"torque {_both(rocker.torque)}"] if rocker.torque else []
    return (Figure("rocker", ", ".join(said), SHEET_OF_THE_MAKER),)


def _lifter(setup: Setup) -> tuple[Figure, ...]:
    lifter = setup.lifter
    if lifter is None:
        return ()
    return (Figure("lifter", f"{lifter.kind}{_lifter_limits(lifter)}", SHEET_OF_THE_MAKER),)


def _lifter_limits(lifter: LifterTable) -> str:
    said = ""
    if lifter.least_turns is not None and lifter.most_turns is not None:
        least, most = (show_turns(turns(t)) for t in (lifter.least_turns, lifter.most_turns))
        said += f", {least} to {most} turns"
    if lifter.least_preload and lifter.most_preload:
        said += f", preload {one_line(lifter.least_preload)} to {one_line(lifter.most_preload)}"
    if lifter.plunger_travel:
        said += f", plunger travel {one_line(lifter.plunger_travel)}"
    if lifter.seat_turns is not None:
        said += f", {show_turns(lifter.seat_turns)} of a turn to seat"
    return said


def _growth(setup: Setup) -> tuple[Figure, ...]:
    if setup.growth is None or setup.pushrods is None:
        return ()
    lost = setup.growth_mm(setup.pushrods.length(Kind.INTAKE))
    return (Figure("growth", growth_said(lost or 0.0), setup.growth.growth_said),)


def _wrench(setup: Setup) -> tuple[Figure, ...]:
    wrench = setup.wrench
    if wrench is None:
        return ()
    said = one_line(wrench.name)
    if wrench.least and wrench.most:
        said += f", {one_line(wrench.least)} to {one_line(wrench.most)}"
    calibrated = f"calibrated {wrench.calibrated:%Y-%m-%d}" if wrench.calibrated else ""
    cycles = f"{wrench.cycles} cycles since" if wrench.cycles is not None else ""
    adapter = ""
    if wrench.length and wrench.adapter:
        adapter = f"adapter of {one_line(wrench.adapter)} in line, {one_line(wrench.length)} long"
    calibrated = calibrated or "calibration not stated"
    told = ", ".join(filter(None, (said, calibrated, cycles, adapter)))
    return (Figure("wrench", told, SETUP),)


def _another_wrench(record: Record, standing: Standing) -> tuple[Figure, ...]:
    """What was said where the setup's wrench was passed over."""
    steps = (step for step in record.head.procedure.steps if step.fills == WRENCH)
    told = (standing.step(step.id) for step in steps)
    return tuple(
        Figure("wrench used", one_line(entry.body.reason, 1000), f"entry {entry.number}")
        for entry in told
        if entry is not None and isinstance(entry.body, Skipped)
    )


def _procedure(record: Record) -> tuple[Figure, ...]:
    procedure, build = record.head.procedure, record.head.build
    return (
        Figure("procedure", f"{plain(procedure.title)} ({plain(build.procedure)})"),
        Figure("its digest", build.procedure_digest, "SHA-256 of its text, kept in the record"),
        Figure("its figures", plain(procedure.source)),
        Figure("before all", plain(procedure.first)),
    )


def _both(torque: str) -> str:
    try:
        return understood(torque)
    except QuantityFault:
        return one_line(torque)
