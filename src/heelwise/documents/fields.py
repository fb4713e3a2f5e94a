"""The base of a document's tables, which finds all faults at once, and the types of fields."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import cache
from math import inf
from typing import Annotated, Any, ClassVar, Self, TypeVar, get_args, get_origin

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    Field,
    ModelWrapValidatorHandler,
    PlainValidator,
    ValidationError,
    ValidationInfo,
    model_validator,
)
from pydantic_core import ErrorDetails, InitErrorDetails

from heelwise.documents.faults import (
    Fault,
    Faulty,
    QuantityFault,
    faults_of,
    first_model,
    in_order,
    quoted,
)
from heelwise.documents.form_rules import ALWAYS, Rule
from heelwise.documents.quantities import DEGREES, LENGTH, THREAD, TORQUE, TURNS, Measure, length_mm
from heelwise.documents.toml import FORMAT, known_format
from heelwise.plain_text import plain
from heelwise.valvetrain.engine import Valve

RECORD: dict[str, object] = {"record": True}
"""The validation's context where the document is the head of a record."""

_Place = tuple[int | str, ...]


class Table(BaseModel):
    """A table of a document: no key but its own, no value but of the type named, no change."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", strict=True, allow_inf_nan=False, populate_by_name=True
    )

    form_title: ClassVar[str] = ""
    """What its group of fields is called on the form."""
    on_form: ClassVar[Rule] = ALWAYS
    """Where the form offers fields of it."""

    def own_faults(self) -> Iterator[Fault]:
        """What is wrong between the table's keys; `where` is relative to it, "" for itself.

        Asked even where keys are wrong by themselves: those, and missing ones, read as None here.
        """
        return iter(())

    def file_faults(self) -> Iterator[Fault]:
        """What a file is refused for besides, but no record, which was made before."""
        return iter(())

    def has(self, key: str) -> bool:
        """Whether a key stands in the document, readable or not."""
        return key in self.model_fields_set

    def figure(self, key: str) -> float | None:
        """A figure as a number, by its field's measure; None where it isn't given."""
        typed = getattr(self, key)
        measure = measure_of(type(self), key)
        return typed if typed is None or measure is None else measure.read(typed)

    def upside_down(self, least: str, most: str) -> Iterator[Fault]:
        """A fault where the least is more than the most."""
        low, high = self.figure(least), self.figure(most)
        if low is not None and high is not None and low > high:
            problem = f"{quoted(getattr(self, least))} is more than {most}, "
            yield Fault(least, problem + quoted(getattr(self, most)), "write the smaller one here")

    def missing(self, keys: Iterable[str], why: str) -> Iterator[Fault]:
        """A fault for each of some keys that don't stand in the document."""
        for key in keys:
            if not self.has(key):
                yield Fault(key, "is missing", f"add it: {why}")

    @model_validator(mode="wrap")
    @classmethod
    def _find_all_faults(
        cls, raw: Any, handler: ModelWrapValidatorHandler[Self], info: ValidationInfo
    ) -> Self:
        made: Self | None = None
        errors: list[InitErrorDetails] = []
        try:
            made = handler(raw)
        except ValidationError as error:
            errors = [_again(item) for item in error.errors(include_url=False)]
        readable = made or _as_far_as_read(cls, raw, [error.get("loc", ()) for error in errors])
        errors += [_as_error(fault) for fault in readable.own_faults()]
        if info.context is not RECORD:
            errors += [_as_error(fault) for fault in readable.file_faults()]
        if errors or made is None:
            raise ValidationError.from_exception_data(cls.__name__, errors)
        return made


def _again(item: ErrorDetails) -> InitErrorDetails:
    return InitErrorDetails(
        type=item["type"], loc=item["loc"], input=item["input"], ctx=item.get("ctx", {})
    )


def _as_error(fault: Fault) -> InitErrorDetails:
    raised = QuantityFault(fault.problem, fault.instead)
    place = (fault.where,) if fault.where else ()
    return InitErrorDetails(type="value_error", loc=place, input=None, ctx={"error": raised})


_Model = TypeVar("_Model", bound=Table)


def as_far_as_read(model: type[_Model], raw: Mapping[str, object]) -> _Model:
    """What can be read of a document: what is wrong or missing is None. Raises nothing."""
    try:
        return model.model_validate(raw)
    except ValidationError as error:
        return _as_far_as_read(model, raw, [item["loc"] for item in error.errors()])


def _as_far_as_read(model: type[_Model], raw: object, bad: list[_Place]) -> _Model:
    table = raw if isinstance(raw, Mapping) else {}
    values: dict[str, Any] = {}
    keys = set()
    for name, field in model.model_fields.items():
        key = field.alias or name
        if key in table:
            keys.add(name)
            inner = [place[1:] for place in bad if place[:1] == (key,)]
            values[name] = _value(first_model(field.annotation), table[key], inner)
        else:
            given = not field.is_required() and field.default_factory is None
            values[name] = field.default if given else None
    return model.model_construct(_fields_set=keys, **values)


def _value(model: type[BaseModel] | None, raw: object, bad: list[_Place]) -> object:
    if model is None or not issubclass(model, Table):
        return None if bad else raw
    if not isinstance(raw, list) or () in bad:
        return _as_far_as_read(model, raw, bad) if isinstance(raw, Mapping) else None
    places = [[p[1:] for p in bad if p[:1] == (place,)] for place in range(len(raw))]
    return [_as_far_as_read(model, each, at) for each, at in zip(raw, places, strict=True)]


def read_model(
    model: type[_Model],
    raw: Mapping[str, object],
    file: str,
    faults: Iterable[Fault] = (),
    context: dict[str, object] | None = None,
) -> _Model:
    """Make a whole document of what TOML gives.

    Args:
        model: Has a field `format`.
        raw: The document.
        file: Its name.
        faults: What is wrong with it already.
        context: `RECORD` for the head of a record.

    Raises:
        Faulty: With every fault in the document's order; of a newer format, that alone.
    """
    faults = [*known_format(raw, file), *faults]
    try:
        made = model.model_validate({**raw, "format": FORMAT}, context=context)
    except ValidationError as error:
        faults += faults_of(error, model=model)
    if faults:
        raise Faulty(file, in_order(faults, raw))
    return made


def without_unknown(
    model: type[Table], raw: Mapping[str, object], where: str = ""
) -> tuple[dict[str, object], dict[str, object]]:
    """Part what a model knows of a document from the keys it doesn't, by `table.key`."""
    fields = _models_of(model)
    unknown: dict[str, object] = {}

    def known_of(inner: type[Table], value: object, place: str) -> object:
        if isinstance(value, list):
            return [known_of(inner, row, f"{place} {n}") for n, row in enumerate(value, start=1)]
        if not isinstance(value, Mapping):
            return value
        known, more = without_unknown(inner, value, place)
        unknown.update(more)
        return known

    known = {}
    for key, value in raw.items():
        place = f"{where}.{key}" if where else key
        inner = fields.get(key)
        if key not in fields:
            unknown[place] = value
        elif inner is not None and issubclass(inner, Table):
            known[key] = known_of(inner, value, place)
        else:
            known[key] = value
    return known, unknown


@cache
def _models_of(model: type[Table]) -> Mapping[str, type[BaseModel] | None]:
    return {f.alias or n: first_model(f.annotation) for n, f in model.model_fields.items()}


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


def _run_together(text: str) -> str:
    return _short_line(" ".join(text.split()))


_COUNT_OF = re.compile(r"\s*(\d{1,4})\s+of\s+(.+)", re.ASCII | re.DOTALL)


def on_hand(text: object) -> tuple[float, int | None]:
    """Read pushrods on hand: a length, or "8 of 218.5 mm".

    Returns:
        The length in mm, and how many there are; None where no number limits them."""
    match = _COUNT_OF.fullmatch(text) if isinstance(text, str) else None
    mm = length_mm(match[2] if match else text)
    if mm <= 0:
        raise QuantityFault(f"is {quoted(text)}", "write more than 0")
    return mm, int(match[1]) if match else None


def stock_of(texts: Iterable[str]) -> dict[float, int]:
    """How many are on hand by length in mm; a length that once stands without a number is left out.

    The same length may stand more than once.
    """
    stock: dict[float, int] = {}
    unlimited: set[float] = set()
    for mm, count in map(on_hand, texts):
        if count is None:
            unlimited.add(mm)
        else:
            stock[mm] = stock.get(mm, 0) + count
    return {mm: count for mm, count in stock.items() if mm not in unlimited}


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
Paragraph = Annotated[str, Field(max_length=1000), AfterValidator(_run_together)]
"""Words for people; line ends and runs of white space become one space."""
AboveZero = Annotated[float, Field(gt=0)]
Whole = Annotated[int, Field(ge=0)]


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
