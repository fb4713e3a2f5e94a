"""Entries of what was read in the engine and done to it."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from heelwise.documents.entry_base import (
    Body,
    CrankDeg,
    CrankHow,
    LashWord,
    Millimetres,
    Phase,
    ProofWord,
    VerdictWord,
)


class Crank(Body):
    """Where the crank stands: degrees in the 720° cycle, and how that is known."""

    kind: Literal["crank"] = "crank"
    at_deg: CrankDeg
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
    at_deg: CrankDeg
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
    """What the bolt or lock did when it was put to the test on the valve's heel.

    `torque`: at the bolt; `setting`: what the wrench was set to, less with an adapter in line.
    """

    kind: Literal["proved"] = "proved"
    valve: str
    outcome: ProofWord
    torque: str
    setting: str = ""
    at_deg: CrankDeg
    margin_deg: float | None = None


class Gauged(Body):
    """A gap at the valve by feeler gauge, with the limits it was judged by.

    `what`: the lash, or the gap with the plunger held at its end (whose limits follow from
    the preload allowed). `locked`: read again after the adjuster was locked.
    """

    kind: Literal["gauged"] = "gauged"
    valve: str
    reading: str
    what: Literal["lash", "gap"]
    phase: Phase
    locked: bool = False
    pushrod: str = ""
    at_deg: CrankDeg
    margin_deg: float | None = None
    least_mm: Millimetres
    most_mm: Millimetres
    limits_from: str
    step_mm: Annotated[float, Field(gt=0)]
    verdict: LashWord
    near: bool


class Checked(Body):
    """A pushrod's length at zero lash, found while checking, and the length wanted by it.

    `length`: the pushrod's, as typed: at zero lash, or as its shortest length and turns out,
    or with a `lash` left that was gauged with a solid lifter. `cup_above_mm`: the hydraulic
    lifter's cup height less the solid one's. `zero_lash_mm`: worked out where `length` is
    not itself the length at zero lash.
    """

    kind: Literal["checked"] = "checked"
    valve: str
    length: str
    lash: str | None = None
    cup_above_mm: Millimetres | None = None
    zero_lash_mm: Millimetres | None = None
    at_deg: CrankDeg
    margin_deg: float | None = None
    preload_mm: Millimetres
    preload_from: str
    wanted_mm: Millimetres


class Drawn(Body):
    """A stand or shaft was drawn down evenly to its torque; `on_lobe`: valves under load there."""

    kind: Literal["drawn down"] = "drawn down"
    valves: list[str]
    stand: str
    torque: str
    setting: str = ""
    at_deg: CrankDeg
    on_lobe: list[str] = Field(default_factory=list)


class ProvedApart(Body):
    """A second person's proof, made without being shown what the first one found."""

    kind: Literal["proved apart"] = "proved apart"
    valve: str
    outcome: ProofWord
    torque: str
    setting: str = ""
    at_deg: CrankDeg
    margin_deg: float | None = None
