"""Keys as data: what each does now, for the key bar, the help, the Esc list and the palette."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from typing import Any, Protocol, runtime_checkable

from textual.binding import Binding
from textual.command import DiscoveryHit, Hit, Hits, Provider
from textual.dom import DOMNode
from textual.screen import Screen

PALETTE = "command_palette"

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


@runtime_checkable
class Relabels(Protocol):
    """A program some of whose keys bring something else each time."""

    def label_of(self, action: str) -> str | None:
        """What a key of this action brings now; None for what its binding says."""


@dataclass(frozen=True)
class KeyAction:
    """One thing a key does here."""

    key: str
    label: str
    help: str
    shown: bool
    run: Callable[[], Awaitable[object]]


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


def key_actions(screen: Screen[Any]) -> list[KeyAction]:
    """Everything that has a key on a screen and can be done now, each once."""
    actions: dict[str, KeyAction] = {}
    keys: set[str] = set()
    for node, binding, enabled, _ in screen.active_bindings.values():
        ours = binding.tooltip and binding.action != PALETTE
        if not enabled or not ours or binding.action in actions:
            continue
        action = _key_action(node, binding)
        if action.key not in keys:  # a second key of the program for what the screen's own does
            actions[binding.action] = action
            keys.add(action.key)
    return list(actions.values())


def _key_action(node: DOMNode, binding: Binding) -> KeyAction:
    def run() -> Awaitable[object]:
        return node.app.run_action(binding.action, node)

    name = binding.key_display or _name(binding.key)
    label = node.app.label_of(binding.action) if isinstance(node.app, Relabels) else None
    return KeyAction(name, label or binding.description, binding.tooltip, binding.show, run)


class ActionsNow(Provider):
    """Gives the command palette the keys of the screen it was called from."""

    async def discover(self) -> Hits:
        """Everything, before anything is typed."""
        for action in key_actions(self.screen):
            yield DiscoveryHit(action.help, action.run, help=f"{action.key}  {action.label}")

    async def search(self, query: str) -> Hits:
        """What matches the typing."""
        matcher = self.matcher(query)
        for action in key_actions(self.screen):
            score = matcher.match(f"{action.label} {action.help}")
            if score > 0:
                text = matcher.highlight(action.help)
                yield Hit(score, text, action.run, help=f"{action.key}  {action.label}")
