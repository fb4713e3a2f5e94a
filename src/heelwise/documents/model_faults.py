"""What pydantic found wrong, said in plain words."""

import re
from collections.abc import Callable, Iterable, Mapping
from difflib import get_close_matches
from typing import Any, get_args

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from heelwise.documents.faults import Fault, quoted, where_text
from heelwise.documents.typed_numbers import QuantityFault

_Said = tuple[str, str]
_MOST_LISTED = 15
_MOST_WORDED = 1000
_QUOTED = re.compile(r"'([^']*)'")


def faults_of(
    error: ValidationError,
    where: str = "",
    model: type[BaseModel] | None = None,
    tagged: bool = False,
) -> list[Fault]:
    """Put every fault pydantic found into plain words.

    Args:
        error: What pydantic raised.
        where: What stands before each key: "lifter", "reading 3"; nothing for a whole document.
        model: The model validated, so that a mistyped key gets a suggestion.
        tagged: The model is one of a union told apart by a tag, which pydantic puts first in
            each place and a reader should not see.

    Returns:
        One fault per error, in pydantic's order; of a thousand and more, the first thousand.
    """
    found = []
    for item in error.errors(include_url=False)[:_MOST_WORDED]:
        place = item["loc"][1:] if tagged else item["loc"]
        known = _known_keys(model, place[:-1])
        problem, instead = _in_words(item["type"], item["input"], item.get("ctx", {}), place, known)
        if item["type"] == "missing":
            instead = _as_in_the_form(model, place)
        at = where_text(place) if place else ""
        found.append(
            Fault(".".join(part for part in (where, at) if part) or "file", problem, instead)
        )
    return found


def did_you_mean(typed: str, known: Iterable[str], of_what: str = "the keys here are") -> str:
    """Suggest what a mistyped word may have been meant for.

    Args:
        typed: As it stands in the document.
        known: The words that would do.
        of_what: What to say before listing them all, when none is near.

    Returns:
        "did you mean firing_order?", or all the words there are.
    """
    words = sorted(known)
    near = get_close_matches(typed[:80], words, n=1, cutoff=0.6)
    if near:
        return f"did you mean {near[0]}?"
    listed = ", ".join(words[:_MOST_LISTED])
    more = len(words) - _MOST_LISTED
    listed += f" and {more} more" if more > 0 else ""
    return f"{of_what} {listed}" if words else "leave it out"


def _owner(model: type[BaseModel] | None, place: Iterable[int | str]) -> type[BaseModel] | None:
    """The model of the table at a place."""
    for part in place:
        if model is not None and isinstance(part, str):
            field = _field(model, part)
            model = None if field is None else _first_model(field.annotation)
    return model


def _known_keys(model: type[BaseModel] | None, place: Iterable[int | str]) -> list[str]:
    owner = _owner(model, place)
    return [] if owner is None else [f.alias or name for name, f in owner.model_fields.items()]


def _as_in_the_form(model: type[BaseModel] | None, place: tuple[int | str, ...]) -> str:
    owner = _owner(model, place[:-1])
    field = None if owner is None else _field(owner, str(place[-1]))
    examples = field.examples if field is not None else None
    return f"add it, like {examples[0]}" if examples else "add it"


def _field(model: type[BaseModel], key: str) -> FieldInfo | None:
    for name, field in model.model_fields.items():
        if key in (name, field.alias):
            return field
    return None


def _first_model(annotation: object) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    found = (_first_model(inner) for inner in get_args(annotation))
    return next((model for model in found if model is not None), None)


def _in_words(
    kind: str,
    value: object,
    context: Mapping[str, Any],
    place: tuple[int | str, ...],
    known: Iterable[str],
) -> _Said:
    raised = context.get("error")
    if isinstance(raised, QuantityFault):
        return raised.problem, raised.instead
    if kind == "extra_forbidden":
        return "there is no such key", did_you_mean(str(place[-1]), known)
    if kind in _FIXED:
        return _FIXED[kind]
    if kind in _TYPES:
        return _wrong_type(kind, value)
    if kind in _LIMITS:
        return _LIMITS[kind](value, context)
    return f"{quoted(value)} can't be used here", "see the form in the README"


_FIXED: dict[str, _Said] = {
    "missing": ("is missing", "add it"),
    "finite_number": ("is no finite number", "write a plain number"),
}

_TYPES = {
    "string_type": 'text in quotes, like "..."',
    "float_type": "a number",
    "float_parsing": "a number",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "int_parsing": "a whole number",
    "int_parsing_size": "a whole number of fewer digits",
    "bool_type": "true or false",
    "bool_parsing": "true or false",
    "list_type": "an array, like [1, 2]",
    "tuple_type": "an array, like [1, 2]",
    "dict_type": "a table",
    "model_type": "a table",
    "model_attributes_type": "a table",
    "mapping_type": "a table",
    "date_type": "a date without quotes, like 2026-03-02",
    "date_from_datetime_inexact": "a date without a time, like 2026-03-02",
    "date_from_datetime_parsing": "a date without quotes, like 2026-03-02",
    "datetime_type": "a date and time with its offset, like 2026-03-02T09:30:00+01:00",
    "timezone_aware": "a date and time with its offset, like 2026-03-02T09:30:00+01:00",
}


def _wrong_type(kind: str, value: object) -> _Said:
    wanted = _TYPES[kind]
    if isinstance(value, str) and wanted.startswith(("a number", "a whole number")):
        return f"{quoted(value)} is text, not a number", "write a number without quotes"
    if wanted == "a table" and isinstance(value, list):
        return "is an array of tables", "write [name] once, not [[name]]"
    return f"is {quoted(value)}", f"write {wanted}"


def _choices(value: object, context: Mapping[str, Any]) -> _Said:
    listed = _QUOTED.findall(str(context["expected"]))
    by_case = {word.lower(): word for word in listed}
    found = get_close_matches(str(value)[:80].lower(), by_case, n=1, cutoff=0.6)
    near = [by_case[word] for word in found]
    hint = f"did you mean {quoted(near[0])}? " if near else ""
    return f"is {quoted(value)}", f"{hint}write one of: {', '.join(map(quoted, listed))}"


def _limit(words: str, key: str) -> Callable[[object, Mapping[str, Any]], _Said]:
    def said(value: object, context: Mapping[str, Any]) -> _Said:
        limit = context[key]
        number = f"{limit:g}" if isinstance(limit, int | float) else str(limit)
        return f"is {quoted(value)}", f"write {words} {number}"

    return said


def _tag(value: object, context: Mapping[str, Any]) -> _Said:
    tag = context.get("tag")
    problem = f"there is no kind {quoted(tag)}" if tag is not None else "kind is missing"
    return problem, "this program writes kinds it knows; was the file made by a newer one?"


def _length(problem: str, instead: str) -> Callable[[object, Mapping[str, Any]], _Said]:
    def said(value: object, context: Mapping[str, Any]) -> _Said:
        return problem.format(**context), instead.format(**context)

    return said


_LIMITS: dict[str, Callable[[object, Mapping[str, Any]], _Said]] = {
    "literal_error": _choices,
    "enum": _choices,
    "greater_than": _limit("a number above", "gt"),
    "greater_than_equal": _limit("at least", "ge"),
    "less_than": _limit("a number below", "lt"),
    "less_than_equal": _limit("at most", "le"),
    "too_short": _length("has too few members ({actual_length})", "give at least {min_length}"),
    "too_long": _length("has too many members", "give at most {max_length}"),
    "string_too_short": _length("is empty or too short", "write at least {min_length} characters"),
    "string_too_long": _length("is too long", "write at most {max_length} characters"),
    "string_pattern_mismatch": _length("can't be written so", "it must match {pattern}"),
    "union_tag_invalid": _tag,
    "union_tag_not_found": _tag,
}
