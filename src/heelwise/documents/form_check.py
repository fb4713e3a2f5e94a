"""The form checked as it is typed, and the setups of a folder it can be filled from."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from heelwise.documents import oddities
from heelwise.documents.faults import Fault, Faulty, QuantityFault
from heelwise.documents.fields import as_far_as_read, on_hand
from heelwise.documents.form_rules import Typed
from heelwise.documents.quantities import MEASURES, show_length, show_turns, turns
from heelwise.documents.setup import Setup, parse_setup
from heelwise.documents.setup_form import (
    FIELD,
    FormField,
    fitting,
    form_values,
    missing,
    setup_from_form,
    value_of,
)
from heelwise.documents.setup_lifters import LifterTable
from heelwise.documents.toml import FileKind, kind_of, read_toml
from heelwise.valvetrain.cam import Cam
from heelwise.valvetrain.travel import worked_out
from heelwise.wording import counted

FILE = "the form"


@dataclass(frozen=True)
class FormCheck:
    """What was made of the fields.

    `understood`: in words, by field. `faults`: what is wrong, by field, the first fault of each.
    `missing`: the fields that are needed and empty. `between`: what is wrong that belongs to no
    field alone. `setup`: where nothing is wrong; fields may still be missing. `notes`: what comes
    of a table's figures together, by table.
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
    field, text = FIELD[where], typed[where].strip()
    try:
        if field.reads in MEASURES:
            return MEASURES[field.reads].understood(text)
        say = _WORDS.get(field.reads)
        return "" if say is None else say(value_of(field, text))
    except QuantityFault:
        return ""  # shown by the fault of another field


def _lengths(lengths: list[str]) -> str:
    mm = [on_hand(length)[0] for length in lengths]
    return f"{len(mm)} of them, {show_length(min(mm))} to {show_length(max(mm))}"


def _day(day: date) -> str:
    return f"{day:%d %B %Y}".lstrip("0")


_WORDS: Mapping[str, Callable[[Any], str]] = {
    "name": lambda name: f"{name}.toml",
    "people": lambda people: counted(len(people), "person", "people"),
    "number": lambda ratio: f"{ratio:g} to 1",
    "date": _day,
    "lengths": _lengths,
    "order": lambda order: f"{len(order)} cylinders",
}


# ---------------------------------------- what a table's figures come to together


def _notes(
    document: Mapping[str, object], at_fault: set[str], faults: Mapping[str, Fault]
) -> dict[str, tuple[str, ...]]:
    notes: dict[str, tuple[str, ...]] = {}
    readable = as_far_as_read(Setup, document)
    if readable.cam is not None and "cam" not in at_fault:
        notes["cam"] = _lobes(readable.cam.make())
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


def _lobes(cam: Cam | None) -> tuple[str, ...]:
    if cam is None:
        return ("Not known: one cylinder at a time, at its TDC on compression.",)
    e = cam.lobe_ends
    ends = (
        f"Lobe ends: IVO {e.ivo_btdc:g}° BTDC, IVC {e.ivc_abdc:g}° ABDC, "
        f"EVO {e.evo_bbdc:g}° BBDC, EVC {e.evc_atdc:g}° ATDC: worked out; {cam.source}."
    )
    return (ends,)


MOST_FILES = 200
"""Files looked at, so that a folder of thousands doesn't keep anyone waiting."""


@dataclass(frozen=True)
class Source:
    """A setup file to take from.

    `summary`: what there is to take, in a few words. `typed`: what goes into the fields.
    `left`: the keys that have no field.
    """

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
            words = (
                f"{typed.get('engine.card', 'no card')}, {typed.get('rocker.mount', 'no mount')}"
            )
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
