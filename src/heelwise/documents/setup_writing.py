"""A setup written from the fields of a form, and the fields filled from a setup."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import date

import tomli_w

from heelwise.documents.faults import Fault, quoted
from heelwise.documents.form_fields import LONGEST_TYPED, NO_CARD, TABLES, FormField, Typed
from heelwise.documents.quantities import QuantityFault, degrees
from heelwise.documents.setup import FORMAT
from heelwise.documents.setup_fields import FIELD, fitting
from heelwise.documents.setup_tables import EVENT_KEYS
from heelwise.documents.typed_numbers import typed_number
from heelwise.storage.errors import BadName
from heelwise.storage.names import safe_name

_BETWEEN_NUMBERS = re.compile(r"\s*[-–,;]\s*|\s+")
_BETWEEN_LENGTHS = re.compile(r";\s*|,\s+|,$")
_MOST_CYLINDERS = 24


def _number(text: str) -> float:
    example = "1.6"
    number, rest = typed_number(text, example)
    if rest:
        raise QuantityFault(f"{quoted(text)} is no number alone", f"write it like {example}")
    return float(number)


def _date(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        example = "year, month, day: 2026-03-02"
        raise QuantityFault(f"{quoted(text)} is no date", f"write {example}") from error


def _order(text: str) -> list[int]:
    parts = _BETWEEN_NUMBERS.split(text)[: _MOST_CYLINDERS + 1]
    if not all(part.isascii() and part.isdigit() and len(part) <= 2 for part in parts):
        raise QuantityFault(f"{quoted(text)} is no firing order", "write it like 1-3-4-2")
    return [int(part) for part in parts]


def _lengths(text: str) -> list[str]:
    return [part.strip() for part in _BETWEEN_LENGTHS.split(text) if part.strip()]


def _name(text: str) -> str:
    try:
        return safe_name(text)
    except BadName as error:
        raise QuantityFault(error.problem, error.instead) from error


_READERS: Mapping[str, Callable[[str], object]] = {
    "number": _number,
    "degrees": degrees,
    "date": _date,
    "order": _order,
    "lengths": _lengths,
    "name": _name,
}
"""Readers of what TOML holds as something other than the text typed."""


def value_of(field: FormField, text: str) -> object:
    """Read a field's text as it is written.

    Args:
        field: The field.
        text: What stands in it, without the spaces around it.

    Returns:
        A number, a date, a list, or the text itself.

    Raises:
        QuantityFault: If it can't be that.
    """
    read = _READERS.get(field.reads)
    return text if read is None else read(text)


def document_of(typed: Typed) -> tuple[dict[str, object], list[Fault]]:
    """Lay out what stands in the fields as a setup's document.

    Args:
        typed: What stands in the fields; those that don't fit or are empty are passed over.

    Returns:
        The document, not yet checked, its tables in the order of the form, with the bare text
        where a field can't be read; and a fault for each of those.
    """
    tables: dict[str, dict[str, object]] = {}
    faults = []
    for field in fitting(typed):
        text = typed.get(field.where, "").strip()
        if not text or (field.key == "card" and text == NO_CARD):
            continue
        try:
            value = value_of(field, text)
        except QuantityFault as fault:
            value = text
            faults.append(Fault(field.where, fault.problem, fault.instead))
        if field.written:
            tables.setdefault(field.table, {})[field.key] = value
        elif (field.where, text) == ("cam._form", "not known"):
            tables["cam"] = {"known": False}
    return {"format": FORMAT, **tables}, faults


def setup_text(typed: Typed) -> str:
    """Write a setup file of what stands in the fields.

    Args:
        typed: What stands in the fields, free of faults.

    Returns:
        The file's text; only the fields filled are in it.

    Raises:
        ValueError: If a field can't be read.
    """
    document, faults = document_of(typed)
    if faults:
        raise ValueError(str(faults[0]))
    return tomli_w.dumps(document)


def typed_of(document: Mapping[str, object]) -> tuple[dict[str, str], list[str]]:
    """Fill the fields from a setup's document.

    Args:
        document: A setup as TOML gives it, whole or some of its tables.

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
            if where in FIELD and name in TABLES and len(text) <= LONGEST_TYPED:
                typed[where] = text
            elif where != "cam.known":
                left.append(where)
    typed |= _steering(document, typed)
    offered = {field.where for field in fitting(typed)}
    return typed, [*left, *(where for where in typed if where not in offered)]


def _as_typed(value: object) -> str:
    if isinstance(value, list):
        numbers = all(isinstance(member, int) for member in value)
        return ("-" if numbers else ", ").join(map(str, value))
    return f"{value:g}" if isinstance(value, float) and f"{value:g}" == str(value) else str(value)


def _steering(document: Mapping[str, object], typed: Typed) -> dict[str, str]:
    """The choices that steer the form, told from what is filled."""
    found: dict[str, str] = {}
    if "engine.firing_order" in typed and "engine.card" not in typed:
        found["engine.card"] = NO_CARD
    cam = document.get("cam")
    if isinstance(cam, Mapping):
        events = any(key in cam for key in EVENT_KEYS)
        found["cam._form"] = "events" if events else "timing"
        if cam.get("known") is False:
            found["cam._form"] = "not known"
    if "pushrods.on_hand" in typed:
        found["pushrods._to_be_had"] = "on hand"
    elif "pushrods.sold_from" in typed:
        found["pushrods._to_be_had"] = "sold"
    if "lash.chart" in typed:
        found["lash._growth"] = "chart"
    elif "lash.block" in typed:
        found["lash._growth"] = "materials"
    return found
