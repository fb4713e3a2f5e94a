"""How a field of a setup is asked for on the form, and the rules of when it is."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import Field

Typed = Mapping[str, str]
"""What stands in the form's fields, by `table.key`; a choice by its value."""

SHEET, READ, CARD = "the spec sheet", "a reading", "the engine card"


@dataclass(frozen=True)
class Rule:
    """Tells something of a field from what stands in the others; rules join by &, | and ~."""

    test: Callable[[Typed], bool]

    def __call__(self, typed: Typed) -> bool:
        """Whether it holds."""
        return self.test(typed)

    def __and__(self, other: Rule) -> Rule:
        return Rule(lambda typed: self(typed) and other(typed))

    def __or__(self, other: Rule) -> Rule:
        return Rule(lambda typed: self(typed) or other(typed))

    def __invert__(self) -> Rule:
        return Rule(lambda typed: not self(typed))


ALWAYS, NEVER = Rule(lambda typed: True), Rule(lambda typed: False)


def holds(where: str, *values: str) -> Rule:
    """Where a field holds one of some values."""
    return Rule(lambda typed: typed.get(where, "") in values)


def filled(where: str) -> Rule:
    """Where something stands in a field."""
    return Rule(lambda typed: bool(typed.get(where, "").strip()))


HYDRAULIC = holds("lifter.kind", "hydraulic roller", "hydraulic flat tappet")
SOLID = holds("lifter.kind", "solid roller", "solid flat tappet")
MOUNTED = filled("rocker.mount")
STUD = holds("rocker.mount", "stud")
TORQUED = holds("rocker.mount", "bolt-down", "shaft")


@dataclass(frozen=True)
class Asked:
    """What the form says of a field.

    `text`: "label | what is wanted, with an example". `fits`: whether it is offered beside what
    stands in the other fields. `needed`: whether the setup can't be used without it. `without`:
    what leaving it out means. `source`: where a figure typed here is taken to come from.
    `choices`: the values and what each is called, where the field's type doesn't give them.
    """

    text: str
    fits: Rule = ALWAYS
    needed: Rule = NEVER
    without: str = ""
    source: str = SHEET
    choices: tuple[tuple[str, str], ...] = ()

    @property
    def label(self) -> str:
        """What it is called."""
        return self.text.partition(" | ")[0]

    @property
    def hint(self) -> str:
        """What is wanted."""
        return self.text.partition(" | ")[2]


def asked(text: str, *, example: str = "", **rules: Any) -> Any:
    """A model's field that the form asks for: the arguments of `Asked`.

    `example`: given only where the setup's file must have the key: how it is written there.
    """
    extra: dict[str, Any] = {"asked": Asked(text, **rules)}
    return Field(... if example else None, examples=[example], json_schema_extra=extra)


def same(values: Iterable[str]) -> tuple[tuple[str, str], ...]:
    """Choices that are called by their own values, metals spelled the American way."""
    return tuple((v, v.replace("aluminium", "aluminum").replace("grey", "gray")) for v in values)
