"""When an answer could not be saved: what went wrong, and the ways to go on without losing it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical, VerticalScroll
from textual.screen import ModalScreen, Screen
from textual.widgets import Static

from heelwise.screens.key_actions import key
from heelwise.screens.styled_text import lines, shown
from heelwise.screens.widgets.drawn import TextLine
from heelwise.session import Attempt, Session
from heelwise.storage.errors import StorageError
from heelwise.storage.names import typed_path
from heelwise.walk.prompts import Refused
from heelwise.walk.walker import Feedback


def keep(
    screen: Screen[Any],
    session: Session,
    act: Callable[[], Feedback],
    then: Callable[[Feedback], None],
    refused: Callable[[Refused], None],
) -> None:
    """Do what keeps an entry; where it can't be saved, ask what to do and do it again."""
    _run(screen, session, Attempt(session, act), then, refused)


def _run(
    screen: Screen[Any],
    session: Session,
    attempt: Attempt,
    then: Callable[[Feedback], None],
    refused: Callable[[Refused], None],
) -> None:
    def decided(again: bool | None) -> None:
        if again:
            _run(screen, session, attempt, then, refused)
        else:
            screen.app.call_later(screen.app.run_action, "app.leave_unsaved")

    try:
        feedback = attempt.run()
    except Refused as fault:
        refused(fault)
    except StorageError as error:
        screen.app.push_screen(SaveFailedScreen(session, error), decided)
    else:
        then(feedback)


class SaveFailedScreen(ModalScreen[bool]):
    """Stands until the record can be appended to again (gives True), or is left (False)."""

    CSS_PATH = "modal.tcss"
    AUTO_FOCUS = ""
    BINDINGS: ClassVar[list[BindingType]] = [
        key("1", "again", "Try again", "Try to save it in the same file.", shown=True),
        key("2", "elsewhere", "Other folder", "Go on in another folder.", shown=True),
        key("3,f10", "leave", "Leave", "Write down what was not saved, and leave.", shown=True),
        key("enter", "go_on", "Go on", "Go on in the folder that was typed."),
        key("escape", "back", "Back", "Back to the choice.", shown=True),
    ]

    def __init__(self, session: Session, error: StorageError) -> None:
        super().__init__()
        self._session, self._error = session, error

    def compose(self) -> ComposeResult:
        """What happened, what to do."""
        choices = (
            ("1", "try again in the same file"),
            ("2", "save the whole build in another folder and go on there"),
            ("3", "leave; the answer is written to a file of its own, or printed, first"),
        )
        with Vertical(classes="box"):
            yield Static(shown(" NOT SAVED ", "danger"), classes="title")
            with VerticalScroll(classes="body", can_focus=False):
                yield Static(id="what")
            yield Static(lines([(f" {k} ", "key"), (f" {does}", "plain")] for k, does in choices))
            yield TextLine(id="folder", placeholder="a folder that exists, then Enter")

    def on_mount(self) -> None:
        """Say what happened."""
        self._tell(self._error)
        self._ask_folder(False)

    def _tell(self, error: StorageError) -> None:
        self.query_one("#what", Static).update(
            lines(
                [
                    [("Your last answer is not saved: ", "plain"), (error.problem, "bad")],
                    [("Where: ", "quiet"), (error.where, "plain")],
                    [("What to do: ", "quiet"), (error.instead, "plain")],
                    [("What you typed is still here and is saved once this is fixed.", "plain")],
                ]
            )
        )

    def _ask_folder(self, asked: bool) -> None:
        folder = self.query_one("#folder", TextLine)
        folder.display = asked
        if asked:
            folder.focus()
        else:
            self.set_focus(None)

    def _try(self, repair: Callable[[], object]) -> None:
        if not self.is_current:
            return
        try:
            repair()
        except StorageError as error:
            self._tell(error)
        else:
            self.dismiss(True)

    def action_again(self) -> None:
        """Try the same file."""
        self._try(self._session.try_again)

    def action_elsewhere(self) -> None:
        """Ask for a folder."""
        self._ask_folder(True)

    def action_back(self) -> None:
        """Back to the choice."""
        self._ask_folder(False)

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
