"""Starting a build from a setup file: what it was understood to say, then name and initials."""

from __future__ import annotations

import itertools
import re
from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from heelwise.documents.setup import Setup
from heelwise.screens.doable import key
from heelwise.screens.glyphs import glyphs
from heelwise.screens.sitting import Method, Sitting, begin_sitting
from heelwise.screens.tones import Part, content, shown
from heelwise.screens.understood import understood
from heelwise.screens.widgets.drawn import Drawn
from heelwise.screens.widgets.key_bar import KeyBar
from heelwise.screens.widgets.text_line import TextLine
from heelwise.storage.errors import StorageError

LABELS = {"name": "Name of the build", "by": "Your initials"}


def free_name(folder: Path, stem: str) -> str:
    """A name for a build that no file of the folder has.

    Args:
        folder: Where the record goes.
        stem: The setup file's name without its ending.
    """
    start = re.sub(r"[^A-Za-z0-9]+", "-", stem, flags=re.ASCII).strip("-")[:56] or "build"
    return next(
        name
        for number in itertools.count(1)
        if not (folder / f"{(name := f'{start}-{number}')}.toml").exists()
    )


class StartScreen(Screen[Sitting]):
    """Shows a setup and begins its build."""

    CSS_PATH = "start.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("f1", "app.help", "Help", "What this shows, and every key.", shown=True),
        key(
            "enter",
            "next",
            "Next",
            "The next line; after the last one the build begins.",
            shown=True,
        ),
        key("f2", "method", "Method", "Another procedure that serves this setup.", shown=True),
        key("up", "line('name')", "Name", "The line above: the build's name."),
        key("down", "line('by')", "Initials", "The line below: your initials."),
        key("pagedown", "scroll(1)", "More", "Read on in what was understood.", shown=True),
        key("pageup", "scroll(-1)", "Back up", "Read back."),
        key("escape", "back", "Back", "Back, without beginning.", shown=True),
    ]

    def __init__(
        self, file: Path, setup: Setup, methods: list[Method], folder: Path, by: str
    ) -> None:
        super().__init__()
        self._file, self._setup, self._methods = file, setup, methods
        self._folder, self._by = folder, by
        self._chosen = 0

    @property
    def method(self) -> Method:
        """The procedure to build by."""
        return self._methods[self._chosen]

    def compose(self) -> ComposeResult:
        """What was understood, then the two lines to fill in."""
        yield Static(id="title")
        with VerticalScroll(id="known", can_focus=False):
            yield Drawn(id="understood")
        with Vertical(id="form"):
            with Horizontal():
                yield Static(classes="label", id="label-name")
                yield TextLine(
                    id="name",
                    placeholder="letters, digits and dashes",
                    on_enter=self.action_next,
                )
            with Horizontal():
                yield Static(classes="label", id="label-by")
                yield TextLine(
                    id="by", placeholder="they go with every entry", on_enter=self.action_next
                )
            yield Static(id="remark")
        yield KeyBar()

    def on_mount(self) -> None:
        """Fill in what is known."""
        self.query_one("#name", TextLine).put(free_name(self._folder, self._file.stem))
        self.query_one("#by", TextLine).put(self._by)
        self.query_one("#name", TextLine).focus()
        self._show()

    def _show(self) -> None:
        setup, method = self._setup, self.method

        def lines_for(width: int) -> list[list[Part]]:
            return understood(setup, method, width)

        self.query_one("#understood", Drawn).show(lines_for)
        self.query_one("#title", Static).update(self._title())
        self._remark("", "")
        self.refresh_bindings()

    def _title(self) -> Content:
        """The file, and by which method of those that serve it."""
        many = len(self._methods)
        which = f" ({self._chosen + 1} of {many}: F2 changes it)" if many > 1 else ""
        return content(
            [
                (f" A new build from {self._file.name}", "next"),
                (f"  by {self.method.procedure.id}{which}", "strong"),
            ]
        )

    def on_descendant_focus(self) -> None:
        """Mark the line that is typed in, by a sign and not by its look alone."""
        for name in ("name", "by"):
            line = self.query_one(f"#{name}", TextLine)
            sign = glyphs().next if line.has_focus else " "
            self.query_one(f"#label-{name}", Static).update(shown(f"{sign} {LABELS[name]}"))

    def _remark(self, problem: str, instead: str) -> None:
        remark = self.query_one("#remark", Static)
        remark.display = bool(problem)
        remark.update(content([(f"{glyphs().bad} {problem}; ", "bad"), (instead, "plain")]))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Another method only where there is one."""
        return action != "method" or len(self._methods) > 1

    def action_method(self) -> None:
        """The next procedure."""
        self._chosen = (self._chosen + 1) % len(self._methods)
        self._show()

    def action_scroll(self, pages: int) -> None:
        """Scroll what was understood."""
        known = self.query_one("#known", VerticalScroll)
        known.scroll_relative(y=pages * max(known.size.height - 1, 1), animate=False)

    def action_line(self, name: str) -> None:
        """Type in one of the two lines."""
        self.query_one(f"#{name}", TextLine).focus()

    def action_back(self) -> None:
        """Back, without beginning."""
        self.dismiss(None)

    def action_next(self) -> None:
        """The next line, or begin."""
        name, by = self.query_one("#name", TextLine), self.query_one("#by", TextLine)
        if name.has_focus:
            by.focus()
        elif not by.value.strip():
            self._remark("nobody is named", "your initials")
        else:
            self._begin(name.value.strip(), by.value.strip())

    def _begin(self, name: str, by: str) -> None:
        try:
            sitting = begin_sitting(self._setup, self.method, self._folder, name, by)
        except StorageError as error:
            self._remark(f"{error.where}: {error.problem}", error.instead)
            self.query_one("#name", TextLine).focus()
        else:
            self.dismiss(sitting)
