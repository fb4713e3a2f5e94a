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
from typing import Annotated, Any, Literal

import tomli_w
from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError

from heelwise.documents.faults import Fault, Faulty
from heelwise.documents.model_faults import faults_of

Phase = Literal["prepare", "trial", "fit", "prove", "sign off"]
CrankHow = Literal["reference", "turned", "overshot", "still there", "found"]
VerdictWord = Literal["short", "inside", "long"]
ProofWord = Literal["clicked", "settled", "moved"]


class Body(BaseModel):
    """The fields an entry adds to number, time, person and seal."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False)


class Begun(Body):
    """The build was started with a procedure, known by the digest of its text."""

    kind: Literal["begun"] = "begun"
    procedure: str
    procedure_digest: str
    program: str


class Answered(Body):
    """A step of the procedure was confirmed or a choice made; `said` is the state as shown."""

    kind: Literal["answered"] = "answered"
    step: str
    answer: str
    said: str
    fills: str | None = None
    position: int | None = None
    valve: str | None = None


class NotYet(Body):
    """A step could not be confirmed; the walk stays at it."""

    kind: Literal["not yet"] = "not yet"
    step: str
    said: str
    position: int | None = None
    valve: str | None = None


class Skipped(Body):
    """A step was left out, for a reason."""

    kind: Literal["skipped"] = "skipped"
    step: str
    reason: str
    position: int | None = None
    valve: str | None = None


class Measured(Body):
    """A reading asked for by a step of the procedure, as typed."""

    kind: Literal["measured"] = "measured"
    step: str
    reading: str
    what: Literal["turns", "length", "torque", "lash", "degrees"]
    position: int | None = None
    valve: str | None = None


class Noted(Body):
    """Free text, of the build or of a valve; may name photographs."""

    kind: Literal["noted"] = "noted"
    text: str
    step: str | None = None
    valve: str | None = None


class Crank(Body):
    """Where the crank stands: degrees in the 720° cycle, and how that is known."""

    kind: Literal["crank"] = "crank"
    at_deg: Annotated[float, Field(ge=0, lt=720)]
    how: CrankHow
    seen: str = ""


class CrankLost(Body):
    """The crank's place is not known (it was moved, or what was seen was not as told)."""

    kind: Literal["crank lost"] = "crank lost"
    reason: str


class Felt(Body):
    """A lifter or its pushrod felt up on the lobe, down on the heel, or not to be told."""

    kind: Literal["felt"] = "felt"
    valve: str
    state: Literal["up", "down", "unsure"]


class Fitted(Body):
    """A pushrod of a measured length was put in place."""

    kind: Literal["fitted"] = "fitted"
    valve: str
    pushrod: str
    phase: Phase


class Read(Body):
    """Turns from zero lash to the torque click, with the rule and figures they were judged by."""

    kind: Literal["read"] = "read"
    valve: str
    turns: str
    phase: Phase
    recount: bool = False
    pushrod: str
    at_deg: Annotated[float, Field(ge=0, lt=720)]
    margin_deg: float | None = None
    resolution_turns: Annotated[float, Field(gt=0)]
    verdict: VerdictWord
    near: bool
    rule: str
    least_turns: float
    most_turns: float
    never_past_turns: float
    travel_mm: Annotated[float, Field(gt=0)]
    travel_from: str


class Ceiling(Body):
    """The count reached the turns never to pass without a click, and was ended there."""

    kind: Literal["ceiling"] = "ceiling"
    valve: str
    phase: Phase
    pushrod: str
    never_past_turns: float
    turns: str = ""


class Unloaded(Body):
    """A valve's rocker was loosened and its lifter left to rise before a new zero lash."""

    kind: Literal["unloaded"] = "unloaded"
    valve: str
    minutes: float


class BackedOff(Body):
    """Rockers slackened so that their lifters carry no load; why says what comes next."""

    kind: Literal["backed off"] = "backed off"
    valves: list[str]
    why: Literal["trial over", "count again", "come back later", "recount"]


class Held(Body):
    """The lifters at this place had their time to bleed down before the crank was turned."""

    kind: Literal["held"] = "held"
    minutes: float
    valves: list[str]


class Accepted(Body):
    """A reading outside its window, or a pushrod not as ordered, taken by a named person."""

    kind: Literal["accepted"] = "accepted"
    valve: str
    of: int
    person: str
    reason: str


class Settled(Body):
    """Trials ended for these valves at a length that was worked out and not tried."""

    kind: Literal["settled"] = "settled"
    valves: list[str]
    pushrod: str
    reason: str


class Ordered(Body):
    """The pushrods to buy, one length a valve (parallel arrays)."""

    kind: Literal["ordered"] = "ordered"
    valves: list[str]
    pushrods: list[str]


class Received(Body):
    """A bought pushrod, measured and labelled for its valve."""

    kind: Literal["received"] = "received"
    valve: str
    pushrod: str
    ordered: str
    as_ordered: bool


class Proved(Body):
    """What the bolt did when the torque was set again on the valve's heel."""

    kind: Literal["proved"] = "proved"
    valve: str
    outcome: ProofWord
    torque: str
    at_deg: Annotated[float, Field(ge=0, lt=720)]
    margin_deg: float | None = None


class CrossedOut(Body):
    """An earlier entry does not count; it stays readable."""

    kind: Literal["crossed out"] = "crossed out"
    of: int
    reason: str


class Paused(Body):
    """Work was laid down here."""

    kind: Literal["paused"] = "paused"
    holding: str


class Resumed(Body):
    """Work was taken up again."""

    kind: Literal["resumed"] = "resumed"
    clock_went_back: bool = False


class Recovered(Body):
    """A torn end was set aside in a file beside the record when it was opened."""

    kind: Literal["recovered"] = "recovered"
    bytes_set_aside: int
    aside: str


class HandedOver(Body):
    """Another person goes on from here."""

    kind: Literal["handed over"] = "handed over"
    to: str


class SignedOff(Body):
    """The record was closed by a named person; the outcome stands just before it."""

    kind: Literal["signed off"] = "signed off"
    person: str


class Reopened(Body):
    """A closed record was opened again, for a reason."""

    kind: Literal["reopened"] = "reopened"
    person: str
    reason: str


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


@dataclass(frozen=True)
class Entry:
    """One kept entry. `seal` is empty until storage has given it one."""

    number: int
    at: datetime
    by: str
    body: AnyBody
    rests_on: tuple[int, ...] = ()
    seal: str = field(default="", compare=False)


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


def parse_entry(raw: dict[str, Any], expected: int, file: str) -> Entry:
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


def entry_text(entry: Entry) -> str:
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
