"""What the kinds of entry are made of: words, texts that know how they are read, the base class."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Annotated, Any, ClassVar, Generic, Literal, TypeVar, cast

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from heelwise.documents import quantities
from heelwise.documents.faults import QuantityFault
from heelwise.storage.errors import BadName
from heelwise.storage.names import photo_name
from heelwise.valvetrain.engine import Valve

CrankHow = Literal["reference", "turned", "overshot", "still there", "found"]
VerdictWord = Literal["short", "inside", "long"]
LashWord = Literal["tight", "inside", "loose"]
ProofWord = Literal["clicked", "settled", "moved", "held", "slipped", "play", "tight", "loose"]
"""What a proof found. A click's: clicked, settled, moved. A lock's: held, slipped, play (on the
heel), or the lash tight or loose."""
PASSING = ("clicked", "settled", "held")
"""Proofs that stand; after any other the valve is done again."""


@dataclass(frozen=True)
class ReadBy:
    """How a text of an entry is read; a valve must be one of the engine's too."""

    read: Callable[[Any], object]


LengthText = Annotated[str, ReadBy(quantities.length_mm)]
TurnsText = Annotated[str, ReadBy(quantities.turns)]
ValveText = Annotated[str, ReadBy(Valve.parse)]


@dataclass(frozen=True)
class Earlier:
    """Marks the number of an earlier entry."""


EarlierEntry = Annotated[int, Earlier()]
CrankDeg = Annotated[float, Field(ge=0, lt=720)]
Millimetres = Annotated[float, Field(ge=-1e5, le=1e5)]
"""More than any valvetrain has, either way."""
AboveZero = Annotated[float, Field(gt=0)]


def photo_checked(text: str) -> str:
    """Check that a text is a plain file name, as a photograph's should be.

    Raises:
        QuantityFault: If it is not.
    """
    try:
        return photo_name(text)
    except BadName as error:
        raise QuantityFault(error.problem, error.instead) from None


PhotoName = Annotated[str, AfterValidator(photo_checked)]
"""A photograph's file name, without any folder."""


class Body(BaseModel):
    """The fields an entry adds to number, time, person and seal."""

    KIND: ClassVar[str]
    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False)

    @property
    def kind(self) -> str:
        """What it is called on disk."""
        return self.KIND

    @property
    def about(self) -> tuple[str, ...]:
        """Names of the valves it is about; none for one about the whole build."""
        named = getattr(self, "valves", None) or [getattr(self, "valve", None)]
        return tuple(name for name in named if name)

    def faults_between_keys(self) -> Iterator[tuple[str, str, str]]:
        """What keys say against each other: key, problem, what would be right."""
        yield from ()


class NotKnown(Body):
    """An entry of a kind that this version doesn't know; its keys are the entry's `unknown`."""

    KIND = "not known"
    named: str = Field(exclude=True)

    @property
    def kind(self) -> str:
        """The kind as it stands in the record."""
        return self.named


B = TypeVar("B", bound=Body, covariant=True)
K = TypeVar("K", bound=Body)


@dataclass(frozen=True)
class Entry(Generic[B]):
    """One kept entry of a kind.

    `seal` is empty until storage has given it one. `unknown`: keys this version doesn't know.
    """

    number: int
    at: datetime
    by: str
    body: B
    rests_on: tuple[int, ...] = ()
    seal: str = field(default="", compare=False)
    unknown: Mapping[str, object] = field(default_factory=dict, compare=False)

    def when(self, kind: type[K]) -> Entry[K] | None:
        """This entry if its body is of a kind, else None."""
        return cast("Entry[K]", self) if isinstance(self.body, kind) else None


class OfStep(Body):
    """What came of a step of the procedure."""

    step: str
    position: int | None = None
    valve: ValveText | None = None


class OnItsHeel(Body):
    """What is read or proved on a valve: only where the crank has its lifter on the heel."""

    valve: ValveText


class Proof(OnItsHeel):
    """What the bolt or lock did when it was put to the test on the valve's heel.

    `torque`: at the bolt; `setting`: what the wrench was set to, less with an adapter in line.
    """

    outcome: ProofWord
    torque: str
    setting: str = ""
    at_deg: CrankDeg
    margin_deg: float | None = None
