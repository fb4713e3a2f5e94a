"""A walk in memory: entries kept in a list, answers from the virtual engine or from a test."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import UTC, datetime
from functools import cache

from heelwise.documents.entries import AnyEntry, Draft
from heelwise.documents.entry_base import Entry
from heelwise.documents.library import find_procedures
from heelwise.documents.procedure import Procedure, load_procedure
from heelwise.documents.setup import Setup, parse_setup
from heelwise.rehearsal.engine import Truth, make_truth
from heelwise.rehearsal.hands import Sensed, sense
from heelwise.rehearsal.rehearse import RehearsalClock, tried_in
from heelwise.rehearsal.scenario import (
    DEFAULT_PROCEDURE,
    TRIALS_SHORT,
    EngineFault,
    Planted,
    plant,
)
from heelwise.walk.build import Build
from heelwise.walk.prompts import Prompt
from heelwise.walk.prove import Outcome, outcomes
from heelwise.walk.scene import Scene, scene_of
from heelwise.walk.walker import Walker, next_prompt
from heelwise.wording import Length, Text
from tests.rehearsal.setups import setup_for

BEGAN = datetime(2031, 5, 4, 9, 0, tzinfo=UTC)


@cache
def procedure(name: str) -> Procedure:
    return load_procedure(find_procedures()[name])


def bolt_down() -> Procedure:
    return procedure(DEFAULT_PROCEDURE)


def inches_in(sentence: str) -> list[float]:
    """The lengths a sentence holds, in inches to a thousandth."""
    parts = sentence.parts if isinstance(sentence, Text) else ()
    return [round(part.mm / 25.4, 3) for part in parts if isinstance(part, Length)]


class Drive:
    """One build in memory against a virtual engine; a changed setup or procedure may be given."""

    def __init__(
        self,
        card: str,
        seed: int = 1,
        planted: tuple[Planted, ...] | None = None,
        name: str = DEFAULT_PROCEDURE,
        *,
        setup: Setup | None = None,
        by: Procedure | None = None,
        shipped: bool = False,
    ) -> None:
        self.seed, self.shipped = seed, shipped
        self._given, self.planted = planted, planted or ()
        self._begin(setup or setup_for(card, name), by or procedure(name))

    def _begin(self, setup: Setup, by: Procedure) -> None:
        self.setup, self.build = setup, Build(setup, by)
        if self._given is None:
            valves, tried = self.build.engine.valves, tried_in(self.build)
            planted = plant(self.seed, valves, tried, by.method.name)
            # Hands are steady but in rehearsals as they are shipped.
            self.planted = tuple(
                p for p in planted if self.shipped or isinstance(p.fault, EngineFault)
            )
        self.truth: Truth = make_truth(
            setup,
            self.seed,
            self.planted,
            by.method.name,
            trials=TRIALS_SHORT if self.shipped else "",
        )
        self.kept: list[AnyEntry] = []
        self.outcome: tuple[Outcome, ...] = ()
        self.clock = RehearsalClock(BEGAN)
        self.prompts: list[Prompt] = []
        self.said: list[str] = []
        self.walker = Walker(scene_of(setup, by), self, self.clock)
        self.walker.by = "T1"

    def on(self, raw: dict[str, object]) -> Drive:
        """This drive begun anew on another setup."""
        self._begin(parse_setup(raw, "changed", resolve=False), self.build.procedure)
        return self

    def following(self, **defaults: object) -> Drive:
        """This drive begun anew with some defaults of its procedure changed."""
        by = self.build.procedure
        changed = by.defaults.model_copy(update=defaults)
        self._begin(self.setup, by.model_copy(update={"defaults": changed}))
        return self

    def keep(
        self, draft: Draft, at: datetime, by: str, outcome: Iterable[Mapping[str, object]] | None
    ) -> AnyEntry:
        entry = Entry(len(self.kept) + 1, at, by, draft.body, draft.rests_on)
        self.kept.append(entry)
        if outcome is not None:
            self.outcome = outcomes(self.walker.state)
        return entry

    @property
    def prompt(self) -> Prompt:
        return self.walker.prompt

    @property
    def scene(self) -> Scene:
        return self.walker.scene

    def sensed(self) -> Sensed:
        return sense(self.scene, self.prompt, self.truth)

    def step(self, answer: str | None = None, texts: tuple[str, ...] = ()) -> Prompt:
        """Answer the prompt that stands, as the engine would unless told; give the next."""
        prompt = self.prompt
        self.prompts.append(prompt)
        if answer is None:
            found = self.sensed()
            answer, texts = found.answer, found.texts
        self.said.append(self.walker.reply(answer, texts).text)
        return self.prompt

    def until(self, reached: Callable[[Prompt], bool], most: int = 1500) -> Prompt:
        """Answer as the engine would until a prompt is reached."""
        for _ in range(most):
            if reached(self.prompt):
                return self.prompt
            self.step()
        raise AssertionError(f"not reached in {most} answers; stands at {self.prompt}")

    def to_the_end(self, most: int = 1500) -> None:
        """Answer as the engine would until the build is signed off."""
        for _ in range(most):
            if self.walker.closed:
                return
            self.step()
        raise AssertionError(f"no end in {most} answers; stands at {self.prompt}")

    def from_the_record(self) -> Prompt:
        """The prompt a fresh fold of the kept entries leads to."""
        return next_prompt(scene_of(self.setup, self.build.procedure, self.kept))


def no_faults(card: str = "i4-1342", seed: int = 0, name: str = DEFAULT_PROCEDURE) -> Drive:
    """A drive without planted faults."""
    return Drive(card, seed, planted=(), name=name)


def with_fault(
    fault: EngineFault,
    valve: str,
    card: str = "v8-15426378",
    seed: int = 1,
    name: str = DEFAULT_PROCEDURE,
) -> Drive:
    """A drive with one planted fault."""
    return Drive(card, seed, planted=(Planted.parse(f"{valve}: {fault.value}"),), name=name)


def changed_setup(card: str, **tables: dict[str, object]) -> Setup:
    """A rehearsal's setup with some keys changed: `lifter={"most_turns": 2}`."""
    raw = setup_for(card).to_toml_dict()
    for name, keys in tables.items():
        raw[name] = {k: v for k, v in {**raw.get(name, {}), **keys}.items() if v is not None}
    return parse_setup(raw, "changed", resolve=False)
