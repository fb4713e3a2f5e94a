"""Keys as data: what each does now, for the key bar, the help and the Esc list."""

from collections.abc import Awaitable, Callable, Iterable
from dataclasses import dataclass
from functools import partial
from typing import Any

from textual.binding import Binding
from textual.content import Content
from textual.screen import Screen
from textual.widget import Widget

from heelwise.plain_text import Part, wrapped
from heelwise.screens.styled_text import content

KEY_NAMES = {
    "escape": "Esc",
    "enter": "Enter",
    "tab": "Tab",
    "pageup": "PgUp",
    "pagedown": "PgDn",
    "delete": "Del",
    **{name: name.capitalize() for name in ("up", "down", "left", "right", "home", "end", "space")},
    "ctrl+q": "Ctrl+Q",
    "question_mark": "?",
}
"""Keys as they are printed on the keyboard, where that isn't their name in capitals."""


def key(
    keys: str, action: str, label: str, help: str, *, shown: bool = False, told: str = ""
) -> Binding:
    """A binding with a label for the key bar and a sentence for the help.

    The first of several keys, or `told`, is the one shown; `shown`: on the key bar.
    """
    told = told or _name(keys.split(",")[0])
    return Binding(keys, action, label, shown, told, tooltip=help)


def _name(key: str) -> str:
    return KEY_NAMES.get(key, key.upper() if len(key) > 1 else key)


LENGTHS_KEY = key("f11", "app.lengths", "mm/in", "Lengths in mm or inches.", shown=True)
"""Changes the unit, on every screen that shows lengths and watches it."""


@dataclass(frozen=True)
class KeyAction:
    """One thing a key does here."""

    key: str
    label: str
    help: str
    shown: bool
    run: Callable[[], Awaitable[object]]


def key_actions(screen: Screen[Any]) -> list[KeyAction]:
    """Everything that has a key on a screen and can be done now, each once."""
    by_action: dict[str, KeyAction] = {}
    for node, binding, enabled, _ in screen.active_bindings.values():
        if enabled and binding.tooltip:
            name = binding.key_display or _name(binding.key)
            run = partial(node.app.run_action, binding.action, node)
            action = KeyAction(name, binding.description, binding.tooltip, binding.show, run)
            known = by_action.get(binding.action)
            if known is None or (action.shown and not known.shown):
                by_action[binding.action] = action
    by_key: dict[str, KeyAction] = {}
    for action in by_action.values():  # a key of the screen goes before the program's own
        by_key.setdefault(action.key, action)
    return list(by_key.values())


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


def action_rows(actions: Iterable[tuple[str, KeyAction]], width: int) -> list[list[Part]]:
    """What can be done, each with the key to press for it, what it is called and what it does."""
    rows: list[list[Part]] = []
    for key, action in actions:
        start: list[Part] = [(f"{key:>6}  ", "next"), (f"{action.label:<13}", "strong")]
        rows += wrapped([*start, (action.help, "plain")], width, 21)
    return rows
