"""The unit lengths are shown in, and a prompt painted in it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Protocol, runtime_checkable

from textual.binding import Binding
from textual.dom import DOMNode

from heelwise.screens.key_actions import key
from heelwise.wording import INCHES, MILLIMETRES, painted

if TYPE_CHECKING:  # the bench is painted without the walk
    from heelwise.documents.setup import Setup
    from heelwise.walk.prompts import Option, Prompt

ACTION = "app.lengths"


class LengthChoice:
    """Holds the unit; the program is one. It begins with the one the build's pushrods are in."""

    lengths: str = INCHES

    def lengths_of(self, setup: Setup) -> None:
        """Show lengths in the unit a setup's pushrods were typed in."""
        from heelwise.documents.quantities import typed_length

        if setup.pushrods is not None:
            metric = typed_length(setup.pushrods.intake).typed_unit in ("mm", "cm", "m")
            self.lengths = MILLIMETRES if metric else INCHES

    def label_of(self, action: str) -> str | None:
        """The unit a key brings, for the key that changes it."""
        return other_unit(self.lengths) if action == ACTION else None


def other_unit(unit: str) -> str:
    """The unit that the key for it brings next."""
    return INCHES if unit == MILLIMETRES else MILLIMETRES


@runtime_checkable
class ShowsLengths(Protocol):
    """A screen that can show its lengths again."""

    def show_lengths(self) -> None:
        """Show them in the unit chosen."""


def lengths_key() -> Binding:
    """The key that changes the unit, for every screen that shows lengths."""
    return key("f11", ACTION, "mm/in", "Lengths in mm or inches.", shown=True)


def lengths_in(node: DOMNode) -> str:
    """The unit lengths are shown in where a node is."""
    app = node.app
    return app.lengths if isinstance(app, LengthChoice) else INCHES


def number_in(typed: str, unit: str) -> str:
    """The number of a typed length alone, in a unit; as typed where it is in that unit."""
    from heelwise.documents.quantities import typed_length

    length = typed_length(typed)
    if length.typed_unit == unit:
        return typed.split()[0]
    return replace(length, typed="").painted(unit).split()[0]


_HAZARD = ("hazard", "consequence", "avoid")


def prompt_in(prompt: Prompt, unit: str) -> Prompt:
    """A prompt as it is shown, its lengths in one unit; never the one that takes the answer."""
    caution = prompt.caution
    if caution is not None:
        told = {key: painted(getattr(caution, key), unit) for key in _HAZARD}
        caution = caution.model_copy(update=told)
    return replace(
        prompt,
        question=painted(prompt.question, unit),
        why=painted(prompt.why, unit),
        heading=painted(prompt.heading, unit),
        caution=caution,
        options=tuple(option_in(option, unit) for option in prompt.options),
        suggested=painted(prompt.suggested, unit),
        facts=tuple(
            replace(fact, text=painted(fact.text, unit), source=painted(fact.source, unit))
            for fact in prompt.facts
        ),
    )


def option_in(option: Option, unit: str) -> Option:
    """An option as it is shown."""
    return replace(option, label=painted(option.label, unit))
