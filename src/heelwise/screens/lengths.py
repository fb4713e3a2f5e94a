"""Which unit lengths are shown in, chosen by a key for the time the program runs."""

from __future__ import annotations

from typing import Protocol, runtime_checkable

from textual.binding import Binding
from textual.dom import DOMNode

from heelwise.documents.length_display import AS_WRITTEN, other_unit
from heelwise.screens.doable import key

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
