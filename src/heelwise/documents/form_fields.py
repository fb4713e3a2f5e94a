"""A field of a form as data, and the rules of when it fits and when it is needed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

Typed = Mapping[str, str]
"""What stands in the fields, by `table.key`; a choice by its value."""

LONGEST_TYPED = 500
"""Characters a field takes; what is longer is written by hand."""

NO_CARD = "none"
"""Stands in engine.card where no card fits and the firing order is typed."""

SHEET, READ, CARD = "the maker's sheet", "a reading", "the engine card"

TABLES: Mapping[str, str] = {
    "file": "File",
    "engine": "Engine",
    "cam": "Cam",
    "rocker": "Rocker",
    "lifter": "Lifter",
    "lash": "Lash",
    "pushrods": "Pushrods",
    "wrench": "Torque wrench",
    "growth": "Growth",
}
"""The groups of fields in their order; all but the first are tables of the setup."""


Rule = Callable[[Typed], bool]
"""Tells something of a field from what stands in the others."""


def always(typed: Typed) -> bool:
    """Whatever stands in the fields."""
    return True


def never(typed: Typed) -> bool:
    """Not whatever stands in the fields."""
    return False


def holds(where: str, *values: str) -> Rule:
    """Where a field holds one of some values."""
    return lambda typed: typed.get(where, "") in values


def filled(where: str) -> Rule:
    """Where something stands in a field."""
    return lambda typed: bool(typed.get(where, "").strip())


def both(*rules: Rule) -> Rule:
    """Where all of some rules hold."""
    return lambda typed: all(rule(typed) for rule in rules)


def either(*rules: Rule) -> Rule:
    """Where one of some rules holds."""
    return lambda typed: any(rule(typed) for rule in rules)


def unless(rule: Rule) -> Rule:
    """Where a rule doesn't hold."""
    return lambda typed: not rule(typed)


@dataclass(frozen=True)
class FormField:
    """One field.

    Attributes:
        where: `table.key`. A key beginning with _ steers the form and is not written.
        label: What it is called on the form.
        reads: How its text is read: "name", "words", "card", "order", "choice", "number",
            "degrees", "length", "lengths", "torque", "turns", "thread" or "date".
        hint: What is wanted, with an example.
        choices: Of a choice, the values and what each is called.
        fits: Whether it is offered beside what stands in the other fields.
        needed: Whether the setup can't be used without it.
        without: What leaving it out means, where it may be.
        source: Where a figure typed here is taken to come from.
    """

    where: str
    label: str
    reads: str
    hint: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    fits: Rule = always
    needed: Rule = never
    without: str = ""
    source: str = SHEET

    @property
    def table(self) -> str:
        """The table it is written in."""
        return self.where.partition(".")[0]

    @property
    def key(self) -> str:
        """Its key there."""
        return self.where.partition(".")[2]

    @property
    def written(self) -> bool:
        """Whether it is written as it stands."""
        return self.table != "file" and not self.key.startswith("_")


def same(*values: str) -> tuple[tuple[str, str], ...]:
    """Choices that are called by their own values."""
    return tuple((value, value) for value in values)


HYDRAULIC = holds("lifter.kind", "hydraulic roller", "hydraulic flat tappet")
SOLID = holds("lifter.kind", "solid roller", "solid flat tappet")
MOUNTED = filled("rocker.mount")
STUD = holds("rocker.mount", "stud")
TORQUED = holds("rocker.mount", "bolt-down", "shaft")
