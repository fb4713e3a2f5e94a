"""The form a setup is filled in on: its fields, read from a setup's file and written to one.

A field is declared once, by `FormField` on its table's model; its row here, how its text is read,
written and checked follow. A key that begins with _ steers the form and isn't written.
"""

import re
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from datetime import date
from typing import Any, Literal, NamedTuple, get_args, get_origin

import tomli_w

from heelwise.documents import fields as f
from heelwise.documents import quantities
from heelwise.documents.faults import Fault, QuantityFault, one_of, quoted
from heelwise.documents.files import FORMAT
from heelwise.documents.setup import Setup
from heelwise.documents.setup_engine import NO_CARD
from heelwise.storage.errors import BadName
from heelwise.storage.names import safe_name
from heelwise.wording import counted

LONGEST_TYPED = 500
"""Characters a field takes; what is longer is written by hand."""

_MODELS = {name: model for name, model in f.tables_of(Setup).items() if model and model.form_title}
TABLES: Mapping[str, str] = {"file": "File"} | {
    name: model.form_title for name, model in _MODELS.items()
}
"""The groups of fields in their order; all but the first are tables of the setup."""


_FILE_NAME = f.FormField(
    "Name of the setup | What to call its file: letters, digits, dashes, like harbor-launch-six.",
    needed=f.ALWAYS,
    source="",
    where="file.name",
    reads="name",
)
_CAM_FORM = f.FormField(
    "What the cam card has | Not known: one cylinder at a time, right for any four-stroke cam.",
    needed=f.ALWAYS,
    choices=("timing: durations, separation, centerline", "events: four valve events", "not known"),
    where="cam._form",
    reads="choice",
)


def _rows() -> Iterator[f.FormField]:
    yield _FILE_NAME
    for table, model in _MODELS.items():
        own_first = sorted(model.model_fields, key=lambda key: key not in model.__annotations__)
        for key in own_first:
            where, field = f"{table}.{key}", model.model_fields[key]
            if where == "cam.intake_duration":
                yield _CAM_FORM
            extra = field.json_schema_extra
            if not isinstance(extra, dict) or not isinstance(
                form := extra.get("form"), f.FormField
            ):
                continue
            marks = [*f.inside(field.annotation), *field.metadata]
            literal = next((get_args(m) for m in marks if get_origin(m) is Literal), ())
            choices = literal or form.choices
            reads = "choice" if choices else _read_as(where, marks)
            fits = model.on_form & form.fits
            yield replace(form, where=where, reads=reads, choices=choices, fits=fits)


def _read_as(where: str, marks: list[object]) -> str:
    if where == "engine.card":
        return "card"
    measure = next((mark.name for mark in marks if isinstance(mark, quantities.Measure)), "")
    kinds = {list[int]: "order", list[f.OnHand]: "lengths", date: "date", float: "number"}
    people = "people" if any(get_origin(mark) is dict for mark in marks) else ""
    return measure or people or next((n for kind, n in kinds.items() if kind in marks), "words")


FIELD: Mapping[str, f.FormField] = {field.where: field for field in _rows()}
"""Every field by `table.key`, in the order of the form."""


def fitting(typed: f.Typed) -> list[f.FormField]:
    """The fields to offer beside what stands in them, in the order of the form."""
    return [field for field in FIELD.values() if field.fits.holds(typed)]


def missing(typed: f.Typed) -> list[f.FormField]:
    """The fields that are needed and empty, in the order of the form."""
    empty = (field for field in fitting(typed) if not typed.get(field.where, "").strip())
    return [field for field in empty if field.needed.holds(typed)]


# ---------------------------------------- how the texts of its fields are read


def _number(text: str) -> float:
    number, rest = quantities.typed_number(text, "1.55")
    if rest:
        raise ValueError
    return float(number)


def _people(text: str) -> dict[str, str]:
    people = {}
    for part in filter(str.strip, re.split(r"[,;]", text)):
        initials, _, name = (piece.strip() for piece in part.partition("="))
        if not initials or not name:
            raise ValueError
        people[initials] = name
    return people


def file_name(text: str) -> str:
    """The name a setup is saved under, spaces turned into dashes; BadName."""
    return safe_name("-".join(text.split()))


class Kind(NamedTuple):
    """How a field's text is read, or ValueError; said back; what it is, and an example of it."""

    read: Callable[[str], Any] = str
    understood: Callable[[Any], str] = lambda value: ""
    what: str = ""
    like: str = ""


KINDS = defaultdict(
    Kind,
    {
        "number": Kind(_number, lambda ratio: f"{ratio:g} to 1", "a plain number", "1.55"),
        "date": Kind(
            date.fromisoformat,
            lambda day: f"{day:%B} {day.day}, {day.year}",
            "a date",
            "2026-03-02",
        ),
        "order": Kind(
            lambda text: [int(part) for part in re.split(r"\s*[-–,;]\s*|\s+", text)],
            lambda order: f"{len(order)} cylinders",
            "a firing order",
            "1-3-4-2",
        ),
        "lengths": Kind(
            lambda text: [part.strip() for part in re.split(r";\s*|,\s+|,$", text) if part.strip()],
            lambda lengths: f"{len(lengths)} of them",
        ),
        "people": Kind(
            _people,
            lambda people: counted(len(people), "person", "people"),
            "initials and names",
            "MK = Mary King, JD = John Doe",
        ),
        "name": Kind(file_name, lambda name: f"{name}.toml"),
        **{
            name: Kind(understood=measure.understood)
            for name, measure in quantities.MEASURES.items()
        },
        "degrees": Kind(quantities.degrees, quantities.DEGREES.understood),
    },
)
"""By what a field `reads`; what isn't here is taken as it stands."""


# ---------------------------------------- from the form to a setup


def setup_from_form(typed: f.Typed) -> tuple[dict[str, object], list[Fault]]:
    """Lay what stands in the fields out as a setup's document, not yet checked.

    Fields that don't fit or are empty are passed over. Where one can't be read its bare text stands
    in the document, and there is a fault for it.
    """
    tables: dict[str, dict[str, object]] = {}
    faults = []
    for field in fitting(typed):
        value: object = typed.get(field.where, "").strip()
        if not value or (field.where == "engine.card" and value == NO_CARD):
            continue
        if (field.where, value) == ("cam._form", "not known"):
            tables["cam"] = {"known": False}
        kind = KINDS[field.reads]
        try:
            value = kind.read(str(value))
            if field.choices:
                one_of([choice.partition(":")[0] for choice in field.choices], value)
        except (QuantityFault, BadName) as fault:
            faults.append(Fault.at(field.where, fault))
        except ValueError:
            problem = f"{quoted(value)} isn't {kind.what}"
            faults.append(Fault(field.where, problem, f"write it like {kind.like}"))
        if field.written:
            tables.setdefault(field.table, {})[field.where.partition(".")[2]] = value
    return {"format": FORMAT, **tables}, faults


document_text = tomli_w.dumps
"""Writes a document as a setup's file."""


def setup_text(typed: f.Typed, first: Mapping[str, Any] | None = None) -> str:
    """Write a setup file of what stands in the fields, free of faults; only those filled.

    What has no field is kept of the document the form began with, but of its engine and cam.
    """
    document: dict[str, Any] = setup_from_form(typed)[0]
    for name, table in (first or {}).items():
        if isinstance(table, Mapping) and name not in ("engine", "cam"):
            more = {k: v for k, v in table.items() if f"{name}.{k}" not in FIELD}
            document |= {name: {**document.get(name, {}), **more}} if more else {}
    return document_text(document)


# ---------------------------------------- from a setup to the form

_TOLD_BY = {
    "engine.firing_order": ("engine.card", NO_CARD),
    "cam.known": ("cam._form", "not known"),
    "cam.intake_duration": ("cam._form", "timing"),
    "cam.intake_opens_btdc": ("cam._form", "events"),
}
"""What steers the form, by the keys of a setup that tell it."""


def form_values(document: Mapping[str, object]) -> tuple[dict[str, str], list[str]]:
    """Fill the fields from a setup's document as TOML gives it, whole or some of its tables.

    Returns what to put in the fields, and the keys that have no field or whose field does not fit
    the others, as `table.key`.
    """
    typed: dict[str, str] = {}
    left = []
    for name, table in document.items():
        if not isinstance(table, Mapping):
            left += [] if name == "format" else [name]
            continue
        for key, value in table.items():
            where, text = f"{name}.{key}", _as_typed(value)
            if where in _TOLD_BY and value is not True:
                typed.setdefault(*_TOLD_BY[where])
            if where in FIELD and len(text) <= LONGEST_TYPED:
                typed[where] = text
            elif where != "cam.known":
                left.append(where)
    offered = {field.where for field in fitting(typed)}
    return typed, [*left, *(where for where in typed if where not in offered)]


def _as_typed(value: object) -> str:
    if isinstance(value, Mapping):
        return ", ".join(f"{key} = {text}" for key, text in value.items())
    if isinstance(value, list):
        numbers = all(isinstance(member, int) for member in value)
        return ("-" if numbers else ", ").join(map(str, value))
    return f"{value:g}" if isinstance(value, float) and f"{value:g}" == str(value) else str(value)
