"""The form a setup is filled in on: its fields, read from a setup's file and written to one.

A field is declared once, by `Asked` on its table's model; its row here, how its text is read,
written and checked follow. A key that begins with _ steers the form and isn't written.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal, get_args, get_origin

import tomli_w

from heelwise.documents.faults import Fault, QuantityFault, first_model, quoted
from heelwise.documents.fields import OnHand, Table, inside
from heelwise.documents.form_rules import (
    ALWAYS,
    HYDRAULIC,
    MOUNTED,
    SOLID,
    STUD,
    Asked,
    Typed,
    holds,
    same,
)
from heelwise.documents.quantities import Measure, degrees
from heelwise.documents.setup import FORMAT, Setup
from heelwise.documents.setup_engine import EVENT_KEYS, NO_CARD
from heelwise.documents.typed_numbers import typed_number
from heelwise.storage.errors import BadName
from heelwise.storage.names import safe_name
from heelwise.valvetrain.growth import CHART_SOURCE

LONGEST_TYPED = 500
"""Characters a field takes; what is longer is written by hand."""

_MODELS: dict[str, type[Table]] = {
    name: model
    for name, field in Setup.model_fields.items()
    if (model := first_model(field.annotation)) and issubclass(model, Table) and model.form_title
}
TABLES: Mapping[str, str] = {"file": "File"} | {
    name: model.form_title for name, model in _MODELS.items()
}
"""The groups of fields in their order; all but the first are tables of the setup."""


@dataclass(frozen=True, kw_only=True)
class FormField(Asked):
    """One field: `table.key`, and how its text is read.

    `reads`: "name", "words", "card", "order", "choice", "number", "date", "lengths", "people", or
    the name of a measure.
    """

    where: str
    reads: str

    @property
    def table(self) -> str:
        """The table it is written in."""
        return self.where.partition(".")[0]

    @property
    def key(self) -> str:
        """Its key there."""
        return self.where.partition(".")[2]

    @property
    def written(self) -> bool:
        """Whether it is written as it stands."""
        return self.table != "file" and not self.key.startswith("_")


def _row(where: str, reads: str, asked: Asked) -> FormField:
    return FormField(where=where, reads=reads, **vars(asked))


_FILE_NAME = Asked(
    "Name of the setup | What to call its file: letters, digits, dashes, like harbor-launch-six.",
    needed=ALWAYS,
    source="",
)
_CAM_FORM = Asked(
    "What the cam card has | Not known: one cylinder at a time, right for any four-stroke cam.",
    needed=ALWAYS,
    choices=(
        ("timing", "durations, separation, centerline"),
        ("events", "four valve events"),
        ("not known", "not known"),
    ),
)
_AVAILABLE = Asked(
    "Lengths available | The length sets the preload here: the walk picks from those available.",
    fits=HYDRAULIC & MOUNTED & ~STUD,
    without="the walk can judge, but can't name the pushrods to buy",
    choices=same(("sold", "on hand")),
)
_GROWTH = Asked(
    f"Hot to cold by | Chart: {CHART_SOURCE}. Materials: worked out from what grows.",
    fits=SOLID & holds("lash.measured", "hot"),
    needed=ALWAYS,
    choices=same(("chart", "materials")),
)
_STEERING: Mapping[str, tuple[str, Asked]] = {
    "cam.intake_duration": ("cam._form", _CAM_FORM),
    "pushrods.sold_from": ("pushrods._available", _AVAILABLE),
    "lash.chart": ("lash._growth", _GROWTH),
}
"""Choices that steer the form, by the field each stands before."""


def _rows() -> Iterator[FormField]:
    yield _row("file.name", "name", _FILE_NAME)
    for table, model in _MODELS.items():
        own_first = sorted(model.model_fields, key=lambda key: key not in model.__annotations__)
        for key in own_first:
            where, field = f"{table}.{key}", model.model_fields[key]
            if where in _STEERING:
                steering, choice = _STEERING[where]
                yield _row(steering, "choice", choice)
            extra = field.json_schema_extra
            asked = extra.get("asked") if isinstance(extra, dict) else None
            if isinstance(asked, Asked):
                marks = [*inside(field.annotation), *field.metadata]
                fits = model.on_form & asked.fits
                yield _of_model(where, marks, replace(asked, fits=fits))


def _of_model(where: str, marks: list[object], asked: Asked) -> FormField:
    literal = next((mark for mark in marks if get_origin(mark) is Literal), None)
    if literal is not None:
        asked = replace(asked, choices=same(get_args(literal)))
    return _row(where, "choice" if asked.choices else _read_as(where, marks), asked)


def _read_as(where: str, marks: list[object]) -> str:
    if where == "engine.card":
        return "card"
    measure = next((mark for mark in marks if isinstance(mark, Measure)), None)
    if measure is not None:
        return measure.name
    kinds = {list[int]: "order", list[OnHand]: "lengths", date: "date", float: "number"}
    people = any(get_origin(mark) is dict for mark in marks)
    return "people" if people else next((n for kind, n in kinds.items() if kind in marks), "words")


FIELDS: tuple[FormField, ...] = tuple(_rows())
"""Every field, in the order of the form."""

FIELD: Mapping[str, FormField] = {field.where: field for field in FIELDS}
"""Every field by `table.key`."""


def fitting(typed: Typed) -> list[FormField]:
    """The fields to offer beside what stands in them, in the order of the form."""
    return [field for field in FIELDS if field.fits(typed)]


def missing(typed: Typed) -> list[FormField]:
    """The fields that are needed and empty, in the order of the form."""
    return [
        field
        for field in fitting(typed)
        if field.needed(typed) and not typed.get(field.where, "").strip()
    ]


# ---------------------------------------- from the form to a setup

_BETWEEN_NUMBERS = re.compile(r"\s*[-–,;]\s*|\s+")
_BETWEEN_LENGTHS = re.compile(r";\s*|,\s+|,$")
_MOST_CYLINDERS = 24


def _number(text: str) -> float:
    number, rest = typed_number(text, "1.55")
    if rest:
        raise QuantityFault(f"{quoted(text)} isn't a plain number", "write it like 1.55")
    return float(number)


def _date(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        instead = "write year, month, day: 2026-03-02"
        raise QuantityFault(f"{quoted(text)} isn't a date", instead) from error


def _order(text: str) -> list[int]:
    parts = _BETWEEN_NUMBERS.split(text)[: _MOST_CYLINDERS + 1]
    if not all(part.isascii() and part.isdigit() and len(part) <= 2 for part in parts):
        raise QuantityFault(f"{quoted(text)} isn't a firing order", "write it like 1-3-4-2")
    return [int(part) for part in parts]


def _lengths(text: str) -> list[str]:
    return [part.strip() for part in _BETWEEN_LENGTHS.split(text) if part.strip()]


def _people(text: str) -> dict[str, str]:
    people = {}
    for part in re.split(r"[,;]", text):
        if part.strip():
            initials, _, name = (piece.strip() for piece in part.partition("="))
            if not initials or not name:
                problem = f"{quoted(part)} doesn't name a person"
                raise QuantityFault(problem, "write it like MK = Mary King, JD = John Doe")
            people[initials] = name
    return people


def file_name(text: str) -> str:
    """The name a setup is saved under: spaces are turned into dashes."""
    try:
        return safe_name("-".join(text.split()))
    except BadName as error:
        raise QuantityFault(error.problem, error.instead) from error


_READERS: Mapping[str, Callable[[str], object]] = {
    "number": _number,
    "degrees": degrees,
    "date": _date,
    "order": _order,
    "lengths": _lengths,
    "people": _people,
    "name": file_name,
}
"""Readers of what TOML holds as something other than the text typed."""


def value_of(field: FormField, text: str) -> object:
    """A field's text as it is written: a number, a date, a list, or the text itself."""
    read = _READERS.get(field.reads)
    return text if read is None else read(text)


def setup_from_form(typed: Typed) -> tuple[dict[str, object], list[Fault]]:
    """Lay what stands in the fields out as a setup's document, not yet checked.

    Fields that don't fit or are empty are passed over.

    Returns:
        The document, with the bare text where a field can't be read; and a fault for each of those.
    """
    tables: dict[str, dict[str, object]] = {}
    faults = []
    for field in fitting(typed):
        text = typed.get(field.where, "").strip()
        if not text or (field.where == "engine.card" and text == NO_CARD):
            continue
        try:
            value = value_of(field, text)
        except QuantityFault as fault:
            value = text
            faults.append(Fault.at(field.where, fault))
        if field.written:
            tables.setdefault(field.table, {})[field.key] = value
        elif (field.where, text) == ("cam._form", "not known"):
            tables["cam"] = {"known": False}
    return {"format": FORMAT, **tables}, faults


def setup_text(typed: Typed) -> str:
    """Write a setup file of what stands in the fields, free of faults; only those filled."""
    return tomli_w.dumps(setup_from_form(typed)[0])


# ---------------------------------------- from a setup to the form


def form_values(document: Mapping[str, object]) -> tuple[dict[str, str], list[str]]:
    """Fill the fields from a setup's document as TOML gives it, whole or some of its tables.

    Returns:
        What to put in the fields, and the keys that have no field or whose field does not fit
        the others, as `table.key`.
    """
    typed: dict[str, str] = {}
    left = []
    for name, table in document.items():
        if name == "format":
            continue
        if not isinstance(table, Mapping):
            left.append(name)
            continue
        for key, value in table.items():
            where = f"{name}.{key}"
            text = _as_typed(value)
            if where in FIELD and len(text) <= LONGEST_TYPED:
                typed[where] = text
            elif where != "cam.known":
                left.append(where)
    typed |= _steering(document, typed)
    offered = {field.where for field in fitting(typed)}
    return typed, [*left, *(where for where in typed if where not in offered)]


def _as_typed(value: object) -> str:
    if isinstance(value, Mapping):
        return ", ".join(f"{key} = {text}" for key, text in value.items())
    if isinstance(value, list):
        numbers = all(isinstance(member, int) for member in value)
        return ("-" if numbers else ", ").join(map(str, value))
    return f"{value:g}" if isinstance(value, float) and f"{value:g}" == str(value) else str(value)


def _steering(document: Mapping[str, object], typed: Typed) -> dict[str, str]:
    steering: dict[str, str] = {}
    if "engine.firing_order" in typed and "engine.card" not in typed:
        steering["engine.card"] = NO_CARD
    cam = document.get("cam")
    if isinstance(cam, Mapping):
        events = any(key in cam for key in EVENT_KEYS)
        steering["cam._form"] = "events" if events else "timing"
        if cam.get("known") is False:
            steering["cam._form"] = "not known"
    for where, steers, choice in (
        ("pushrods.sold_from", "pushrods._available", "sold"),
        ("pushrods.on_hand", "pushrods._available", "on hand"),
        ("lash.block", "lash._growth", "materials"),
        ("lash.chart", "lash._growth", "chart"),
    ):
        if where in typed:
            steering[steers] = choice
    return steering
