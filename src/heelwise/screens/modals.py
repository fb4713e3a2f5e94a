"""Boxes over a screen: a few texts asked for, a message, all that can be done, a failed save."""

from collections.abc import Callable
from functools import partial
from typing import Any, ClassVar, TypeVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen, Screen
from textual.widget import Widget
from textual.widgets import Static

from heelwise.plain_text import Part
from heelwise.screens.drawn import Drawn, TextLine
from heelwise.screens.key_actions import KEY_NAMES, KeyAction, KeyBar, action_rows, key, key_actions
from heelwise.screens.styled_text import content, fault_parts, lines, shown
from heelwise.session import Session, attempt
from heelwise.storage.errors import StorageError
from heelwise.storage.names import typed_path
from heelwise.walk.prompts import Refused
from heelwise.walk.walker import Feedback

Given = TypeVar("Given")


class Box(ModalScreen[Given]):
    """A title, what it is about, which scrolls; under it what is filled in, and the keys."""

    CSS_PATH = "modal.tcss"

    def __init__(self, title: Part, about: Widget, *below: Widget) -> None:
        super().__init__()
        self._title, self._about, self._below = title, about, below

    def compose(self) -> ComposeResult:
        """The box."""
        with Vertical(classes="box"):
            yield Static(shown(*self._title), classes="title")
            with VerticalScroll(classes="body", can_focus=False):
                yield self._about
            yield from self._below
            yield KeyBar()

    def action_back(self) -> None:
        """Back to where it was called from."""
        self.dismiss(None)


class AskScreen(Box[Feedback]):
    """Asks for texts, does something with them, and closes once that was kept.

    `act` is given the texts, and may raise Refused or a StorageError; `check_first` may refuse the
    first text at once. What is refused can be mended in place.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        key("enter", "send", "Take it", "Take what was typed.", shown=True),
        key("escape", "back", "Back", "Back, without keeping anything.", shown=True),
    ]

    def __init__(
        self,
        session: Session,
        title: str,
        about: Content,
        wants: tuple[str, ...],
        act: Callable[..., Feedback],
        check_first: Callable[[str], object] = str,
    ) -> None:
        asked, remark = Static(classes="asked"), Static(classes="remark")
        line = TextLine(on_enter=self.action_send)
        super().__init__((title, "next"), Static(about), asked, line, remark)
        self._session, self._wants, self._act, self._check_first = session, wants, act, check_first
        self._given: tuple[str, ...] = ()

    def on_mount(self) -> None:
        """Ask for the first text."""
        self._ask("")

    def _ask(self, typed: str) -> None:
        wanted = self._wants[len(self._given)]
        asked = shown(f"{wanted[:1].upper()}{wanted[1:]}:", "strong")
        self.query_one(".asked", Static).update(asked)
        self.query_one(".remark", Static).display = False
        line = self.query_one(TextLine)
        line.put(typed)
        line.focus()

    def action_send(self) -> None:
        """Take the text; do what was asked for after the last."""
        texts = (*self._given, self.query_one(TextLine).value.strip())
        try:
            self._check_first(texts[0])
        except Refused as fault:
            self._refused(fault)
            return
        if len(texts) < len(self._wants):
            self._given = texts
            self._ask("")
        else:
            keep(self, self._session, partial(self._act, *texts), self.dismiss, self._refused)

    def _refused(self, fault: Refused) -> None:
        remark = self.query_one(".remark", Static)
        remark.update(content(fault_parts(fault.problem, fault.instead)))
        remark.display = True

    def action_back(self) -> None:
        """Back one text, or out."""
        if not self._given:
            self.dismiss(None)
            return
        *kept, last = self._given
        self._given = tuple(kept)
        self._ask(last)


class MessageScreen(Box[None]):
    """A title and some lines; Esc or Enter goes back."""

    BINDINGS: ClassVar[list[BindingType]] = [
        key("escape,enter", "back", "Back", "Back to where you were.", shown=True),
        key("down,pagedown", "scroll(1)", "Down", "Read on."),
        key("up,pageup", "scroll(-1)", "Up", "Read back."),
    ]

    def __init__(self, title: str, text: Content) -> None:
        super().__init__((title, "bad"), Static(text))

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


class MenuScreen(Box[KeyAction]):
    """Everything that can be done now; a digit or letter does it. Needs no F keys."""

    BINDINGS: ClassVar[list[BindingType]] = [
        key("escape", "back", "Back", "Back to where you were.", shown=True),
    ]

    def __init__(self, actions: list[KeyAction]) -> None:
        super().__init__(("What can be done now", "next"), Drawn(self._lines))
        self._actions = lettered(actions)

    def _lines(self, width: int) -> list[list[Part]]:
        return action_rows(self._actions.items(), width)

    def on_key(self, event: events.Key) -> None:
        """Do what a digit or letter stands for, or an F key that would do without the list."""
        own = (action for action in self._actions.values() if action.key.lower() == event.key)
        action = self._actions.get(event.character or "") or next(own, None)
        if action is not None and self.is_current:
            event.stop()
            self.dismiss(action)


def keep(
    screen: Screen[Any],
    session: Session,
    act: Callable[[], Feedback],
    then: Callable[[Feedback], object],
    refused: Callable[[Refused], None],
) -> None:
    """Do what keeps an entry; where it can't be saved, ask what to do and do it again."""
    again = attempt(session, act)

    def run() -> None:
        try:
            feedback = again()
        except Refused as fault:
            refused(fault)
        except StorageError as error:
            screen.app.push_screen(SaveFailedScreen(session, error), decided)
        else:
            then(feedback)

    def decided(try_again: bool | None) -> None:
        if try_again:
            run()
        else:
            screen.app.call_later(screen.app.run_action, "app.leave_unsaved")

    run()


class SaveFailedScreen(Box[bool]):
    """Stands until the record can be appended to again (gives True), or is left (False)."""

    AUTO_FOCUS = ""
    BINDINGS: ClassVar[list[BindingType]] = [
        key("1", "again", "Try again", "Try again in the same file.", shown=True),
        key("2", "elsewhere", "Other folder", "Go on in a copy in another folder.", shown=True),
        key("3,f10", "leave", "Leave", "Your answer is written elsewhere, or printed.", shown=True),
    ]

    def __init__(self, session: Session, error: StorageError) -> None:
        self._what = Static(_what_failed(error))
        super().__init__((" NOT SAVED ", "danger"), self._what, Drawn(self._choices))
        self._session = session

    def _choices(self, width: int) -> list[list[Part]]:
        shown = [(each.key, each) for each in key_actions(self) if each.key.isdigit()]
        return action_rows(shown, width)

    def action_again(self) -> None:
        """Try the same file."""
        if self.is_current:
            try:
                self._session.record.journal.recover_in_place()
            except StorageError as error:
                self._what.update(_what_failed(error))
            else:
                self.dismiss(True)

    def action_elsewhere(self) -> None:
        """Ask for a folder, and go on there."""

        def go_on(folder: str) -> Feedback:
            if not folder:
                raise Refused("no folder was typed", "a folder that exists")
            try:
                self._session.continue_in(typed_path(folder))
            except StorageError as error:
                raise Refused(error.problem, error.instead) from None
            return Feedback("", "plain", ())

        about = shown("The whole build is saved there, and goes on there.")
        ask = AskScreen(self._session, "Another folder", about, ("a folder that exists",), go_on)
        self.app.push_screen(ask, self._went_on)

    def _went_on(self, done: Feedback | None) -> None:
        if done is not None:
            self.dismiss(True)

    def action_leave(self) -> None:
        """Leave once what is not saved stands somewhere else, or is sure to be printed."""
        if self.is_current:
            self.dismiss(False)


def _what_failed(error: StorageError) -> Content:
    return lines(
        [
            [("Your last answer is not saved: ", "plain"), (error.problem, "bad")],
            [("Where: ", "quiet"), (error.where, "plain")],
            [("What to do: ", "quiet"), (error.instead, "plain")],
            [("What you typed is still here and is saved once this is fixed.", "plain")],
        ]
    )
