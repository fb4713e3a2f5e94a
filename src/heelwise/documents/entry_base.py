"""What the kinds of entry are made of: texts that know how they are read, and the base class.

Plain classes, no pydantic models: those would take a third of a resume to build. How a kind's keys
are checked is worked out when the first entry of it is made.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import partial
from math import inf
from types import UnionType
from typing import (
    Annotated,
    Any,
    ClassVar,
    Generic,
    Literal,
    NamedTuple,
    TypeVar,
    Union,
    cast,
    dataclass_transform,
    get_args,
    get_origin,
)

from heelwise.documents.faults import Fault, Faulty, QuantityFault, one_of, quoted, wrong_type
from heelwise.documents.quantities import length_mm, turns
from heelwise.storage.errors import BadName
from heelwise.storage.names import photo_name
from heelwise.valvetrain.engine import Valve

ProofWord = Literal["clicked", "settled", "moved", "held", "slipped", "play", "tight", "loose"]
"""What a proof found. A click's: clicked, settled, moved. A lock's: held, slipped, play (on the
heel), or the lash tight or loose."""
PASSING = ("clicked", "settled", "held")
"""Proofs that stand; after any other the valve is done again."""


@dataclass(frozen=True)
class Check:
    """Makes sure of a key's value as an entry is made: returns it, or raises `QuantityFault`."""

    take: Callable[[Any], Any]


@dataclass(frozen=True)
class ReadBy:
    """How a value is read before work goes on, or what it must be `among`."""

    read: Callable[[Any], object]
    among: Literal["", "this engine's valves", "this engine's cylinders", "earlier entries"] = ""


def _within(low: float, high: float, instead: str) -> Check:
    def take(value: float) -> float:
        if not low <= value <= high:
            raise QuantityFault(f"is {quoted(value)}", f"write a number {instead}")
        return value

    return Check(take)


def photo_checked(text: str) -> str:
    """Check that a text is a plain file name, as a photograph's should be, or QuantityFault."""
    try:
        return photo_name(text)
    except BadName as error:
        raise QuantityFault(error.problem, error.instead) from None


LengthText = Annotated[str, ReadBy(length_mm)]
TurnsText = Annotated[str, ReadBy(turns)]
ValveText = Annotated[str, ReadBy(Valve.parse, "this engine's valves")]
AsTyped = Annotated[str, ReadBy(str)]
"""A text that is only shown: a torque may be "the sheet's torque", a reading goes by `what`."""
EarlierEntry = Annotated[int, ReadBy(int, "earlier entries")]
CrankDeg = Annotated[float, _within(0, 720 - 1e-9, "from 0 to below 720")]
Millimeters = Annotated[float, _within(-1e5, 1e5, "from -100000 to 100000")]
"""More than any valvetrain has, either way."""
AboveZero = Annotated[float, _within(1e-300, inf, "above 0")]
PhotoName = Annotated[str, Check(photo_checked)]
"""A photograph's file name, without any folder."""


class Key(NamedTuple):
    """A key of a kind of entry: what makes sure of its value, its default (... for none)."""

    take: Callable[[Any], Any]
    default: Any
    mark: ReadBy | None


def _marks(hint: object) -> Iterator[ReadBy]:
    yield from (m for m in getattr(hint, "__metadata__", ()) if isinstance(m, ReadBy))
    for inner in get_args(hint):
        yield from _marks(inner)


def _taker(hint: Any) -> Callable[[Any], Any]:
    origin, args = get_origin(hint), get_args(hint)
    if origin is Literal:
        return partial(one_of, args)
    if origin not in (Annotated, Union, UnionType, list):
        return partial(_of_type, hint)
    take = _taker(args[0])
    if origin is list:
        return lambda value: [take(each) for each in _of_type(list, value)]
    if origin is not Annotated:
        return lambda value: None if value is None else take(value)
    checks = [mark.take for mark in args[1:] if isinstance(mark, Check)]
    return (lambda value: checks[0](take(value))) if checks else take


def _of_type(wanted: Any, value: Any) -> Any:
    if (wanted is float and type(value) is int) or (wanted is str and isinstance(value, str)):
        return wanted(value)  # of a member of a StrEnum, its text
    if type(value) is not wanted or (wanted is float and not abs(value) < inf):
        raise QuantityFault(*wrong_type(_WANTED[wanted], value))
    return value


_WANTED: Mapping[type, str] = {
    str: 'text in quotes, like "..."',
    float: "a number",
    int: "a whole number",
    bool: "true or false",
    list: "an array, like [1, 2]",
}


@dataclass_transform(kw_only_default=True, frozen_default=True)
class Body:
    """The fields an entry adds to number, time, person and seal: its class's annotations."""

    KIND: ClassVar[str] = ""
    """What it is called on disk."""
    _keys: ClassVar[Mapping[str, Key]]

    def __init_subclass__(cls, kind: str = "") -> None:
        cls.KIND = kind

    @classmethod
    def key_table(cls) -> Mapping[str, Key]:
        """Its keys, in the order they are written."""
        if "_keys" not in cls.__dict__:
            bases = [base for base in reversed(cls.__mro__) if issubclass(base, Body)]
            hints = {key: hint for base in bases[1:] for key, hint in base.__annotations__.items()}
            cls._keys = {
                key: Key(_taker(hint), getattr(cls, key, ...), next(_marks(hint), None))
                for key, hint in hints.items()
            }
        return cls._keys

    def __init__(self, **given: Any) -> None:
        """Raises Faulty, naming each key that is missing or can't be."""
        faults = []
        for name, key in self.key_table().items():
            try:
                self.__dict__[name] = key.take(given.pop(name)) if name in given else key.default
            except QuantityFault as fault:
                faults.append(Fault.at(name, fault))
            if self.__dict__.get(name) is ...:
                faults.append(Fault(name, "is missing", "add it"))
        faults += [Fault(name, "there is no such key", "leave it out") for name in given]
        if faults:
            raise Faulty(self.KIND, faults)

    def __eq__(self, other: object) -> bool:
        return type(self) is type(other) and vars(self) == vars(other)

    def __repr__(self) -> str:
        return f"{type(self).__name__}({vars(self)})"

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


class NotKnown(Body, kind="not known"):
    """An entry of a kind that this version doesn't know; its keys are the entry's `unknown`."""

    def __init__(self, named: str) -> None:
        self.__dict__["named"] = named

    @property
    def kind(self) -> str:
        """The kind as it stands in the record."""
        return str(vars(self)["named"])


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
