"""The lines at the top and the bottom: build, phase and progress; keys that act."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from textual.content import Content
from textual.screen import Screen
from textual.widget import Widget

from heelwise.plain_text import one_line
from heelwise.screens.key_actions import KeyAction, key_actions
from heelwise.screens.styled_text import Part, content, lines
from heelwise.screens.theme import glyphs

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


MORE = ("Esc", "More")


class KeyBar(Widget):
    """Made of the screen's own bindings, so that it can't say what isn't so."""

    DEFAULT_CSS = "KeyBar { dock: bottom; height: 1; background: $panel; padding: 0 1; }"

    def on_mount(self) -> None:
        """Follow the screen's bindings."""
        self.screen.bindings_updated_signal.subscribe(self, self._changed)

    def _changed(self, screen: Screen[Any]) -> None:
        if screen is self.screen:
            self.refresh()

    def render(self) -> Content:
        """The keys that fit."""
        return bar(key_actions(self.screen), self.content_size.width)


def bar(keys: list[KeyAction], width: int) -> Content:
    """Keys with their labels on one line."""
    shown = [(k.key, k.label) for k in keys if k.shown]
    last = next((pair for pair in shown if pair[0] == MORE[0]), None)
    kept, used = [], _wide(last) if last else 0
    for pair in shown:
        if pair is not last and used + _wide(pair) <= width:
            kept.append(pair)
            used += _wide(pair)
    return content([part for pair in [*kept, *([last] if last else [])] for part in _parts(pair)])


def _wide(pair: tuple[str, str]) -> int:
    return len(pair[0]) + len(pair[1]) + 3


def _parts(pair: tuple[str, str]) -> list[Part]:
    return [(pair[0], "next"), (f" {pair[1]}  ", "plain")]
