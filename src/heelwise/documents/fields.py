"""The base of a document's tables, which finds all faults at once, and the types of fields."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from copy import deepcopy
from dataclasses import dataclass
from functools import cache
from math import inf
from typing import Annotated, Any, ClassVar, NamedTuple, Self, TypeVar, get_args, get_origin

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    Field,
    ModelWrapValidatorHandler,
    PlainValidator,
    ValidationError,
    model_validator,
)
from pydantic_core import InitErrorDetails

from heelwise.documents.faults import (
    Fault,
    Faulty,
    QuantityFault,
    faults_of,
    first_model,
    in_order,
    quoted,
    where_text,
)
from heelwise.documents.files import FORMAT, known_format
from heelwise.documents.quantities import DEGREES, LENGTH, THREAD, TORQUE, TURNS, Measure, length_mm
from heelwise.plain_text import plain
from heelwise.valvetrain.engine import Valve

# ---------------------------------------- what the form asks

Typed = Mapping[str, str]
"""What stands in the form's fields, by `table.key`; a choice by its value."""

SHEET, READ, CARD = "the spec sheet", "a reading", "the engine card"


class Rule(NamedTuple):
    """Tells something of a field from what stands in the others; rules join by &, | and ~."""

    holds: Callable[[Typed], bool]

    def __and__(self, other: Rule) -> Rule:
        return Rule(lambda typed: self.holds(typed) and other.holds(typed))

    def __or__(self, other: Rule) -> Rule:
        return Rule(lambda typed: self.holds(typed) or other.holds(typed))

    def __invert__(self) -> Rule:
        return Rule(lambda typed: not self.holds(typed))


ALWAYS, NEVER = Rule(lambda typed: True), Rule(lambda typed: False)


def holds(where: str, *values: str) -> Rule:
    """Where a field holds one of some values."""
    return Rule(lambda typed: typed.get(where, "") in values)


def filled(where: str) -> Rule:
    """Where something stands in a field."""
    return Rule(lambda typed: bool(typed.get(where, "").strip()))


HYDRAULIC = holds("lifter.kind", "hydraulic roller", "hydraulic flat tappet")
SOLID = holds("lifter.kind", "solid roller", "solid flat tappet")
MOUNTED = filled("rocker.mount")
STUD = holds("rocker.mount", "stud")
TORQUED = holds("rocker.mount", "bolt-down", "shaft")


@dataclass(frozen=True)
class FormField:
    """A field of the form: `text` is "label | what is wanted, with an example".

    `fits`: when it is offered, `needed`: when the setup can't be used without it, by what stands in
    the other fields. `without`: what leaving it out means. `source`: where its figure is taken to
    come from. `choices`: its values, "value: what it is called" where that differs. The form itself
    adds `where`, its `table.key`, and the kind of text it `reads`.
    """

    text: str
    fits: Rule = ALWAYS
    needed: Rule = NEVER
    without: str = ""
    source: str = SHEET
    choices: tuple[str, ...] = ()
    where: str = ""
    reads: str = ""

    @property
    def label(self) -> str:
        """What it is called."""
        return self.text.partition(" | ")[0]

    @property
    def hint(self) -> str:
        """What is wanted."""
        return self.text.partition(" | ")[2]

    @property
    def table(self) -> str:
        """The table it is written in."""
        return self.where.partition(".")[0]

    @property
    def written(self) -> bool:
        """Whether it is written as it stands."""
        return self.table != "file" and "._" not in self.where


def asked(text: str, *, example: str = "", **rules: Any) -> Any:
    """A model's field that the form asks for: the arguments of `FormField`.

    `example`: given only where the setup's file must have the key: how it is written there.
    """
    extra: dict[str, Any] = {"form": FormField(text, **rules)}
    return Field(... if example else None, examples=[example], json_schema_extra=extra)


# ---------------------------------------- tables


class Table(BaseModel):
    """A table of a document: no key but its own, no value but of the type named, no change."""

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        strict=True,
        allow_inf_nan=False,
        populate_by_name=True,
        defer_build=True,  # on first use: an opening needs few of them
    )

    form_title: ClassVar[str] = ""
    """What its group of fields is called on the form."""
    on_form: ClassVar[Rule] = ALWAYS
    """Where the form offers fields of it."""

    together: ClassVar[tuple[tuple[tuple[str, ...], str], ...]] = ()
    """Keys given all or none of, and why."""
    ascending: ClassVar[tuple[tuple[str, str], ...]] = ()
    """Pairs of keys, the first at most the second."""

    def _own_faults(self) -> Iterator[Fault]:
        """What is wrong between the table's keys; `where` is relative to it, "" for itself.

        Asked even where keys are wrong by themselves: those, and missing ones, read as None here.
        """
        for keys, why in self.together:
            if any(map(self.has, keys)):
                yield from self.missing(keys, why)
        for least, most in self.ascending:
            low, high = self.figure(least), self.figure(most)
            if low is not None and high is not None and low > high:
                low_typed, high_typed = quoted(getattr(self, least)), quoted(getattr(self, most))
                problem = f"{low_typed} is more than {most}, {high_typed}"
                yield Fault(least, problem, "write the smaller value here")

    def has(self, key: str) -> bool:
        """Whether a key stands in the document, readable or not."""
        return key in self.model_fields_set

    def figure(self, key: str) -> float | None:
        """A figure as a number, by its field's measure; None where it isn't given."""
        typed, measure = getattr(self, key), measure_of(type(self), key)
        return typed if typed is None or measure is None else measure.read(typed)

    def missing(self, keys: Iterable[str], why: str) -> Iterator[Fault]:
        """A fault for each of some keys that don't stand in the document."""
        yield from (Fault(k, "is missing", f"add it: {why}") for k in keys if not self.has(k))

    @model_validator(mode="wrap")
    @classmethod
    def _find_all_faults(cls, raw: Any, handler: ModelWrapValidatorHandler[Self]) -> Self:
        made: Self | None = None
        errors: list[InitErrorDetails] = []
        try:
            made = handler(raw)
        except ValidationError as error:
            errors = [
                InitErrorDetails(
                    type=e["type"], loc=e["loc"], input=e["input"], ctx=e.get("ctx", {})
                )
                for e in error.errors(include_url=False)
            ]
        table = made or _readable(cls, raw, [error.get("loc", ()) for error in errors])
        for fault in table._own_faults():
            place = (fault.where,) if fault.where else ()
            raised = QuantityFault(fault.problem, fault.instead)
            errors.append(
                InitErrorDetails(type="value_error", loc=place, input=None, ctx={"error": raised})
            )
        if errors or made is None:
            raise ValidationError.from_exception_data(cls.__name__, errors)
        return made


_Model = TypeVar("_Model", bound=Table)


def as_far_as_read(model: type[_Model], raw: Mapping[str, object]) -> _Model:
    """What can be read of a document: what is wrong or missing is None. Raises nothing."""
    try:
        return model.model_validate(raw)
    except ValidationError as error:
        return _readable(model, raw, [item["loc"] for item in error.errors()])


def _readable(model: type[_Model], raw: object, bad: list[tuple[int | str, ...]]) -> _Model:
    """A table without what stands at the bad places."""
    table = raw if isinstance(raw, Mapping) else {}
    values: dict[str, Any] = {}
    for (name, field), (key, inner) in zip(
        model.model_fields.items(), tables_of(model).items(), strict=True
    ):
        value, within = table.get(key), [at[1:] for at in bad if at[:1] == (key,)]
        if key not in table:
            optional = not field.is_required() and field.default_factory is None
            values[name] = field.default if optional else None
        elif inner is None or () in within:
            values[name] = None if within else value
        elif isinstance(value, list):
            places = [[at[1:] for at in within if at[:1] == (n,)] for n in range(len(value))]
            values[name] = [_readable(inner, *row) for row in zip(value, places, strict=True)]
        else:
            values[name] = _readable(inner, value, within)
    stands = {name for name, field in model.model_fields.items() if (field.alias or name) in table}
    return model.model_construct(_fields_set=stands, **values)


@cache
def tables_of(model: type[Table]) -> Mapping[str, type[Table] | None]:
    """The keys of a table, and the table inside each like ``list[Step] | None``."""
    inner = {f.alias or name: first_model(f.annotation) for name, f in model.model_fields.items()}
    return {key: m if m and issubclass(m, Table) else None for key, m in inner.items()}


def read_model(
    model: type[_Model], raw: Mapping[str, object], file: str, faults: Iterable[Fault] = ()
) -> _Model:
    """Make a document of what TOML gives, or Faulty: `faults`, and all others, in its order."""
    faults = [*known_format(raw, file), *faults]
    try:
        made = model.model_validate({**raw, "format": FORMAT})
    except ValidationError as error:
        faults += faults_of(error, model=model, raw=raw)
    if faults:
        raise Faulty(file, in_order(faults, raw))
    return made


def without_unknown(
    model: type[Table], raw: Mapping[str, object], where: str = ""
) -> tuple[dict[str, Any], dict[str, object]]:
    """Part what a model knows of a document from the keys it doesn't, by `table.key`."""
    known, unknown = dict(raw), {}
    try:
        model.model_validate(raw)
    except ValidationError as error:
        known = deepcopy(known)
        for item in error.errors(include_url=False):
            *above, key = item["loc"] or ("",)
            if item["type"] == "extra_forbidden":
                table: Any = known
                for part in above:
                    table = table[part]
                unknown[where_text((where, *above, key))] = table.pop(key)
    return known, unknown


# ---------------------------------------- the types of fields


def _kept(read: Callable[[object], float], least: float = -inf) -> PlainValidator:
    """Check that a text can be read, and keep it as typed."""

    def check(typed: object) -> object:
        if read(typed) <= least:
            raise QuantityFault(f"is {quoted(typed)}", "write more than 0")
        return typed

    return PlainValidator(check)


def _valve(typed: object) -> str:
    try:
        return str(Valve.parse(typed[:20] if isinstance(typed, str) else ""))
    except ValueError as error:
        instead = 'write one like "1I" or "8E"'
        raise QuantityFault(f"{quoted(typed)} isn't a valve", instead) from error


def _short_line(text: str) -> str:
    if plain(text) != text:
        raise QuantityFault(f"{quoted(text)} has control characters", "write it on one line")
    if not text.strip():
        raise QuantityFault("is empty", "write some words")
    return text


_COUNT_OF = re.compile(r"\s*(\d{1,4})\s+of\s+(.+)", re.ASCII | re.DOTALL)


def on_hand(text: object) -> tuple[float, int | None]:
    """Read pushrods on hand, "218 mm" or "8 of 218.5 mm": mm, and how many where it is limited."""
    match = _COUNT_OF.fullmatch(text) if isinstance(text, str) else None
    mm = length_mm(match[2] if match else text)
    if mm <= 0:
        raise QuantityFault(f"is {quoted(text)}", "write more than 0")
    return mm, int(match[1]) if match else None


# Quantities are kept as typed, once they were read.
Length = Annotated[str, _kept(LENGTH.read, 0), LENGTH]
LengthFromZero = Annotated[str, _kept(LENGTH.read), LENGTH]
Torque = Annotated[str, _kept(TORQUE.read, 0), TORQUE]
Thread = Annotated[str, _kept(THREAD.read), THREAD]
Turns = Annotated[int | float | str, _kept(TURNS.read), TURNS]
TurnsNumber = Annotated[float, PlainValidator(TURNS.read), TURNS]
Degrees = Annotated[float, Field(gt=-360, lt=360), DEGREES]
ValveName = Annotated[str, PlainValidator(_valve)]
OnHand = Annotated[str, _kept(lambda typed: on_hand(typed)[0])]
ShortLine = Annotated[str, Field(max_length=120), AfterValidator(_short_line)]
Paragraph = Annotated[
    str, Field(max_length=1000), AfterValidator(lambda text: _short_line(" ".join(text.split())))
]
"""Words for people; line ends and runs of white space become one space."""
Metal = Annotated[
    ShortLine, AfterValidator(lambda t: t.replace("aluminium", "aluminum").replace("grey", "gray"))
]
"""A metal, or a line of the chart; the British spelling stands in older files."""


def inside(annotation: object) -> Iterator[object]:
    """Everything an annotation is made of, from the outside in: its parts and what marks them."""
    yield annotation
    if get_origin(annotation) is not None:
        for part in get_args(annotation):
            yield from inside(part)


@cache
def measure_of(model: type[Table], key: str) -> Measure | None:
    """How a field's text is read; None for what isn't a figure."""
    field = model.model_fields[key]
    marks = (*field.metadata, *inside(field.annotation))
    return next((mark for mark in marks if isinstance(mark, Measure)), None)
