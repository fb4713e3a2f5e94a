"""The two lines above all else: which build and phase, and how far it is."""

from __future__ import annotations

from dataclasses import dataclass

from textual.content import Content
from textual.widget import Widget

from heelwise.plain_text import one_line
from heelwise.screens.glyphs import glyphs
from heelwise.screens.tones import Part, lines

PHASES = ("prepare", "trial", "fit", "prove", "sign off")
SHORTEST_BAR = 6


@dataclass(frozen=True)
class Where:
    """What the top lines say."""

    build: str
    by: str
    kept: int
    phase: str
    progress: str
    done: int
    total: int


class TopLine(Widget):
    """Build, phases, progress."""

    DEFAULT_CSS = "TopLine { height: 2; background: $panel; padding: 0 1; }"

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._where: Where | None = None

    def show(self, where: Where) -> None:
        """Show this from now on."""
        self._where = where
        self.refresh()

    def render(self) -> Content:
        """Both lines for the present width."""
        if self._where is None:
            return Content("")
        width = self.content_size.width
        return lines([_first(self._where, width), _second(self._where, width)])


def _first(where: Where, width: int) -> list[Part]:
    phases = _phases(where.phase)
    room = width - sum(len(t) for t, _ in phases)
    name = one_line(where.build, max(room - 1, 1)).ljust(room)
    return [(name, "strong"), *phases]


def _phases(phase: str) -> list[Part]:
    at = PHASES.index(phase) if phase in PHASES else len(PHASES)
    parts: list[Part] = []
    for number, name in enumerate(PHASES):
        said = name.capitalize()
        if number < at:
            parts += [(f" {glyphs().good}{said} ", "quiet")]
        elif number == at:
            parts += [(f" {glyphs().next} {said.upper()} ", "key")]
        else:
            parts += [(f" {said} ", "quiet")]
    return parts


def _second(where: Where, width: int) -> list[Part]:
    kept = f"  {where.by}  {where.kept} kept"
    said = where.progress
    room = width - len(kept)
    bar = room - len(said) - 2
    parts: list[Part] = [(one_line(said, room), "plain")]
    if where.total and bar >= SHORTEST_BAR:
        full = round(where.done / where.total * bar)
        parts += [("  ", "plain"), (glyphs().full * full, "good")]
        parts += [(glyphs().empty * (bar - full), "line")]
    used = sum(len(t) for t, _ in parts)
    return [*parts, (kept.rjust(width - used), "quiet")]
