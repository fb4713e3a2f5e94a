"""The form checked as it is typed, and what fills it: a draft kept, or a setup of a folder."""

import json
import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from heelwise.documents import oddities
from heelwise.documents import setup_form as form
from heelwise.documents.faults import Fault, Faulty
from heelwise.documents.fields import FormField, Typed, as_far_as_read
from heelwise.documents.files import FileKind, kind_of, read_toml
from heelwise.documents.quantities import show_length
from heelwise.documents.setup import Setup, parse_setup
from heelwise.documents.setup_engine import lobe_ends_text
from heelwise.documents.setup_lifters import WINDOW_KEYS
from heelwise.storage.errors import StorageError, Unreadable
from heelwise.storage.whole_files import read_draft
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
    notes: Mapping[str, list[str]]

    @property
    def whole(self) -> bool:
        """Whether the setup can be written."""
        return not (self.faults or self.missing or self.between) and self.setup is not None


def check(typed: Typed, folder: Path | None = None) -> FormCheck:
    """Check what stands in the fields, by `table.key`, to be saved in a folder; nothing raises."""
    document, wrong = form.setup_from_form(typed)
    setup: Setup | None = None
    try:
        setup = parse_setup(document, FILE)
    except Faulty as faulty:
        wrong += faulty.faults
    texts = {f.where: typed.get(f.where, "").strip() for f in form.fitting(typed)}
    filled = {where: text for where, text in texts.items() if text}
    lacking = form.missing(typed)
    half_filled = {field.table for field in lacking}
    faults: dict[str, Fault] = {}
    between = []
    for fault in wrong:
        place, table = fault.where.partition(" ")[0], fault.where.partition(".")[0]
        if place in filled:
            faults.setdefault(place, fault)
        elif table not in half_filled:
            between.append(fault)
    name = "file.name"
    if folder and name in filled and name not in faults:
        file = f"{form.file_name(filled[name])}.toml"
        if os.path.lexists(folder / file):
            faults[name] = Fault(name, f"{file} is there already", "give it another name")
    understood = {w: form.KINDS[form.FIELD[w].reads] for w in filled if w not in faults}
    return FormCheck(
        {w: kind.understood(kind.read(filled[w])) for w, kind in understood.items()},
        faults,
        tuple(lacking),
        tuple(between),
        setup,
        _notes(document, half_filled, faults),
    )


# ---------------------------------------- what a table's figures come to together


def _notes(
    document: Mapping[str, object], half_filled: set[str], faults: Mapping[str, Fault]
) -> dict[str, list[str]]:
    notes: dict[str, list[str]] = {table: [] for table in form.TABLES}
    at_fault = {*half_filled, *(where.partition(".")[0] for where in faults)}
    readable = as_far_as_read(Setup, document)
    if readable.cam is not None and "cam" not in at_fault:
        cam = readable.cam.make()
        ends = f"Lobe ends: {lobe_ends_text(cam)}: worked out; {cam.source}." if cam else ""
        notes["cam"] += [ends or "Not known: one cylinder at a time, at its TDC on compression."]
    rocker, lifter = readable.rocker, readable.lifter
    pitch_mm = rocker.figure("thread") if rocker else None
    if rocker and pitch_mm and "rocker" not in at_fault and not (lifter and lifter.solid):
        each = show_length(worked_out(pitch_mm, rocker.ratio))
        turn = f"A turn is worth {each} of plunger travel: worked out from thread and ratio."
        notes["rocker"] += [turn]
    for odd in oddities.notes(readable):
        if odd.where not in faults:
            label = f"{form.FIELD[odd.where].label}: " if odd.where in form.FIELD else ""
            notes[odd.where.partition(".")[0]] += [f"{label}{odd.problem}; {odd.instead}."]
    return notes


# ---------------------------------------- what fills it


MOST_DRAFTS = 9
"""Drafts that can't be read are left alone, and the next name is taken, up to this many."""


def draft_text(typed: Typed) -> str | None:
    """What is kept of what stands in the fields; None where nothing does."""
    filled = {where: text for where, text in typed.items() if text}
    return json.dumps({"format": 1, "typed": filled}, indent=1) if filled else None


def open_draft(folder: Path, called: str) -> tuple[str, dict[str, str], list[StorageError]]:
    """The name of the draft to keep, what stands in it, and why earlier ones can't be used."""
    passed_over: list[StorageError] = []
    for name in (called, *(f"{called}-{number}" for number in range(2, MOST_DRAFTS + 1))):
        try:
            return name, _typed_in(read_draft(folder, name), name), passed_over
        except StorageError as error:
            passed_over.append(error)
    return name, {}, passed_over


def _typed_in(text: str | None, name: str) -> dict[str, str]:
    try:
        typed = json.loads(text or '{"typed": {}}')["typed"]
        texts = [(where, value) for where, value in typed.items() if isinstance(value, str)]
    except (ValueError, LookupError, TypeError, AttributeError, RecursionError) as error:
        instead = "look at it, or remove it"
        raise Unreadable("the draft is damaged", f"{name}.draft", instead) from error
    return {where: value[: form.LONGEST_TYPED] for where, value in texts if where in form.FIELD}


MOST_FILES = 200
"""Files looked at, so that a folder of thousands doesn't keep anyone waiting."""


@dataclass(frozen=True)
class Source:
    """A setup file to take from: what goes into the fields, and the keys `left` that have none."""

    path: Path
    summary: str
    typed: Mapping[str, str]
    left: list[str]


def sources_in(paths: Iterable[Path], table: str = "") -> list[Source]:
    """The setups to take from, or those with a table, for that alone.

    What is wrong in one is told once it is taken.
    """
    sources = []
    for path in islice(paths, MOST_FILES):
        try:
            document = read_toml(path) if kind_of(path) is FileKind.SETUP else {}
        except Faulty:
            continue
        if table:
            document = {name: part for name, part in document.items() if name == table}
        typed, left = form.form_values(document)
        window = [typed[w] for key in WINDOW_KEYS if (w := f"lifter.{key}") in typed]
        named = [typed.get(w) for w in ("engine.card", "rocker.mount", "lifter.kind")]
        words = ", ".join(filter(None, (*named, " to ".join(window[:2]))))
        if typed:
            sources.append(Source(path, words, typed, left))
    return sources
