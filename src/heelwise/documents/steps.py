"""The steps of a procedure: what each can record, when it is asked, its words and its faults."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from enum import StrEnum
from typing import Annotated, Literal, get_args

from pydantic import Field

from heelwise.documents.entry_base import ProofWord
from heelwise.documents.faults import Fault, did_you_mean, quoted
from heelwise.documents.fields import Paragraph, ShortLine, Table
from heelwise.documents.quantities import MeasureName

Phase = Literal["prepare", "trial", "fit", "prove", "sign off"]
PHASES: tuple[Phase, ...] = get_args(Phase)
Subject = Literal["build", "position", "stand", "valve"]
"""What a step is asked once for, the key `each` of a procedure."""
SUBJECTS_IN: Mapping[Phase, tuple[Subject, ...]] = {
    "prepare": ("build",),
    "trial": ("build", "position", "valve"),
    "fit": ("build", "position", "stand", "valve"),
    "prove": ("build", "position", "stand", "valve"),
    "sign off": ("build",),
}
"""Where the walk goes round positions, stands and valves, and where it doesn't."""
AskKind = Literal["confirm", "choice", "note", MeasureName]

LIFTER_CONDITIONS = ("dry", "soaked", "pumped", "used")


class Records(StrEnum):
    """What a step records: its name on disk, how it is asked, and what the walk does with it.

    `values`: of a choice, what can be kept. `own_entry`: its phase makes an entry of its own, no
    plain answer. `reads_valve`: it is the reading that a valve's other steps stand around.
    `turns_crank`: asking it does. `any_method`: the phase in which any method may ask it, once.
    """

    ask: AskKind
    values: tuple[str, ...]
    own_entry: bool
    reads_valve: bool
    turns_crank: bool
    any_method: Phase | None

    def __new__(
        cls, name: str, ask: AskKind, values: tuple[str, ...] = (), traits: str = ""
    ) -> Records:
        """Make a member of its row; `traits` are "own entry", "reads valve", and so on."""
        self = str.__new__(cls, name)
        self._value_ = name
        self.ask, self.values = ask, values
        self.own_entry = "own entry" in traits
        self.reads_valve = "reads valve" in traits
        self.turns_crank = "turns crank" in traits
        self.any_method = next((p for p in PHASES if f"any method in {p}" in traits), None)
        return self

    # Prepare
    LIFTER_CONDITION = "lifter_condition", "choice", LIFTER_CONDITIONS, "any method in prepare"
    THROUGH_BOLTS = "through_bolts", "choice", ("through", "blind"), "any method in prepare"
    HOLE_DEPTH = "hole_depth", "length", (), "any method in prepare"
    BOLT_REACH = "bolt_reach", "length", (), "any method in prepare"
    SEAT_TURNS = "seat_turns", "turns", (), "any method in prepare"
    SECOND_PERSON = "second_person", "choice", ("wanted", "not wanted"), "any method in prepare"
    WRENCH = "wrench", "confirm", (), "any method in prepare"
    CRANK_REFERENCE = "crank_reference", "confirm", (), "turns crank"
    WHEEL_FIRST = "wheel_first", "degrees", (), "turns crank, any method in prepare"
    WHEEL_SECOND = "wheel_second", "degrees", (), "turns crank, any method in prepare"
    TAPE_BETWEEN = "tape_between", "length", (), "turns crank, any method in prepare"
    HAS_RUN = "has_run", "confirm"
    RECOUNT = "recount", "choice", ("sample", "all")
    CUP_HYDRAULIC = "cup_hydraulic", "length"
    CUP_SOLID = "cup_solid", "length"
    # Trial
    CHECKED = "checked", "length", (), "own entry, reads valve"
    CHECKING_LENGTH = "checking_length", "length"
    ROCKER_DOWN = "rocker_down", "confirm"
    PATTERN_LENGTH = "pattern_length", "length"
    PATTERN = "pattern", "choice", ("middle",), "own entry, reads valve"
    LASH_CHECKED = "lash_checked", "lash", (), "own entry, reads valve"
    LIFTER_BACK = "lifter_back", "confirm"
    # Trial and Fit
    COUNT = "count", "turns", (), "own entry, reads valve"
    GAUGE = "gauge", "lash", (), "own entry, reads valve"
    LOCKED = "locked", "confirm"
    RECHECK = "recheck", "lash", (), "own entry"
    PLAY = "play", "choice", ("none", "found")
    DRAWN = "drawn", "confirm", (), "own entry"
    PLUNGER_UP = "plunger_up", "confirm"
    # Prove
    PROOF = "proof", "choice", get_args(ProofWord), "own entry"


RECORDS: Mapping[str, Records] = {each.value: each for each in Records}
"""By the name on disk."""
TDC_READINGS = (Records.WHEEL_SECOND, Records.TAPE_BETWEEN)
"""Those that complete the bisection of true TDC."""
CUPS = (Records.CUP_HYDRAULIC, Records.CUP_SOLID)

MOST_OPTIONS = 20
Level = Literal["DANGER", "WARNING", "CAUTION", "NOTICE"]
StepId = Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=64)]

_ANYWHERE = frozenset({"torque", "turns", "wanted"})
_OF_VALVE = "position valve valves sealed pushrod bank stand lash least most"
PLACEHOLDERS: Mapping[Subject, frozenset[str]] = {
    "build": _ANYWHERE | {"true_tdc"},
    "position": _ANYWHERE | {"position"},
    "stand": frozenset({"torque", "position", "stand"}),
    "valve": _ANYWHERE.union(_OF_VALVE.split()),
}
"""What can stand in braces in say, why and if_not, by what the step is asked once for."""
_ANSWERED_BY = {"confirm": "yes no", "choice": "options", "note": ""}
_FILLED_IN = ("say", "why", "if_not")
_BRACES = re.compile(r"\{([^{}]*)\}")
_OPTION_KEY = re.compile(r"[A-Za-z0-9]")
_TAKEN_KEYS = frozenset("s?")  # s skips


class Caution(Table):
    """A safety message shown with its step, before the action (levels of ANSI Z535)."""

    level: Level
    hazard: Paragraph
    consequence: Paragraph
    avoid: Paragraph


class _ForLifters(Table):
    """What can be meant `only_for` some lifters: a word of their kind."""

    only_for: Literal["hydraulic", "solid", "roller", "flat tappet"] | None = None

    def serves(self, lifter: str) -> bool:
        """Whether it is asked or offered for a kind of lifter."""
        return self.only_for is None or self.only_for in lifter


class StepOption(_ForLifters):
    """One answer of a choice: the key to press, the state it stands for, what is kept.

    `first`: what to do first, then answer again; the walk stays at the step. `note`: what is asked
    for in words with it.
    """

    key: Annotated[str, Field(min_length=1, max_length=1)]
    label: ShortLine
    value: ShortLine
    first: Paragraph | None = None
    note: ShortLine | None = None

    def _own_faults(self) -> Iterator[Fault]:
        if self.has("first") and self.has("note"):
            yield Fault("note", "goes with an answer that is kept", "leave out note or first")


class OnlyIf(Table):
    """A step is asked only where an earlier one was answered so."""

    step: str
    is_: str = Field(alias="is")


class Step(_ForLifters):
    """One question of a procedure.

    `title` names it on sheets and in lists. `records`: what the walk learns from the answer.
    `turns_crank`: it sends the crank round, so that nothing may be loaded when it is asked.
    `first_time_only`: not asked again when its valve is done over.
    """

    id: StepId
    title: ShortLine
    phase: Phase
    each: Subject
    say: Paragraph
    why: Paragraph
    caution: Caution | None = None
    ask: AskKind
    yes: ShortLine | None = None
    no: ShortLine | None = None
    if_not: Paragraph | None = None
    options: list[StepOption] = Field(default_factory=list, max_length=MOST_OPTIONS)
    records: Annotated[Records, Field(strict=False)] | None = None
    only_if: OnlyIf | None = None
    skippable: bool = False
    first_time_only: bool = False
    turns_crank: bool = False

    def figures(self) -> Iterator[tuple[str, str]]:
        """The names in braces, each with the key it stands under."""
        texts = ((key, getattr(self, key)) for key in _FILLED_IN)
        return ((k, name) for k, t in texts if isinstance(t, str) for name in _BRACES.findall(t))

    @property
    def values(self) -> list[str]:
        """What can be kept of it; nothing for one without set answers."""
        if self.ask == "confirm":
            return ["yes"]
        options = self.options if self.ask == "choice" and isinstance(self.options, list) else []
        return [o.value for o in options if isinstance(o.value, str) and not o.first]

    def _own_faults(self) -> Iterator[Fault]:
        if self.phase and self.each and self.each not in SUBJECTS_IN[self.phase]:
            problem = f"a step of each {self.each} is never reached in {self.phase}"
            yield Fault("each", problem, 'write "build"')
        yield from self._braces()
        yield from self._answers()
        yield from self._recorded()

    def _braces(self) -> Iterator[Fault]:
        allowed = PLACEHOLDERS.get(self.each, frozenset())
        for key, name in self.figures() if allowed else ():
            if name not in allowed:
                problem = f"{{{name}}} has no meaning in a step of each {self.each}"
                listed = ", ".join(f"{{{each}}}" for each in sorted(allowed))
                yield Fault(key, problem, f"what can stand there: {listed}")
        for key in _FILLED_IN:
            if set(_BRACES.sub("", str(getattr(self, key)))) & {"{", "}"}:
                yield Fault(key, "has a single brace", "braces come in pairs around a name")

    def _answers(self) -> Iterator[Fault]:
        if self.ask is None:
            return
        taken = _ANSWERED_BY.get(self.ask, "no")
        for key in ("yes", "no", "options"):
            if self.has(key) and key not in taken.split():
                problem = f"has no place where ask is {quoted(self.ask)}"
                yield Fault(key, problem, "leave it out, or ask otherwise")
        if self.ask == "confirm":
            yield from self.missing(["yes"], 'name the state confirmed, not "checked"')
        if self.ask == "confirm" or self.has("no"):
            yield from self.missing(["if_not"], "say what to do after a no")
        if self.ask == "choice":
            yield from self._options()

    def _options(self) -> Iterator[Fault]:
        options = self.options
        if not isinstance(options, list):
            return
        if len(options) < 2:
            yield Fault("options", "are fewer than two", "a choice needs at least two")
        for key in (o.key for o in options if isinstance(o.key, str)):
            if not _OPTION_KEY.fullmatch(key):
                yield Fault("options", f"{quoted(key)} can't be a key", "a single letter or digit")
            elif key.lower() in _TAKEN_KEYS:
                yield Fault("options", f"the key {quoted(key)} skips a step", "use another")
        for name in ("key", "value"):
            words = [str(word).lower() for o in options if (word := getattr(o, name)) is not None]
            for twice in sorted({word for word in words if words.count(word) > 1}):
                problem = f"the {name} {quoted(twice)} is given twice"
                yield Fault("options", problem, "give each its own")

    def _recorded(self) -> Iterator[Fault]:
        record = RECORDS.get(self.records or "")
        if record is None:
            return
        if self.ask is not None and self.ask != record.ask:
            instead = f"{record} is recorded by ask = {quoted(record.ask)}"
            yield Fault("ask", f"is {quoted(self.ask)}", instead)
        for value in sorted(set(self.values) - set(record.values)) if record.values else ():
            hint = did_you_mean(value, record.values, "it is")
            yield Fault("options", f"{record} can't be {quoted(value)}", hint)
        if record is Records.WRENCH and self.skippable is not True:
            problem = "a wrench that isn't fit is refused, so this must be skippable"
            yield Fault("skippable", "isn't true", problem)
