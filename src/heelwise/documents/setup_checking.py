"""The fields of a form checked as they are typed: what was understood, what is wrong, what lacks.

Everything is found by the same readers and models that read a setup's file.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from heelwise.documents import quantities
from heelwise.documents.faults import Fault, Faulty
from heelwise.documents.form_fields import FormField, Typed
from heelwise.documents.quantities import QuantityFault, show_length, show_turns
from heelwise.documents.setup import Setup, parse_setup
from heelwise.documents.setup_fields import FIELD, fitting, missing
from heelwise.documents.setup_writing import document_of, value_of
from heelwise.documents.stock import on_hand
from heelwise.valvetrain.cam import Cam
from heelwise.valvetrain.travel import worked_out

FILE = "the form"


@dataclass(frozen=True)
class Checked:
    """What was made of the fields.

    Attributes:
        understood: In words, by field.
        faults: What is wrong, by field; the first fault of each.
        missing: The fields that are needed and empty.
        between: What is wrong that belongs to no field alone.
        setup: The setup, where nothing is wrong; fields may still be missing.
        notes: What comes of a table's figures together, by table.
    """

    understood: Mapping[str, str]
    faults: Mapping[str, Fault]
    missing: tuple[FormField, ...]
    between: tuple[Fault, ...]
    setup: Setup | None
    notes: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    @property
    def whole(self) -> bool:
        """Whether the setup can be written."""
        return not (self.faults or self.missing or self.between) and self.setup is not None


def check(typed: Typed) -> Checked:
    """Check what stands in the fields.

    Args:
        typed: What stands in the fields, by `table.key`.

    Returns:
        What was made of it. Nothing raises, whatever was typed.
    """
    document, unread = document_of(typed)
    setup: Setup | None = None
    found: list[Fault] = []
    try:
        setup = parse_setup(document, FILE)
    except Faulty as faulty:
        found = list(faulty.faults)
    lacking = missing(typed)
    filled = [f.where for f in fitting(typed) if typed.get(f.where, "").strip()]
    empty = {f.table for f in lacking}
    found = [f for f in found if not (f.where in _WAITS and _table(f.where) in empty)]
    faults = _by_field([*unread, *found], filled)
    between = [f for f in found if not _told(f, filled, lacking)]
    return Checked(
        _understood(typed, filled, faults),
        faults,
        tuple(lacking),
        tuple(between),
        None if unread else setup,
        _notes(document, {*map(_table, faults), *empty}),
    )


def _by_field(found: list[Fault], filled: list[str]) -> dict[str, Fault]:
    faults: dict[str, Fault] = {}
    for fault in found:
        where = _place(fault)
        if where in filled:
            faults.setdefault(where, fault)
    return faults


_WAITS = frozenset({"lash.measured"})
"""Faulted only for want of fields that are told as missing."""


def _table(where: str) -> str:
    return where.partition(".")[0]


def _place(fault: Fault) -> str:
    """The field a fault is of: of a member of an array, the array's."""
    return fault.where.partition(" ")[0]


def _told(fault: Fault, filled: list[str], lacking: list[FormField]) -> bool:
    """Whether a fault is told at a field, or is only that a field is still empty."""
    where = _place(fault)
    if where in filled:
        return True
    tables = {f.table for f in lacking}
    empty = {f.where for f in lacking}
    return where in empty or _table(where) in tables


def _understood(typed: Typed, filled: list[str], faults: Mapping[str, Fault]) -> dict[str, str]:
    said = {}
    for where in filled:
        if where not in faults:
            text = typed[where].strip()
            try:
                said[where] = _SAY.get(FIELD[where].reads, _as_it_is)(FIELD[where], text)
            except QuantityFault:
                continue  # told by the fault of another field
    return said


def _as_it_is(one: FormField, text: str) -> str:
    return ""


def _quantity(one: FormField, text: str) -> str:
    return quantities.understood(text)


def _turns(one: FormField, text: str) -> str:
    value = quantities.turns(text)
    return f"{show_turns(value)} {'turn' if value <= 1 else 'turns'} = {value * 360:g}°"


def _thread(one: FormField, text: str) -> str:
    return f"pitch {_both(quantities.thread_pitch_mm(text))}"


def _degrees(one: FormField, text: str) -> str:
    return f"{quantities.degrees(text):g}°"


def _number(one: FormField, text: str) -> str:
    return f"{value_of(one, text):g} to 1"


def _date(one: FormField, text: str) -> str:
    return f"{value_of(one, text):%d %B %Y}".lstrip("0")


def _lengths(one: FormField, text: str) -> str:
    lengths = value_of(one, text)
    assert isinstance(lengths, list)
    mm = [on_hand(length)[0] for length in lengths]
    return f"{len(mm)} of them, {show_length(min(mm))} to {show_length(max(mm))}"


def _order(one: FormField, text: str) -> str:
    order = value_of(one, text)
    assert isinstance(order, list)
    return f"{len(order)} cylinders"


_SAY: Mapping[str, Callable[[FormField, str], str]] = {
    "length": _quantity,
    "torque": _quantity,
    "turns": _turns,
    "thread": _thread,
    "degrees": _degrees,
    "number": _number,
    "date": _date,
    "lengths": _lengths,
    "order": _order,
}


def _both(mm: float) -> str:
    return f"{mm / 25.4:.4f} in = {mm:.3f} mm"


def _notes(document: Mapping[str, object], at_fault: set[str]) -> dict[str, tuple[str, ...]]:
    """What comes of a table's figures together, with where it comes from."""
    notes: dict[str, tuple[str, ...]] = {}
    cam = _alone("cam", document, at_fault)
    if cam is not None:
        notes["cam"] = _lobes(cam.make_cam())
    rocker = _alone("rocker", document, at_fault)
    if rocker is not None and rocker.rocker is not None and rocker.rocker.pitch_mm is not None:
        notes["rocker"] = _turn(rocker.rocker.pitch_mm, rocker.rocker.ratio, document)
    return notes


def _turn(pitch_mm: float, ratio: float, document: Mapping[str, object]) -> tuple[str, ...]:
    """What a turn is worth; nothing for solid lifters, which have no plunger."""
    lifter = document.get("lifter")
    table = lifter if isinstance(lifter, Mapping) else {}
    if str(table.get("kind", "")).startswith("solid"):
        return ()
    each = show_length(worked_out(pitch_mm, ratio))
    sheet = "; the sheet's figure goes before it" if "travel_per_turn" in table else ""
    return (f"A turn is worth {each} of plunger travel: worked out from thread and ratio{sheet}.",)


def _alone(name: str, document: Mapping[str, object], at_fault: set[str]) -> Setup | None:
    """A setup with one table of the document only; None where that has faults or isn't there."""
    if name not in document or name in at_fault:
        return None
    one = {"format": document["format"], "engine": _ANY_ENGINE, name: document[name]}
    try:
        return parse_setup(one, FILE)
    except Faulty:
        return None  # they are told at its fields


_ANY_ENGINE = {"firing_order": [1]}


def _lobes(cam: Cam | None) -> tuple[str, ...]:
    if cam is None:
        return ("Not known: one cylinder at a time, at its TDC on compression.",)
    e = cam.lobe_ends
    ends = (
        f"Lobe ends: IVO {e.ivo_btdc:g}° BTDC, IVC {e.ivc_abdc:g}° ABDC, "
        f"EVO {e.evo_bbdc:g}° BBDC, EVC {e.evc_atdc:g}° ATDC: worked out; {cam.said}."
    )
    return (ends, *cam.notes())
