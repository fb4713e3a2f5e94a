"""Boxes over a screen: a few texts asked for, a message, all that can be done, a failed save."""

from collections.abc import Callable
from typing import Any, ClassVar, TypeVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen, Screen
from textual.widget import Widget
from textual.widgets import Static

from heelwise.plain_text import Part, wrapped
from heelwise.screens.drawn import Drawn, TextLine
from heelwise.screens.key_actions import KEY_NAMES, KeyAction, KeyBar, key
from heelwise.screens.styled_text import content, lines, shown
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

    `act` may raise Refused or a StorageError, each of `checks` Refused for one text; what is
    refused can be mended in place.
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
        act: Callable[[tuple[str, ...]], Feedback],
        checks: tuple[Callable[[str], object], ...] = (),
    ) -> None:
        asked, remark = Static(classes="asked"), Static(classes="remark")
        line = TextLine(on_enter=self.action_send)
        super().__init__((title, "next"), Static(about), asked, line, remark)
        self._session, self._wants, self._act, self._checks = session, wants, act, checks
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
            for check in self._checks[len(self._given) : len(texts)]:
                check(texts[-1])
        except Refused as fault:
            self._refused(fault)
            return
        if len(texts) < len(self._wants):
            self._given = texts
            self._ask("")
        else:
            keep(self, self._session, lambda: self._act(texts), self.dismiss, self._refused)

    def _refused(self, fault: Refused) -> None:
        remark = self.query_one(".remark", Static)
        parts = [(f"✗ {fault.problem}; ", "bad"), (fault.instead, "plain")]
        remark.update(content(parts))
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

    def decided(again: bool | None) -> None:
        if again:
            run()
        else:
            screen.app.call_later(screen.app.run_action, "app.leave_unsaved")

    run()


class SaveFailedScreen(Box[bool]):
    """Stands until the record can be appended to again (gives True), or is left (False)."""

    AUTO_FOCUS = ""
    BINDINGS: ClassVar[list[BindingType]] = [
        key("1", "again", "Try again", "Try to save it in the same file.", shown=True),
        key("2", "elsewhere", "Other folder", "Go on in another folder.", shown=True),
        key("3,f10", "leave", "Leave", "Write down what was not saved, and leave.", shown=True),
        key("enter", "go_on", "Go on", "Go on in the folder that was typed."),
        key("escape", "back", "Back", "Back to the choice.", shown=True),
    ]
    CHOICES = (
        ("1", "try again in the same file"),
        ("2", "save the whole build in another folder and go on there"),
        ("3", "leave; the answer is written to a file of its own, or printed, first"),
    )

    def __init__(self, session: Session, error: StorageError) -> None:
        choices = lines([(f" {k} ", "key"), (f" {does}", "plain")] for k, does in self.CHOICES)
        folder = TextLine(id="folder", placeholder="a folder that exists, then Enter")
        folder.display = False
        what = Static(_what_failed(error), id="what")
        super().__init__((" NOT SAVED ", "danger"), what, Static(choices), folder)
        self._session = session

    def _try(self, repair: Callable[[], object]) -> None:
        if not self.is_current:
            return
        try:
            repair()
        except StorageError as error:
            self.query_one("#what", Static).update(_what_failed(error))
        else:
            self.dismiss(True)

    def action_again(self) -> None:
        """Try the same file."""
        self._try(self._session.record.journal.recover_in_place)

    def action_elsewhere(self) -> None:
        """Ask for a folder."""
        folder = self.query_one("#folder", TextLine)
        folder.display = True
        folder.focus()

    def action_back(self) -> None:
        """Back to the choice."""
        self.query_one("#folder").display = False
        self.set_focus(None)

    def action_go_on(self) -> None:
        """Go on in the folder that was typed."""
        folder = self.query_one("#folder", TextLine)
        typed = folder.value.strip()
        if folder.display and typed:
            self._try(lambda: self._session.continue_in(typed_path(typed)))

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
