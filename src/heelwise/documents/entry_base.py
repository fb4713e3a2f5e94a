"""What the kinds of entry are made of: texts that know how they are read, and the base class."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import cache
from typing import Annotated, Any, Generic, Literal, TypeVar, cast, dataclass_transform, get_args

import msgspec

from heelwise.documents.faults import QuantityFault, one_of
from heelwise.documents.quantities import length_mm, turns
from heelwise.storage.names import PHOTO

ProofWord = Literal["clicked", "settled", "moved", "held", "slipped", "play", "tight", "loose"]
"""What a proof found. A click's: clicked, settled, moved. A lock's: held, slipped, play (on the
heel), or the lash tight or loose."""
PASSING = ("clicked", "settled", "held")
"""Proofs that stand; after any other the valve is done again."""


@dataclass(frozen=True)
class ReadBy:
    """How a value is read before work goes on: by itself, the engine's valves, its entry's number.

    It raises `QuantityFault`.
    """

    read: Callable[[Any, Sequence[str], int], object]


def _earlier(number: int, valves: Sequence[str], here: int) -> int:
    if not 0 < number < here:
        raise QuantityFault(f"{number} isn't an earlier entry", "write the number of one")
    return number


LengthText = Annotated[str, ReadBy(lambda text, *_: length_mm(text))]
TurnsText = Annotated[str, ReadBy(lambda text, *_: turns(text))]
ValveText = Annotated[str, ReadBy(lambda name, valves, _: one_of(valves, name))]
AsTyped = Annotated[str, ReadBy(lambda text, *_: text)]
"""A text that is only shown: a torque may be "the sheet's torque", a reading goes by `what`."""
EarlierEntry = Annotated[int, ReadBy(_earlier)]
CrankDeg = Annotated[float, msgspec.Meta(ge=0, lt=720)]
Millimeters = Annotated[float, msgspec.Meta(ge=-1e5, le=1e5)]
"""More than any valvetrain has, either way."""
AboveZero = Annotated[float, msgspec.Meta(gt=0)]
PhotoName = Annotated[str, msgspec.Meta(pattern=f"^{PHOTO.pattern}$")]
"""A photograph's file name, without any folder."""


class _Kind(msgspec.StructMeta):
    def __new__(
        cls, name: str, bases: tuple[type, ...], body: dict[str, Any], kind: str = "", **_: bool
    ) -> Any:
        options: dict[str, Any] = {"kw_only": True, "frozen": True, "omit_defaults": True}
        return super().__new__(cls, name, bases, body, tag=kind, tag_field="kind", **options)


@dataclass_transform(kw_only_default=True, frozen_default=True)
class Body(msgspec.Struct, metaclass=_Kind, frozen=True):
    """The fields an entry adds to number, time, person and seal.

    `kind` in a class's head: what it is called on disk. Checked when it is written and read.
    """

    @classmethod
    def name(cls) -> str:
        """What the kind is called on disk."""
        return str(cls.__struct_config__.tag)

    @property
    def kind(self) -> str:
        """What it is called on disk."""
        return self.name()

    def values(self) -> dict[str, Any]:
        """Its keys, in the order they are written, each with its value."""
        return msgspec.structs.asdict(self)

    @property
    def about(self) -> tuple[str, ...]:
        """Names of the valves it is about; none for one about the whole build."""
        named = getattr(self, "valves", None) or [getattr(self, "valve", None)]
        return tuple(name for name in named if name)

    def faults_between_keys(self) -> Iterator[tuple[str, str, str]]:
        """What keys say against each other: key, problem, what would be right."""
        yield from ()


@cache
def reads_of(kind: type[Body]) -> Mapping[str, tuple[ReadBy, object]]:
    """How the keys of a kind are read, those that are, each with its default."""
    fields = msgspec.structs.fields(kind)
    return {f.name: (mark, f.default) for f in fields if (mark := _mark(f.type))}


def _mark(hint: object) -> ReadBy | None:
    marks = [*getattr(hint, "__metadata__", ()), *map(_mark, get_args(hint))]
    return next((mark for mark in marks if isinstance(mark, ReadBy)), None)


class NotKnown(Body, kind="not known"):
    """An entry of a kind that this version doesn't know; its keys are the entry's `unknown`."""

    named: str

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

    def when(self, kind: type[K]) -> "Entry[K] | None":
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
    torque: AsTyped
    setting: AsTyped = ""
    at_deg: CrankDeg
    margin_deg: float | None = None
