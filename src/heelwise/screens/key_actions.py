"""Keys as data: what each does now, for the key bar and the help, with the Esc list and palette."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from typing import Any, ClassVar, Protocol, runtime_checkable

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.command import DiscoveryHit, Hit, Hits, Provider
from textual.containers import Vertical, VerticalScroll
from textual.dom import DOMNode
from textual.screen import ModalScreen, Screen
from textual.widgets import Static

from heelwise.screens.styled_text import content, lines, shown

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


LETTERS = "abcdefghijklmnopqrstuvwxyz"
OF_THEMSELVES = (
    *("Esc", "Enter", "PgDn", "PgUp", "Up", "Down", "Home", "End"),
    *("left", "right", "LEFT", "RIGHT", "DELETE"),
)
"""Keys every keyboard has, which a menu need not stand in for."""


def lettered(things: list[KeyAction]) -> dict[str, KeyAction]:
    """A key for everything: an F key's digit, a single key itself, else the next letter."""
    wanted = [thing for thing in things if thing.key not in OF_THEMSELVES]
    found = {own: thing for thing in wanted if (own := _own_key(thing))}
    rest = [thing for thing in wanted if not _own_key(thing)]
    free = (letter for letter in LETTERS if letter not in found)
    return dict(sorted({**found, **dict(zip(free, rest, strict=False))}.items()))


def _own_key(thing: KeyAction) -> str:
    if len(thing.key) == 1:
        return thing.key
    return thing.key[1] if len(thing.key) == 2 and thing.key[0] == "F" else ""


class MenuScreen(ModalScreen[KeyAction]):
    """A list of what can be done; a digit or letter does it."""

    CSS_PATH = "modal.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("escape", "back", "Back", "Back to where you were.", shown=True),
    ]

    def __init__(self, things: list[KeyAction]) -> None:
        super().__init__()
        self._things = lettered(things)

    def compose(self) -> ComposeResult:
        """Each with its digit, its own key and what it does."""
        with Vertical(classes="box"):
            yield Static(shown("What can be done now", "next"), classes="title")
            with VerticalScroll(classes="body", can_focus=False):
                yield Static(
                    lines(
                        [
                            (f" {letter} ", "key"),
                            (f" {thing.label:<12}", "strong"),
                            (f"{thing.says} ", "plain"),
                            (thing.key, "quiet"),
                        ]
                        for letter, thing in self._things.items()
                    )
                )
            yield Static(content([("Esc", "next"), (" back", "quiet")]), classes="foot")

    def on_key(self, event: events.Key) -> None:
        """Do what a digit or letter stands for, or an F key that would do without the list."""
        own = (thing for thing in self._things.values() if thing.key.lower() == event.key)
        thing = self._things.get(event.character or "") or next(own, None)
        if thing is not None:
            event.stop()
            self.dismiss(thing)

    def action_back(self) -> None:
        """Do nothing."""
        self.dismiss(None)
