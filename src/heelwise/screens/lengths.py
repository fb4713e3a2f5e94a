"""The unit lengths are shown in, and a prompt painted in it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Protocol, runtime_checkable

from textual.binding import Binding
from textual.dom import DOMNode

from heelwise.documents.length_display import AS_WRITTEN, in_unit, other_unit
from heelwise.screens.key_actions import key

if TYPE_CHECKING:  # the bench is painted without the walk
    from heelwise.walk.prompts import Hazard, Option, Prompt

ACTION = "app.lengths"
SAYS = "Lengths in mm or in inches; what was typed stays."


class LengthChoice:
    """Holds the choice; the program is one."""

    lengths: str = AS_WRITTEN

    def label_of(self, action: str) -> str | None:
        """The unit a key brings, for the key that changes it."""
        return other_unit(self.lengths) if action == ACTION else None


@runtime_checkable
class ShowsLengths(Protocol):
    """A screen that can show its lengths anew."""

    def show_lengths(self) -> None:
        """Show them in the unit chosen."""


def lengths_key() -> Binding:
    """The key that changes the unit, for every screen that shows lengths."""
    return key("f11", ACTION, "mm/in", SAYS, shown=True)


def lengths_in(node: DOMNode) -> str:
    """The unit lengths are shown in where a node is."""
    app = node.app
    return app.lengths if isinstance(app, LengthChoice) else AS_WRITTEN


def prompt_in(prompt: Prompt, unit: str) -> Prompt:
    """A prompt as it is shown, its lengths in one unit; never the one that takes the answer."""
    if unit == AS_WRITTEN:
        return prompt
    return replace(
        prompt,
        question=in_unit(prompt.question, unit),
        why=in_unit(prompt.why, unit),
        heading=in_unit(prompt.heading, unit),
        caution=None if prompt.caution is None else _hazard(prompt.caution, unit),
        options=tuple(option_in(option, unit) for option in prompt.options),
        suggested=in_unit(prompt.suggested, unit),
        facts=tuple(
            replace(f, text=in_unit(f.text, unit), source=in_unit(f.source, unit))
            for f in prompt.facts
        ),
    )


def option_in(option: Option, unit: str) -> Option:
    """An option as it is shown."""
    return replace(option, label=in_unit(option.label, unit))


def _hazard(hazard: Hazard, unit: str) -> Hazard:
    return replace(
        hazard,
        hazard=in_unit(hazard.hazard, unit),
        consequence=in_unit(hazard.consequence, unit),
        avoid=in_unit(hazard.avoid, unit),
    )
