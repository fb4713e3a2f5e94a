"""What happens when an entry could not be saved: what went wrong, and the choices."""

from __future__ import annotations

from collections.abc import Callable
from enum import Enum
from pathlib import Path
from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen, Screen
from textual.widgets import Static

from heelwise.screens.key_actions import key
from heelwise.screens.styled_text import content, lines, shown
from heelwise.screens.widgets.text_line import TextLine
from heelwise.session import Session
from heelwise.storage.errors import StorageError
from heelwise.walk.prompts import Refused
from heelwise.walk.walker import Feedback


class Mended(Enum):
    """How it ended."""

    YES = "yes"
    LEFT = "left"


class SaveFailedScreen(ModalScreen[Mended]):
    """Stands until the record can be appended to again, or is left."""

    CSS_PATH = "modal.tcss"
    AUTO_FOCUS = ""
    BINDINGS: ClassVar[list[BindingType]] = [
        key("1", "again", "Try again", "Try to keep it in the same file.", shown=True),
        key("2", "elsewhere", "Other folder", "Go on in another folder.", shown=True),
        key("3", "leave", "Leave", "Leave. Everything kept before stays.", shown=True),
        key("enter", "go_on", "Go on", "Go on in the folder that was typed."),
        key("escape", "back", "Back", "Back to the choice.", shown=True),
    ]

    def __init__(self, session: Session, error: StorageError) -> None:
        super().__init__()
        self._session = session
        self._error = error

    def compose(self) -> ComposeResult:
        """What happened, what to do."""
        with Vertical(classes="box"):
            yield Static(shown(" NOT KEPT ", "danger"), classes="title")
            with VerticalScroll(classes="body", can_focus=False):
                yield Static(id="what")
            yield Static(_choices(), id="choices")
            yield TextLine(id="folder", placeholder="a folder that is there")

    def on_mount(self) -> None:
        """Say what happened."""
        self._tell()
        self._ask_folder(False)

    def _tell(self) -> None:
        error = self._error
        self.query_one("#what", Static).update(
            lines(
                [
                    [("What was answered last is not kept: ", "plain"), (error.problem, "bad")],
                    [("Where: ", "quiet"), (error.where, "plain")],
                    [("What to do: ", "quiet"), (error.instead, "plain")],
                    [("What was typed is still there and is answered again.", "plain")],
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

    def action_again(self) -> None:
        """Try the same file."""
        try:
            self._session.try_again()
        except StorageError as error:
            self._error = error
            self._tell()
        else:
            self.dismiss(Mended.YES)

    def action_elsewhere(self) -> None:
        """Ask for a folder."""
        self._ask_folder(True)

    def action_back(self) -> None:
        """Back to the choice."""
        self._ask_folder(False)

    def action_leave(self) -> None:
        """Give up; what was kept before stays."""
        self.dismiss(Mended.LEFT)

    def action_go_on(self) -> None:
        """Go on in the folder that was typed."""
        typed = self.query_one("#folder", TextLine).value.strip()
        if not typed:
            return
        try:
            self._session.continue_in(Path(typed).expanduser())
        except StorageError as error:
            self._error = error
            self._tell()
        else:
            self.dismiss(Mended.YES)


def _choices() -> Content:
    return content(
        [
            (" 1 ", "key"),
            (" try again in the same file\n", "plain"),
            (" 2 ", "key"),
            (" keep the whole build in another folder and go on there\n", "plain"),
            (" 3 ", "key"),
            (" leave; everything kept before stays\n", "plain"),
        ]
    )


PART = Feedback("Only a part of that answer was kept before the trouble. Read on here.", "warn", ())
"""Said where the rest of an answer has to be given anew, to the question that stands now."""


def keep(
    screen: Screen[Any],
    session: Session,
    act: Callable[[], Feedback],
    then: Callable[[Feedback], None],
    refused: Callable[[Refused], None],
) -> None:
    """Do what keeps an entry; where it could not be kept, say so and let a person choose."""
    known = len(session.record.entries)

    def mended(how: Mended | None) -> None:
        if how is Mended.YES:
            again()
        else:
            screen.app.call_later(screen.app.run_action, "app.leave_for_bench")

    def again() -> None:
        if len(session.record.entries) > known:
            then(PART)
        else:
            keep(screen, session, act, then, refused)

    try:
        said = act()
    except Refused as fault:
        refused(fault)
    except StorageError as error:
        screen.app.push_screen(SaveFailedScreen(session, error), mended)
    else:
        then(said)
