"""What one entry of a record can say: a class per kind, and its name in `AnyBody`.

An entry holds scalars and arrays of scalars only, readings as they were typed. A text's type says
how it is read; that is checked before work goes on, so that a sheet can be printed of any record.
`rests_on` names the earlier entries that give an entry its meaning (where the crank stood, which
pushrod was fitted): crossing one out carries on to what depended on it.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from heelwise.documents import entry_base as base
from heelwise.documents.faults import QuantityFault
from heelwise.documents.quantities import MEASURES, MeasureName
from heelwise.documents.steps import Phase

BackOffWhy = Literal["trial over", "count again", "come back later", "recount"]
_NONE: list[str] = []


class Begun(base.Body, kind="begun"):
    """The build was started with a procedure, known by the digest of its text."""

    procedure: str
    procedure_digest: str
    program: str


class Answered(base.OfStep, kind="answered"):
    """A step was confirmed or a choice made; `said` is the state as shown."""

    answer: str
    said: str
    fills: str | None = None


class NotYet(base.OfStep, kind="not yet"):
    """A step could not be confirmed; the walk stays at it."""

    said: str


class Skipped(base.OfStep, kind="skipped"):
    """A step was left out, for a reason."""

    reason: str


class Measured(base.OfStep, kind="measured"):
    """A reading asked for by a step, as typed."""

    reading: base.AsTyped
    what: MeasureName

    def faults_between_keys(self) -> Iterator[tuple[str, str, str]]:
        """The reading must be one of `what`."""
        try:
            MEASURES[self.what].read(self.reading)
        except QuantityFault as fault:
            yield "reading", fault.problem, fault.instead


class Noted(base.Body, kind="noted"):
    """Free text, of the build or of a valve; may name a photograph (a plain file name)."""

    text: str
    step: str | None = None
    valve: base.ValveText | None = None
    photo: base.PhotoName | None = None


class CrossedOut(base.Body, kind="crossed out"):
    """An earlier entry does not count; it stays readable."""

    of: base.EarlierEntry
    reason: str


class Paused(base.Body, kind="paused"):
    """Work stopped here."""

    holding: str


class Resumed(base.Body, kind="resumed"):
    """Work went on."""

    clock_went_back: bool = False


class Recovered(base.Body, kind="recovered"):
    """A torn end was set aside in a file beside the record when it was opened."""

    bytes_set_aside: int
    aside: str


class HandedOver(base.Body, kind="handed over"):
    """Another person goes on from here."""

    to: str


class SignedOff(base.Body, kind="signed off"):
    """A named person closed the record; the outcome stands just before it."""

    person: str


class Reopened(base.Body, kind="reopened"):
    """A closed record was opened again, for a reason."""

    person: str
    reason: str


class Crank(base.Body, kind="crank"):
    """Where the crank stands: degrees in the 720° cycle, and how that is known."""

    at_deg: base.CrankDeg
    how: Literal["reference", "turned", "overshot", "still there", "found"]
    seen: str = ""


class CrankLost(base.Body, kind="crank lost"):
    """Where the crank stands is not known (it was moved, or the lifters did something else)."""

    reason: str


class Felt(base.Body, kind="felt"):
    """A lifter or its pushrod felt up on the lobe or down on the heel, or unsure."""

    valve: base.ValveText
    state: Literal["up", "down", "unsure"]


class Fitted(base.Body, kind="fitted"):
    """A pushrod of a measured length was put in place."""

    valve: base.ValveText
    pushrod: base.LengthText
    phase: Phase


class Read(base.OnItsHeel, kind="read"):
    """Turns from zero lash to the torque click, with the rule and figures they were judged by."""

    turns: base.TurnsText
    phase: Phase
    recount: bool = False
    pushrod: base.LengthText
    at_deg: base.CrankDeg
    margin_deg: float | None = None
    resolution_turns: base.AboveZero
    verdict: Literal["short", "inside", "long"]
    near: bool
    rule: str
    least_turns: float
    most_turns: float
    never_past_turns: float
    travel_mm: base.AboveZero
    travel_from: str


class NoClick(base.OnItsHeel, kind="ceiling"):
    """The count reached the turns never to pass without a click, and was ended there."""

    phase: Phase
    pushrod: base.LengthText
    never_past_turns: float
    turns: base.TurnsText = ""


class Unloaded(base.Body, kind="unloaded"):
    """A valve's rocker was backed off and its lifter left to rise before a new zero lash."""

    valve: base.ValveText
    minutes: float


class BackedOff(base.Body, kind="backed off"):
    """Rockers backed off so that their lifters carry no load; why says what comes next."""

    valves: list[base.ValveText]
    why: BackOffWhy


class Held(base.Body, kind="held"):
    """The lifters at this position had their time to bleed down before the crank was turned."""

    minutes: float
    valves: list[base.ValveText]


class Accepted(base.Body, kind="accepted"):
    """A reading outside its window, or a pushrod not as ordered, taken by a named person."""

    valve: base.ValveText
    of: base.EarlierEntry
    person: str
    reason: str


class Settled(base.Body, kind="settled"):
    """Trials ended for these valves at a length that was worked out and not tried."""

    valves: list[base.ValveText]
    pushrod: base.LengthText
    reason: str


class Ordered(base.Body, kind="ordered"):
    """The pushrods to buy, one length a valve (parallel arrays)."""

    valves: list[base.ValveText]
    pushrods: list[base.LengthText]

    def faults_between_keys(self) -> Iterator[tuple[str, str, str]]:
        """There must be a length for each valve."""
        if len(self.valves) != len(self.pushrods):
            problem = f"has {len(self.pushrods)} lengths for {len(self.valves)} valves"
            yield "pushrods", problem, "one for each valve"


class Received(base.Body, kind="received"):
    """A bought pushrod labeled for its valve, measured or taken as the one ordered.

    `together`: measured in one go with the others of its length, and as ordered like them.
    """

    valve: base.ValveText
    pushrod: base.LengthText
    ordered: base.LengthText
    as_ordered: bool
    measured: bool = True
    together: bool | None = None


class Proved(base.Proof, kind="proved"):
    """The proof that counts."""


class IndependentProof(base.Proof, kind="proved apart"):
    """A second person's proof, made without being shown what the first one found."""


class Gauged(base.OnItsHeel, kind="gauged"):
    """A gap at the valve by feeler gauge, with the limits it was judged by.

    `what`: the lash, or the gap with the plunger held at its end (whose limits follow from
    the preload allowed). `locked`: read again after the adjuster was locked.
    """

    reading: base.LengthText
    what: Literal["lash", "gap"]
    phase: Phase
    locked: bool = False
    pushrod: base.LengthText = ""
    at_deg: base.CrankDeg
    margin_deg: float | None = None
    least_mm: base.Millimeters
    most_mm: base.Millimeters
    limits_from: str
    step_mm: base.AboveZero
    verdict: Literal["tight", "inside", "loose"]
    near: bool


class Checked(base.OnItsHeel, kind="checked"):
    """A pushrod's length at zero lash, found while checking, and the length wanted by it.

    `length`: as typed: at zero lash, or as its shortest length and turns out, or with a `lash` left
    over a solid lifter. `cup_above_mm`: the hydraulic lifter's cup height less the solid one's.
    `zero_lash_mm`: worked out where `length` isn't it. `pattern`: the length at which the witness
    mark stood right, on a rocker that an adjuster sets; no preload is in it.
    """

    length: base.LengthText
    lash: base.LengthText | None = None
    cup_above_mm: base.Millimeters | None = None
    zero_lash_mm: base.Millimeters | None = None
    at_deg: base.CrankDeg
    margin_deg: float | None = None
    preload_mm: base.Millimeters
    preload_from: str
    wanted_mm: base.Millimeters
    pattern: bool = False


class Drawn(base.Body, kind="drawn down"):
    """A stand or shaft was drawn down evenly to its torque; `on_lobe`: valves under load there."""

    valves: list[base.ValveText]
    stand: str
    torque: base.AsTyped
    setting: base.AsTyped = ""
    at_deg: base.CrankDeg
    on_lobe: list[base.ValveText] = _NONE


class Trouble(base.Body, kind="trouble"):
    """Something went wrong (the crank went solid, a thread yielded); open until put right."""

    what: str
    phase: Phase
    valve: base.ValveText | None = None
    at_deg: base.CrankDeg | None = None
    words: str = ""


class PutRight(base.Body, kind="put right"):
    """A trouble's cause was named and put right, or a named person goes on with a reason."""

    of: base.EarlierEntry
    cause: str
    words: str = ""
    person: str = ""


AnyBody = (
    Begun | Answered | NotYet | Skipped | Measured | Noted | Crank | CrankLost | Felt | Fitted
    | Read | NoClick | Unloaded | BackedOff | Held | Accepted | Settled | Ordered | Received
    | Proved | Gauged | Checked | Drawn | IndependentProof | CrossedOut | Paused | Resumed
    | Recovered | HandedOver | SignedOff | Reopened | base.NotKnown | Trouble | PutRight
)  # fmt: skip


@dataclass(frozen=True)
class Draft:
    """What is about to be kept, and the entries it rests on."""

    body: AnyBody
    rests_on: tuple[int, ...] = ()


AnyEntry = base.Entry[AnyBody]
"""An entry of any kind."""
