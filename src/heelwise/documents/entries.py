"""What one entry of a record can say: a model per kind, and text to and from TOML.

An entry holds scalars and arrays of scalars only. Readings stay as they were
typed. `rests_on` names the earlier entries that give this one its meaning
(where the crank stood, which pushrod was fitted), so that crossing one out
carries on to what depended on it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from functools import cache
from typing import Annotated, Any, Generic, TypeVar, cast

import tomli_w
from pydantic import Field, TypeAdapter, ValidationError

from heelwise.documents.entry_base import (
    PASSING,
    Body,
    CrankHow,
    LashWord,
    Phase,
    ProofWord,
    VerdictWord,
)
from heelwise.documents.entry_readings import (
    Accepted,
    BackedOff,
    Ceiling,
    Checked,
    Crank,
    CrankLost,
    Drawn,
    Felt,
    Fitted,
    Gauged,
    Held,
    Ordered,
    Proved,
    ProvedApart,
    Read,
    Received,
    Settled,
    Unloaded,
)
from heelwise.documents.entry_steps import (
    Answered,
    Begun,
    CrossedOut,
    HandedOver,
    Measured,
    Noted,
    NotYet,
    Paused,
    Recovered,
    Reopened,
    Resumed,
    SignedOff,
    Skipped,
)
from heelwise.documents.faults import Fault, Faulty
from heelwise.documents.model_faults import faults_of

__all__ = [
    "COMMON",
    "PASSING",
    "Accepted",
    "Answered",
    "AnyBody",
    "AnyEntry",
    "BackedOff",
    "Begun",
    "Body",
    "Ceiling",
    "Checked",
    "Crank",
    "CrankHow",
    "CrankLost",
    "CrossedOut",
    "Draft",
    "Drawn",
    "Entry",
    "Felt",
    "Fitted",
    "Gauged",
    "HandedOver",
    "Held",
    "LashWord",
    "Measured",
    "NotYet",
    "Noted",
    "Ordered",
    "Paused",
    "Phase",
    "ProofWord",
    "Proved",
    "ProvedApart",
    "Read",
    "Received",
    "Recovered",
    "Reopened",
    "Resumed",
    "Settled",
    "SignedOff",
    "Skipped",
    "Unloaded",
    "VerdictWord",
    "entry_text",
    "one_line_pair",
    "parse_entry",
]

AnyBody = (
    Begun
    | Answered
    | NotYet
    | Skipped
    | Measured
    | Noted
    | Crank
    | CrankLost
    | Felt
    | Fitted
    | Read
    | Ceiling
    | Unloaded
    | BackedOff
    | Held
    | Accepted
    | Settled
    | Ordered
    | Received
    | Proved
    | Gauged
    | Checked
    | Drawn
    | ProvedApart
    | CrossedOut
    | Paused
    | Resumed
    | Recovered
    | HandedOver
    | SignedOff
    | Reopened
)


@dataclass(frozen=True)
class Draft:
    """What is about to be kept: a body and the entries it rests on."""

    body: AnyBody
    rests_on: tuple[int, ...] = ()


B = TypeVar("B", bound=Body, covariant=True)
K = TypeVar("K", bound=Body)


@dataclass(frozen=True)
class Entry(Generic[B]):
    """One kept entry of a kind. `seal` is empty until storage has given it one."""

    number: int
    at: datetime
    by: str
    body: B
    rests_on: tuple[int, ...] = ()
    seal: str = field(default="", compare=False)

    def when(self, kind: type[K]) -> Entry[K] | None:
        """This entry if its body is of a kind, else None."""
        return cast("Entry[K]", self) if isinstance(self.body, kind) else None


AnyEntry = Entry[AnyBody]
"""An entry of any kind."""

COMMON = ("number", "at", "by", "rests_on", "seal")


@cache
def _adapter() -> TypeAdapter[AnyBody]:
    return TypeAdapter(Annotated[AnyBody, Field(discriminator="kind")])


def _common_faults(raw: dict[str, Any], where: str, expected: int) -> list[Fault]:
    found = []
    if raw.get("number") != expected or isinstance(raw.get("number"), bool):
        found.append(
            Fault(f"{where}.number", f"is {raw.get('number')!r}", f"entries count up: {expected}")
        )
    at = raw.get("at")
    if not isinstance(at, datetime) or at.tzinfo is None:
        found.append(
            Fault(f"{where}.at", "is no date-time with an offset", "like 2026-03-02T09:30:00+01:00")
        )
    if not isinstance(raw.get("by"), str) or not raw["by"]:
        found.append(Fault(f"{where}.by", "names nobody", "initials of the person at the engine"))
    rests = raw.get("rests_on", [])
    if not isinstance(rests, list) or not all(
        isinstance(n, int) and not isinstance(n, bool) and 0 < n < expected for n in rests
    ):
        found.append(Fault(f"{where}.rests_on", "names no earlier entries", "numbers before it"))
    return found


def parse_entry(raw: dict[str, Any], expected: int, file: str) -> AnyEntry:
    """Make an entry of one `[[entry]]` table.

    Args:
        raw: The table as TOML gives it.
        expected: The number it must carry (its place in the record, from 1).
        file: Name of the file, for the message.

    Returns:
        The entry, its seal included if the table has one.

    Raises:
        Faulty: Naming every fault as `entry N.key`.
    """
    where = f"entry {expected}"
    found = _common_faults(raw, where, expected)
    body = None
    try:
        body = _adapter().validate_python({k: v for k, v in raw.items() if k not in COMMON})
    except ValidationError as error:
        found += faults_of(error, where, tagged=True)
    if found or body is None:
        raise Faulty(file, tuple(found))
    return Entry(
        number=expected,
        at=raw["at"],
        by=raw["by"],
        body=body,
        rests_on=tuple(raw.get("rests_on", [])),
        seal=raw.get("seal", ""),
    )


def entry_text(entry: AnyEntry) -> str:
    """Lay an entry out as TOML lines, all but its seal (storage adds that).

    tomli-w would write an array of tables inline, so the `[[entry]]` line is ours.
    """
    fields: dict[str, Any] = {
        "number": entry.number,
        "at": entry.at,
        "by": entry.by,
        "kind": entry.body.kind,
    }
    fields.update(entry.body.model_dump(exclude_defaults=True, exclude={"kind"}))
    if entry.rests_on:
        fields["rests_on"] = list(entry.rests_on)
    lines = [one_line_pair(key, value) for key, value in fields.items()]
    return "\n[[entry]]\n" + "\n".join(lines) + "\n"


def one_line_pair(key: str, value: object) -> str:
    """`key = value` on one line; arrays too, which tomli-w would spread over several."""
    if isinstance(value, list):
        inner = ", ".join(tomli_w.dumps({"x": v}).partition(" = ")[2].strip() for v in value)
        return f"{key} = [{inner}]"
    return tomli_w.dumps({key: value}).strip()
