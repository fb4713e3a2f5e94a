"""The form checked as it is typed, and the setups of a folder it can be filled from."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from pydantic import ValidationError

from heelwise.documents import oddities
from heelwise.documents.faults import Fault, Faulty, QuantityFault
from heelwise.documents.fields import Typed, as_far_as_read
from heelwise.documents.files import FileKind, kind_of, read_toml
from heelwise.documents.quantities import show_length, show_turns, turns
from heelwise.documents.setup import Setup, parse_setup
from heelwise.documents.setup_form import (
    FIELD,
    KINDS,
    FormField,
    fitting,
    form_values,
    missing,
    setup_from_form,
)
from heelwise.documents.setup_lifters import LifterTable
from heelwise.valvetrain.cam import Cam
from heelwise.valvetrain.travel import worked_out

FILE = "the form"


@dataclass(frozen=True)
class FormCheck:
    """What was made of the fields: `understood` in words, and the first of each one's `faults`.

    `missing`: those needed and empty. `between`: what is wrong that belongs to no field alone.
    `setup`: where nothing is wrong; fields may still be missing. `notes`: what comes of a table's
    figures together, by table.
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


def check(typed: Typed) -> FormCheck:
    """Check what stands in the fields, by `table.key`; nothing raises, whatever was typed."""
    document, unread = setup_from_form(typed)
    setup: Setup | None = None
    in_file: tuple[Fault, ...] = ()
    try:
        setup = parse_setup(document, FILE)
    except Faulty as faulty:
        in_file = faulty.faults
    lacking = missing(typed)
    filled = [f.where for f in fitting(typed) if typed.get(f.where, "").strip()]
    half_filled = {f.table for f in lacking}
    faults: dict[str, Fault] = {}
    between = []
    for fault in (*unread, *in_file):
        place, table = fault.where.partition(" ")[0], _table(fault.where)
        if place in filled and not (place == "lash.measured" and table in half_filled):
            faults.setdefault(place, fault)
        elif place not in filled and table not in half_filled:
            between.append(fault)
    return FormCheck(
        {where: _understood(where, typed) for where in filled if where not in faults},
        faults,
        tuple(lacking),
        tuple(between),
        None if unread else setup,
        _notes(document, {*map(_table, faults), *half_filled}, faults),
    )


def _table(where: str) -> str:
    return where.partition(".")[0]


def _understood(where: str, typed: Typed) -> str:
    kind = KINDS[FIELD[where].reads]
    try:
        return kind.understood(kind.read(typed[where].strip()))
    except QuantityFault:
        return ""  # shown by the fault of another field


# ---------------------------------------- what a table's figures come to together


def _notes(
    document: Mapping[str, object], at_fault: set[str], faults: Mapping[str, Fault]
) -> dict[str, tuple[str, ...]]:
    notes: dict[str, tuple[str, ...]] = {}
    readable = as_far_as_read(Setup, document)
    if readable.cam is not None and "cam" not in at_fault:
        notes["cam"] = (_lobes(readable.cam.make()),)
    rocker = readable.rocker
    if rocker is not None and rocker.pitch_mm is not None and "rocker" not in at_fault:
        notes["rocker"] = _turn(rocker.pitch_mm, rocker.ratio, readable.lifter)
    for odd in oddities.notes(readable):
        if odd.where not in faults:
            label = f"{FIELD[odd.where].label}: " if odd.where in FIELD else ""
            line = f"{label}{odd.problem}; {odd.instead}."
            notes[_table(odd.where)] = (*notes.get(_table(odd.where), ()), line)
    return notes


def _turn(pitch_mm: float, ratio: float, lifter: LifterTable | None) -> tuple[str, ...]:
    if lifter is not None and lifter.solid:
        return ()
    each = show_length(worked_out(pitch_mm, ratio))
    known = lifter is not None and lifter.has("travel_per_turn")
    sheet = "; the sheet's figure goes before it" if known else ""
    return (f"A turn is worth {each} of plunger travel: worked out from thread and ratio{sheet}.",)


def _lobes(cam: Cam | None) -> str:
    if cam is None:
        return "Not known: one cylinder at a time, at its TDC on compression."
    e = cam.lobe_ends
    return (
        f"Lobe ends: IVO {e.ivo_btdc:g}° BTDC, IVC {e.ivc_abdc:g}° ABDC, "
        f"EVO {e.evo_bbdc:g}° BBDC, EVC {e.evc_atdc:g}° ATDC: worked out; {cam.source}."
    )


MOST_FILES = 200
"""Files looked at, so that a folder of thousands doesn't keep anyone waiting."""


@dataclass(frozen=True)
class Source:
    """A setup file to take from: what goes into the fields, and the keys `left` that have none."""

    path: Path
    summary: str
    typed: Mapping[str, str]
    left: tuple[str, ...]


def lifters_in(paths: Iterable[Path]) -> list[Source]:
    """The setups whose [lifter] can be read, each with the lifter's fields alone."""
    sources = []
    for path, document in _setups(paths):
        try:
            lifter = LifterTable.model_validate(document.get("lifter"))
        except ValidationError:
            continue
        typed, left = form_values({"lifter": document["lifter"]})
        sources.append(Source(path, _lifter_in_words(lifter), typed, tuple(left)))
    return sources


def setups_in(paths: Iterable[Path]) -> list[Source]:
    """The setups to begin another from; what is wrong in one is told once it is taken."""
    sources = []
    for path, document in _setups(paths):
        typed, left = form_values(document)
        if typed:
            card, mount = typed.get("engine.card"), typed.get("rocker.mount")
            words = f"{card or 'no card'}, {mount or 'no mount'}"
            sources.append(Source(path, words, typed, tuple(left)))
    return sources


def _setups(paths: Iterable[Path]) -> Iterator[tuple[Path, dict[str, object]]]:
    for _, path in zip(range(MOST_FILES), paths, strict=False):
        try:
            if kind_of(path) is FileKind.SETUP:
                yield path, read_toml(path)
        except Faulty:
            continue


def _lifter_in_words(lifter: LifterTable) -> str:
    if lifter.least_turns is not None and lifter.most_turns is not None:
        least, most = (show_turns(turns(t)) for t in (lifter.least_turns, lifter.most_turns))
        return f"{lifter.kind}, {least} to {most} turns"
    if lifter.least_preload is not None:
        return f"{lifter.kind}, {lifter.least_preload} to {lifter.most_preload}"
    return lifter.kind
