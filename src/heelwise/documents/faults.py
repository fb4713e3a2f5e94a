"""What is wrong with a document or a typed figure, where, and what would be right."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import TYPE_CHECKING, Any, get_args

from heelwise.plain_text import one_line

if TYPE_CHECKING:
    from pydantic import BaseModel, ValidationError
    from pydantic.fields import FieldInfo

MOST_LISTED = 200
"""Faults listed of one document; after those, how many more there are."""

FILE = "file"
"""The ``where`` of a fault of the whole file."""

_MOST_WORDED = 1000
_MOST_SUGGESTED = 15


@dataclass(frozen=True)
class Fault:
    """One thing wrong with a document.

    `where`: ``table.key`` ("lifter.least_turns", "reading 3.turns"), "line 7", or "file".
    `problem`: what is wrong. `instead`: what would be right.
    """

    where: str
    problem: str
    instead: str

    @classmethod
    def at(cls, where: str, error: Any) -> Fault:
        """The `problem` and `instead` of an error or another fault, at a place."""
        return cls(where, error.problem, error.instead)

    def __str__(self) -> str:
        return one_line(f"{self.where}: {self.problem}; {self.instead}", limit=500)


class Faulty(Exception):
    """A document that can't be used; `file` as the user named it, `faults` at least one."""

    def __init__(self, file: str, faults: Iterable[Fault]) -> None:
        self.file = file
        self.faults = tuple(faults)
        super().__init__(file, self.faults)

    def lines(self) -> tuple[str, ...]:
        """One line per fault: ``file: table.key: what is wrong; what would be right``."""
        return tuple(f"{one_line(self.file)}: {fault}" for fault in self.faults)

    def __str__(self) -> str:
        return "\n".join(self.lines())


class QuantityFault(ValueError):
    """A typed text that can't be read as what is wanted."""

    def __init__(self, problem: str, instead: str) -> None:
        super().__init__(f"{problem}; {instead}")
        self.problem = problem
        self.instead = instead


def quoted(value: object, limit: int = 40) -> str:
    """A value of a document inside a sentence, cut and made plain; a table by that word."""
    if isinstance(value, str):
        return f'"{one_line(value, limit)}"'
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int) and abs(value) >= 10**20:
        return "a huge number"  # Python itself refuses to write one of 4,301 digits
    if isinstance(value, float) and abs(value) < 1e6 and value.is_integer():
        return str(int(value))
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list | tuple):
        return "an array"
    return one_line(str(value), limit)


def where_text(path: Iterable[object], raw: Any = None) -> str:
    """Write keys and indexes (from 0): ``("reading", 2, "turns")`` is "reading 3.turns".

    `raw`: the document; a row of it that has an id is told with it: "step 3 (heads).say".
    """
    text = ""
    for part in path:
        try:
            raw = raw[part]
        except (LookupError, TypeError):
            raw = None
        text += f" {part + 1}" if isinstance(part, int) else f".{one_line(str(part), 60)}"
        if isinstance(part, int) and isinstance(raw, Mapping) and isinstance(raw.get("id"), str):
            text += f" ({one_line(raw['id'], 64)})"
    return text.strip(" .") or FILE


def in_order(faults: Iterable[Fault], tables: Iterable[str]) -> list[Fault]:
    """Put faults in the order of their document's tables, each once: at most `MOST_LISTED`."""
    order = {name: place for place, name in enumerate(tables)}

    def place(fault: Fault) -> tuple[int, int]:
        table, number = re.findall(r"[^ .]+", f"{fault.where} 0 0")[:2]
        return order.get(table, len(order)), int(number) if number.isdecimal() else 0

    ordered = sorted(dict.fromkeys(faults), key=place)
    more = len(ordered) - MOST_LISTED
    if more <= 0:
        return ordered
    return [*ordered[:MOST_LISTED], Fault(FILE, f"has {more:,} more faults", "fix these first")]


def did_you_mean(typed: str, known: Iterable[str], lead: str = "the keys here are") -> str:
    """Suggest the nearest of the words that would do; where none is near, list them."""
    words = {word.casefold(): word for word in sorted(known)}
    if near := get_close_matches(typed[:80].casefold(), words, n=1):
        return f"did you mean {words[near[0]]}?"
    more = len(words) - _MOST_SUGGESTED
    rest = f" and {more} more" if more > 0 else ""
    return (
        f"{lead} {', '.join([*words.values()][:_MOST_SUGGESTED])}{rest}"
        if words
        else "leave it out"
    )


# ---------------------------------------- what pydantic says, in plain words


def faults_of(
    error: ValidationError,
    where: str = "",
    model: type[BaseModel] | None = None,
    raw: Mapping[str, object] | None = None,
) -> list[Fault]:
    """Put every error pydantic found into plain words, in its order; the first thousand.

    `where`: what stands before each key: "lifter", "reading 3". `model`: the one validated, by
    which a mistyped key gets a suggestion. `raw`: the document, for the names of its rows.
    """
    faults = []
    for item in error.errors(include_url=False)[:_MOST_WORDED]:
        place, kind = item["loc"], item["type"]
        problem, instead = _in_words(kind, item["input"], item.get("ctx", {}))
        if kind in ("missing", "extra_forbidden"):
            fields, key = _fields_at(model, place[:-1]), str(place[-1])
            examples = fields[key].examples if key in fields else None
            if kind == "extra_forbidden":
                instead = did_you_mean(key, fields)
            elif examples:
                instead = f"add it, like {examples[0]}"
        at = where_text(place, raw) if place else ""
        faults.append(Fault(".".join(filter(None, (where, at))) or FILE, problem, instead))
    return faults


def _fields_at(model: type[BaseModel] | None, place: Iterable[int | str]) -> dict[str, FieldInfo]:
    """The fields of the table at a place, by their keys in the document."""
    for part in (*place, None):
        named = model.model_fields.items() if model is not None else ()
        fields = {field.alias or name: field for name, field in named}
        if isinstance(part, str):
            model = first_model(fields[part].annotation) if part in fields else None
    return fields


def first_model(annotation: object) -> type[BaseModel] | None:
    """The first model inside an annotation like ``list[Step] | None``."""
    if isinstance(annotation, type) and hasattr(annotation, "model_fields"):
        return annotation
    models = (first_model(inner) for inner in get_args(annotation))
    return next((model for model in models if model is not None), None)


_WANTED = {
    "string_type": 'text in quotes, like "..."',
    "float_type": "a number",
    "int_type": "a whole number",
    "bool_type": "true or false",
    "list_type": "an array, like [1, 2]",
    "dict_type": "a table",
    "model_type": "a table",
    "date_type": "a date without quotes, like 2026-03-02",
    "datetime_type": "a date and time with its offset, like 2026-03-02T09:30:00+01:00",
}
_FIXED = {
    "missing": ("is missing", "add it"),
    "extra_forbidden": ("there is no such key", "leave it out"),
    "finite_number": ("isn't a finite number", "write a plain number"),
    "too_short": ("has too few members ({actual_length})", "give at least {min_length}"),
    "too_long": ("has too many members", "give at most {max_length}"),
    "string_too_short": ("is empty or too short", "write at least {min_length} characters"),
    "string_too_long": ("is too long", "write at most {max_length} characters"),
    "string_pattern_mismatch": ("can't be written so", "it must match {pattern}"),
    "greater_than": ("is {value}", "write a number above {gt:g}"),
    "greater_than_equal": ("is {value}", "write at least {ge:g}"),
    "less_than": ("is {value}", "write a number below {lt:g}"),
    "less_than_equal": ("is {value}", "write at most {le:g}"),
}


def _in_words(kind: str, value: object, context: Mapping[str, Any]) -> tuple[str, str]:
    raised = context.get("error")
    if isinstance(raised, QuantityFault):
        return raised.problem, raised.instead
    if kind in _WANTED:
        return _wrong_type(_WANTED[kind], value)
    if kind in ("literal_error", "enum"):
        words = re.findall(r"'([^']*)'", str(context["expected"]))
        return f"is {quoted(value)}", did_you_mean(str(value), words, "write one of:")
    problem, instead = _FIXED.get(kind, ("{value} can't be used here", "see the README's form"))
    filled = {**context, "value": quoted(value)}
    return problem.format(**filled), instead.format(**filled)


def _wrong_type(wanted: str, value: object) -> tuple[str, str]:
    if isinstance(value, str) and "number" in wanted:
        return f"{quoted(value)} is text, not a number", "write a number without quotes"
    if wanted == "a table" and isinstance(value, list):
        return "is an array of tables", "write [name] once, not [[name]]"
    if wanted.startswith("an array") and isinstance(value, dict):
        return "is a table", "write an array: [[name]] for tables, [1, 2] for values"
    return f"is {quoted(value)}", f"write {wanted}"


def one_of(words: Sequence[str], value: object) -> str:
    """A value that must be one of some words, or QuantityFault."""
    if value not in words:
        raise QuantityFault(f"is {quoted(value)}", did_you_mean(str(value), words, "write one of:"))
    return str(value)
