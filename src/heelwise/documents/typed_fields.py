"""Field types of the documents: quantities checked and kept as typed, and short texts."""

from collections.abc import Callable
from typing import Annotated

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, PlainValidator

from heelwise.documents.faults import quoted
from heelwise.documents.quantities import length_mm, thread_pitch_mm, torque_nm, turns
from heelwise.documents.typed_numbers import QuantityFault
from heelwise.plain_text import plain
from heelwise.valvetrain.valves import Valve


class Table(BaseModel):
    """A table of a document: no key but its own, no value but of the type named, no change."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", strict=True, allow_inf_nan=False, populate_by_name=True
    )


def _kept(read: Callable[[object], float], above_zero: bool) -> Callable[[object], str]:
    def check(typed: object) -> str:
        if read(typed) <= 0 and above_zero:
            raise QuantityFault(f"is {quoted(typed)}", "write more than 0")
        assert isinstance(typed, str)  # or the reader would have refused it
        return typed

    return check


def _turns_kept(typed: object) -> int | float | str:
    turns(typed)
    assert isinstance(typed, int | float | str)
    return typed


def _valve_kept(typed: object) -> str:
    if not isinstance(typed, str):
        raise QuantityFault(f"{quoted(typed)} is no valve", 'write one like "1I" or "8E"')
    try:
        return str(Valve.parse(typed[:20]))
    except ValueError as error:
        problem = f"{quoted(typed)} is no valve"
        raise QuantityFault(problem, 'write one like "1I" or "8E"') from error


def _short_line(text: str) -> str:
    if plain(text) != text:
        raise QuantityFault(f"{quoted(text)} has control characters", "write it on one line")
    if not text.strip():
        raise QuantityFault("is empty", "write some words")
    return text


def _run_together(text: str) -> str:
    joined = " ".join(text.split())
    return _short_line(joined)


Length = Annotated[str, PlainValidator(_kept(length_mm, above_zero=True))]
"""A length above 0 as typed."""
LengthFromZero = Annotated[str, PlainValidator(_kept(length_mm, above_zero=False))]
"""A length of 0 or more as typed."""
Torque = Annotated[str, PlainValidator(_kept(torque_nm, above_zero=True))]
"""A torque above 0 as typed."""
Thread = Annotated[str, PlainValidator(_kept(thread_pitch_mm, above_zero=True))]
"""A thread with its pitch as typed."""
Turns = Annotated[int | float | str, PlainValidator(_turns_kept)]
"""Turns as typed: a number or text."""
TurnsNumber = Annotated[float, PlainValidator(turns)]
"""Turns turned into a number."""
ValveName = Annotated[str, PlainValidator(_valve_kept)]
"""A valve's name, as in 1I."""
ShortLine = Annotated[str, Field(max_length=120), AfterValidator(_short_line)]
"""A name or a few words on one line."""
Paragraph = Annotated[str, Field(max_length=1000), AfterValidator(_run_together)]
"""Words for people; line ends and runs of white space become one space."""
AboveZero = Annotated[float, Field(gt=0)]
Whole = Annotated[int, Field(ge=0)]
