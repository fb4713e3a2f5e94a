"""Screens over a screen: a few texts asked for, everything that can be done, a message."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from heelwise.screens.key_actions import KeyAction, key
from heelwise.screens.save_failed import keep
from heelwise.screens.styled_text import content, lines, shown
from heelwise.screens.theme import glyphs
from heelwise.screens.widgets.entry_lines import TextLine
from heelwise.session import Session
from heelwise.walk.prompts import Refused
from heelwise.walk.walker import Said

Act = Callable[[tuple[str, ...]], Said]
"""What is done with the texts; it may raise Refused or a StorageError."""

Check = Callable[[str], object]
"""Looks at one text; it may raise Refused."""


class AskScreen(ModalScreen[Said]):
    """Asks, does it, and closes once it was kept; what is refused can be mended in place."""

    CSS_PATH = "modal.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("enter", "send", "Keep it", "Take what was typed.", shown=True),
        key("escape", "back", "Back", "Back, without keeping anything.", shown=True),
    ]

    def __init__(
        self,
        session: Session,
        title: str,
        about: Content,
        wants: tuple[str, ...],
        act: Act,
        *,
        does: str = "keeps it",
        checks: tuple[Check, ...] = (),
    ) -> None:
        """Get ready to ask."""
        super().__init__()
        self._does, self._checks = does, checks
        self._session, self._title, self._about = session, title, about
        self._wants, self._act = wants, act
        self._given: tuple[str, ...] = ()

    def compose(self) -> ComposeResult:
        """The title, what it is about, one line to type in."""
        with Vertical(classes="box"):
            yield Static(shown(self._title, "next"), classes="title")
            with VerticalScroll(classes="body", can_focus=False):
                yield Static(self._about)
            yield Static(classes="asked")
            yield TextLine(on_enter=self.action_send)
            yield Static(classes="remark")
            yield Static(classes="enter")

    def on_mount(self) -> None:
        """Ask for the first text."""
        self._ask("")

    def _ask(self, typed: str) -> None:
        wanted = self._wants[len(self._given)]
        self.query_one(".asked", Static).update(
            shown(f"{wanted[:1].upper()}{wanted[1:]}:", "strong")
        )
        self.query_one(".remark", Static).display = False
        last = len(self._given) + 1 == len(self._wants)
        does = self._does if last else "goes on"
        foot = content([("Enter", "next"), (f" {does}   ", "quiet"), *_BACK])
        self.query_one(".enter", Static).update(foot)
        line = self.query_one(TextLine)
        line.put(typed)
        line.focus()

    def action_send(self) -> None:
        """Take the text; do what was asked for after the last."""
        texts = (*self._given, self.query_one(TextLine).value.strip())
        try:
            for check in self._checks[len(self._given) : len(texts)]:
                check(texts[-1])
        except Refused as fault:
            self._refused(fault)
            return
        if len(texts) < len(self._wants):
            self._given = texts
            self._ask("")
            return
        keep(self, self._session, lambda: self._act(texts), self._done, self._refused)

    def _done(self, said: Said) -> None:
        self.dismiss(said)

    def _refused(self, fault: Refused) -> None:
        remark = self.query_one(".remark", Static)
        remark.update(
            content([(f"{glyphs().bad} {fault.problem}; ", "bad"), (fault.instead, "plain")])
        )
        remark.display = True

    def action_back(self) -> None:
        """Back one text, or out."""
        if not self._given:
            self.dismiss(None)
            return
        *kept, last = self._given
        self._given = tuple(kept)
        self._ask(last)


_BACK = [("Esc", "next"), (" back", "quiet")]


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


class MessageScreen(ModalScreen[None]):
    """A title and some lines; Esc or Enter goes back."""

    CSS_PATH = "modal.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("escape,enter", "back", "Back", "Back to where you were.", shown=True),
        key("down,pagedown", "scroll(1)", "Down", "Read on."),
        key("up,pageup", "scroll(-1)", "Up", "Read back."),
    ]

    def __init__(self, title: str, said: Content) -> None:
        super().__init__()
        self._title, self._said = title, said

    def compose(self) -> ComposeResult:
        """The title, the lines, how to go back."""
        with Vertical(classes="box"):
            yield Static(shown(self._title, "bad"), classes="title")
            with VerticalScroll(classes="body", can_focus=False):
                yield Static(self._said)
            yield Static(content([("Esc", "next"), (" back", "quiet")]), classes="foot")

    def action_back(self) -> None:
        """Back."""
        self.dismiss(None)

    def action_scroll(self, by: int) -> None:
        """Scroll the lines."""
        self.query_one(VerticalScroll).scroll_relative(y=by * 3, animate=False)
