"""Starting a build from a setup file: what it was understood to say, then name and initials."""

import itertools
import re
from datetime import datetime
from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.screen import Screen
from textual.widgets import Static

from heelwise.documents.procedure import Procedure
from heelwise.documents.setup import Setup
from heelwise.plain_text import Part, wrapped
from heelwise.screens.drawn import Drawn, TextLine
from heelwise.screens.key_actions import LENGTHS_KEY, KeyBar, key
from heelwise.screens.styled_text import content, lengths_in, shown
from heelwise.session import JOB_ASKED, Session, begin_session
from heelwise.sheet.setup_words import setup_sections
from heelwise.sheet.text import section_lines
from heelwise.storage.errors import StorageError
from heelwise.storage.names import initials
from heelwise.walk.scene import scene_of


def free_name(folder: Path, stem: str) -> str:
    """A name for a build that no file of the folder has, made from a setup file's."""
    start = re.sub(r"[^A-Za-z0-9]+", "-", stem, flags=re.ASCII).strip("-")[:56] or "build"
    return next(
        name
        for number in itertools.count(1)
        if not (folder / f"{(name := f'{start}-{number}')}.toml").exists()
    )


class StartScreen(Screen[Session]):
    """Shows a setup and begins its build."""

    CSS_PATH = "start.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("f1", "app.help", "Help", "What this shows, and every key.", shown=True),
        key("enter", "next", "Next", "The next line; after the last, begin the build.", shown=True),
        key("f2", "method", "Method", "Another procedure that fits this setup.", shown=True),
        key("up", "line(-1)", "Line above", "The line above."),
        key("down", "line(1)", "Line below", "The line below."),
        key("pagedown", "scroll(1)", "More", "Scroll down the setup.", shown=True),
        key("pageup", "scroll(-1)", "Back up", "Scroll up the setup."),
        LENGTHS_KEY,
        key("escape", "back", "Back", "Back without beginning.", shown=True),
    ]

    def __init__(
        self, file: Path, setup: Setup, methods: list[Procedure], folder: Path, by: str
    ) -> None:
        """Get ready; `methods`: the procedures that fit, the one to build by first."""
        super().__init__()
        self._file, self.setup, self._methods, self._folder = file, setup, methods, folder
        self._build = TextLine(
            id="name", placeholder="letters, digits and dashes", on_enter=self.action_next
        )
        self._build.put(free_name(folder, file.stem))
        self._initials = TextLine(
            id="by", placeholder="they go with every entry", on_enter=self.action_next
        )
        self._initials.put(by)
        self._job = TextLine(
            id="job", placeholder="for sheet and search; or leave it out", on_enter=self.action_next
        )
        self._lines = {self._build: "Name of the build", self._initials: "Your initials"}
        if not setup.whose:
            self._lines = {self._job: JOB_ASKED, **self._lines}

    def compose(self) -> ComposeResult:
        """What was understood, then the lines to fill in."""
        yield Static(id="title")
        with VerticalScroll(id="known", can_focus=False):
            yield Drawn(id="understood")
        with Vertical(id="form"):
            for line in self._lines:
                with Horizontal():
                    yield Static(classes="label", id=f"label-{line.id}")
                    yield line
            yield Static(id="remark")
        yield KeyBar()

    def on_mount(self) -> None:
        """Begin with the first line."""
        next(iter(self._lines)).focus()
        self.watch(self.app, "lengths", self.show_lengths)

    def show_lengths(self) -> None:
        """Show what the walk will work with, by the first of the procedures that fit it."""
        procedure, unit, many = self._methods[0], lengths_in(self), len(self._methods)
        today = datetime.now().astimezone().date()
        sections = setup_sections(scene_of(self.setup, procedure), today)
        self.query_one("#understood", Drawn).show(
            lambda width: [
                *wrapped([(procedure.title, "strong")], width),
                [],
                *section_lines(sections, width, unit),
            ]
        )
        which = f"  one of {many} methods: F2 changes it" if many > 1 else ""
        title: list[Part] = [(f" New build from {self._file.name}", "next"), (which, "plain")]
        self.query_one("#title", Static).update(content(title))
        self._remark("", "")
        self.refresh_bindings()

    def on_descendant_focus(self) -> None:
        """Mark the line that is typed in, by a sign and not by its look alone."""
        for line, label in self._lines.items():
            sign = "▶" if line.has_focus else " "
            self.query_one(f"#label-{line.id}", Static).update(shown(f"{sign} {label}"))

    def _remark(self, problem: str, instead: str) -> None:
        remark = self.query_one("#remark", Static)
        remark.display = bool(problem)
        remark.update(content([(f"✗ {problem}; ", "bad"), (instead, "plain")]))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Another method only where there is one."""
        return action != "method" or len(self._methods) > 1

    def action_method(self) -> None:
        """The next procedure."""
        self._methods = [*self._methods[1:], self._methods[0]]
        self.show_lengths()

    def action_scroll(self, pages: int) -> None:
        """Scroll what was understood."""
        known = self.query_one("#known", VerticalScroll)
        known.scroll_relative(y=pages * max(known.size.height - 1, 1), animate=False)

    def action_line(self, step: int) -> None:
        """Type in the line above or below."""
        lines = list(self._lines)
        at = next((n for n, line in enumerate(lines) if line.has_focus), 0) + step
        lines[min(max(at, 0), len(lines) - 1)].focus()

    def action_back(self) -> None:
        """Back without beginning."""
        self.dismiss(None)

    def action_next(self) -> None:
        """The next line, or begin."""
        if not self.is_current:
            return
        if not self._initials.has_focus:
            self.action_line(1)
            return
        try:
            by, name = initials(self._initials.value), self._build.value.strip()
            session = begin_session(
                self.setup, self._methods[0], self._folder, name, by, self._job.value
            )
        except StorageError as error:
            self._remark(f"{error.where}: {error.problem}", error.instead)
        else:
            self.dismiss(session)
