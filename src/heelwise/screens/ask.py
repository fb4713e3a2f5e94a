"""Screens over a screen: a few texts asked for, a message, everything that can be done."""

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

from heelwise.screens.key_actions import KEY_NAMES, KeyAction, key
from heelwise.screens.save_failed import keep
from heelwise.screens.styled_text import Part, content, shown, wrapped
from heelwise.screens.theme import glyphs
from heelwise.screens.widgets.drawn import Drawn, TextLine
from heelwise.session import Session
from heelwise.walk.prompts import Refused
from heelwise.walk.walker import Feedback

Act = Callable[[tuple[str, ...]], Feedback]
"""What is done with the texts; it may raise Refused or a StorageError."""

Check = Callable[[str], object]
"""Looks at one text; it may raise Refused."""


class AskScreen(ModalScreen[Feedback]):
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

    def _done(self, said: Feedback) -> None:
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


ON_EVERY_KEYBOARD = {*KEY_NAMES.values(), "↑↓", "←→"}
LETTERS = "abcdefghijklmnopqrstuvwxyz"


def lettered(actions: list[KeyAction]) -> dict[str, KeyAction]:
    """A key for each: an F key's digit, a single key itself, else the next letter.

    What has a key on every keyboard is passed over.
    """
    wanted = [action for action in actions if action.key not in ON_EVERY_KEYBOARD]
    own = {_own_key(action): action for action in wanted if _own_key(action)}
    rest = [action for action in wanted if not _own_key(action)]
    free = (letter for letter in LETTERS if letter not in own)
    return dict(sorted({**own, **dict(zip(free, rest, strict=False))}.items()))


def _own_key(action: KeyAction) -> str:
    if len(action.key) == 1:
        return action.key
    return action.key[1] if len(action.key) == 2 and action.key[0] == "F" else ""


class MenuScreen(ModalScreen[KeyAction]):
    """Everything that can be done now; a digit or letter does it. Needs no F keys."""

    CSS_PATH = "modal.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("escape", "back", "Back", "Back to where you were.", shown=True),
    ]

    def __init__(self, actions: list[KeyAction]) -> None:
        super().__init__()
        self._actions = lettered(actions)

    def compose(self) -> ComposeResult:
        """Each with its digit or letter and what it does."""
        with Vertical(classes="box"):
            yield Static(shown("What can be done now", "next"), classes="title")
            with VerticalScroll(classes="body", can_focus=False):
                yield Drawn(id="actions")
            yield Static(content([("Esc", "next"), (" back", "quiet")]), classes="foot")

    def on_mount(self) -> None:
        """List them."""
        self.query_one("#actions", Drawn).show(self._lines)

    def _lines(self, width: int) -> list[list[Part]]:
        rows: list[list[Part]] = []
        for letter, action in self._actions.items():
            start: list[Part] = [(f" {letter} ", "key"), ("  ", "plain")]
            words: list[Part] = [(f"{action.label:<13}", "strong"), (action.help, "plain")]
            first, *more = wrapped(words, width - 5, 13)
            rows += [[*start, *first], *([("     ", "plain"), *line] for line in more)]
        return rows

    def on_key(self, event: events.Key) -> None:
        """Do what a digit or letter stands for, or an F key that would do without the list."""
        own = (action for action in self._actions.values() if action.key.lower() == event.key)
        action = self._actions.get(event.character or "") or next(own, None)
        if action is not None and self.is_current:
            event.stop()
            self.dismiss(action)

    def action_back(self) -> None:
        """Do nothing."""
        self.dismiss(None)
