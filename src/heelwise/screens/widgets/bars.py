"""The lines at the top and the bottom: build, phase and progress; keys that act."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from textual.content import Content
from textual.screen import Screen
from textual.widget import Widget

from heelwise.plain_text import one_line
from heelwise.screens.key_actions import KeyAction, key_actions
from heelwise.screens.styled_text import Part, content, lines
from heelwise.screens.theme import glyphs

if TYPE_CHECKING:  # the bench is painted without the walk
    from heelwise.walk.prompts import Prompt

PHASES = ("prepare", "trial", "fit", "prove", "sign off")
SHORTEST_BAR = 6


class TopLine(Widget):
    """Build, phases, progress."""

    DEFAULT_CSS = "TopLine { height: 2; background: $panel; padding: 0 1; }"

    def show(self, build: str, kept: str, prompt: Prompt) -> None:
        """Show a build's name, who keeps how many entries, and how far the prompt's phase is."""
        self._shown = build, kept, prompt
        self.refresh()

    _shown: tuple[str, str, Prompt] | None = None

    def render(self) -> Content:
        """Both lines for the present width."""
        if self._shown is None:
            return Content("")
        build, kept, prompt = self._shown
        width = self.content_size.width
        phases = _phases(prompt.phase)
        room = width - sum(len(text) for text, _ in phases)
        name = one_line(build, max(room - 1, 1)).ljust(room)
        return lines([[(name, "strong"), *phases], _progress(prompt, f"  {kept}", width)])


def _phases(phase: str) -> list[Part]:
    at = PHASES.index(phase)
    parts: list[Part] = []
    for number, name in enumerate(PHASES):
        if number == at:
            parts.append((f" {glyphs().next} {name.upper()} ", "key"))
        else:
            parts.append((f" {glyphs().good if number < at else ''}{name.capitalize()} ", "quiet"))
    return parts


def _progress(prompt: Prompt, kept: str, width: int) -> list[Part]:
    room = width - len(kept)
    bar = room - len(prompt.progress) - 2
    parts: list[Part] = [(one_line(prompt.progress, room), "plain")]
    if prompt.total and bar >= SHORTEST_BAR:
        full = round(prompt.done / prompt.total * bar)
        parts += [("  ", "plain"), (glyphs().full * full, "good")]
        parts += [(glyphs().empty * (bar - full), "line")]
    return [*parts, (kept.rjust(width - sum(len(text) for text, _ in parts)), "quiet")]


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
    """Keys with their labels on one line; the last of them is Esc, where it acts."""
    shown = [(f"{each.key} ", f"{each.label}  ") for each in keys if each.shown]
    last = [pair for pair in shown if pair[0] == "Esc "]
    room, kept = width - sum(len(key + label) for key, label in last), []
    for key, label in shown:
        if key != "Esc " and len(key + label) <= room:
            kept.append((key, label))
            room -= len(key + label)
    tones = ("next", "plain")
    return content(part for pair in [*kept, *last] for part in zip(pair, tones, strict=True))
