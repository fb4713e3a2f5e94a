"""Keys as data: what a key does here, for the key bar, help, Esc list and palette."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from typing import Any, Protocol, runtime_checkable

from textual.binding import Binding
from textual.command import DiscoveryHit, Hit, Hits, Provider
from textual.dom import DOMNode
from textual.screen import Screen

PALETTE = "command_palette"


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
    says: str
    shown: bool
    run: Callable[[], Awaitable[object]]


def key(
    keys: str, action: str, label: str, says: str, *, shown: bool = False, first: bool = False
) -> Binding:
    """A binding as this program has them: a label for the key bar and a sentence for the help."""
    told = named(keys.split(",")[0])
    return Binding(keys, action, label, shown, told, priority=first, tooltip=says)


def named(name: str) -> str:
    """A key as it is printed on the keyboard."""
    known = {
        "escape": "Esc",
        "enter": "Enter",
        "pageup": "PgUp",
        "pagedown": "PgDn",
        "question_mark": "?",
        "ctrl+q": "Ctrl+Q",
        "ctrl+p": "Ctrl+P",
        "up": "Up",
        "down": "Down",
        "home": "Home",
        "end": "End",
    }
    return known.get(name, name.upper() if len(name) > 1 else name)


def key_actions(screen: Screen[Any]) -> list[KeyAction]:
    """Everything that has a key on a screen and can be done now, each once."""
    found: dict[str, KeyAction] = {}
    told: set[str] = set()
    for node, binding, enabled, _ in screen.active_bindings.values():
        ours = binding.tooltip and binding.action != PALETTE
        if not enabled or not ours or binding.action in found:
            continue
        one = _key_action(node, binding)
        if one.key not in told:  # a second key of the program for what the screen's own does
            found[binding.action] = one
            told.add(one.key)
    return list(found.values())


def _key_action(node: DOMNode, binding: Binding) -> KeyAction:
    def run() -> Awaitable[object]:
        return node.app.run_action(binding.action, node)

    told = binding.key_display or named(binding.key)
    label = node.app.label_of(binding.action) if isinstance(node.app, Relabels) else None
    return KeyAction(told, label or binding.description, binding.tooltip, binding.show, run)


class ActionsNow(Provider):
    """Gives the palette the bindings of the screen it was called from."""

    async def discover(self) -> Hits:
        """Everything, before anything is typed."""
        for thing in key_actions(self.screen):
            yield DiscoveryHit(thing.says, thing.run, help=f"{thing.key}  {thing.label}")

    async def search(self, query: str) -> Hits:
        """What matches the typing."""
        matcher = self.matcher(query)
        for thing in key_actions(self.screen):
            score = matcher.match(f"{thing.label} {thing.says}")
            if score > 0:
                shown = matcher.highlight(thing.says)
                yield Hit(score, shown, thing.run, help=f"{thing.key}  {thing.label}")
