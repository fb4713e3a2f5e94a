"""The full-screen program: it holds the looks, the sitting and the way from screen to screen."""

from __future__ import annotations

import os
from pathlib import Path
from typing import ClassVar

from textual.app import App
from textual.binding import BindingType

from heelwise.screens import glyphs, themes
from heelwise.screens.answering import HELD_KEY_S
from heelwise.screens.doable import key
from heelwise.screens.sitting import Sitting
from heelwise.screens.walk import WalkScreen


class HeelwiseApp(App[int]):
    """Opens the bench, or a build at once."""

    CSS_PATH = "app.tcss"
    TITLE = "Heelwise"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("f10,ctrl+q", "leave", "Leave", "Leave the program. Everything kept stays."),
        key("f12", "look", "Look", "Dark, light or high contrast."),
    ]

    def __init__(
        self,
        folder: Path,
        *,
        file: Path | None = None,
        sitting: Sitting | None = None,
        by: str = "",
        held_key_s: float = HELD_KEY_S,
    ) -> None:
        super().__init__()
        self.folder, self.file, self.sitting, self.by = folder, file, sitting, by
        self.held_key_s = held_key_s
        for theme in themes.THEMES.values():
            self.register_theme(theme)
        self.theme = themes.first_theme()

    def on_mount(self) -> None:
        """Show the first screen."""
        if self.sitting is not None:
            self.push_screen(WalkScreen(self.sitting, self.held_key_s))

    def action_look(self) -> None:
        """The next look."""
        self.theme = themes.after(self.theme)

    def action_leave(self) -> None:
        """Leave; the record is the state, so nothing is lost."""
        self.exit(0)

    def action_leave_for_bench(self) -> None:
        """Close the build and go back to the bench."""
        self.exit(0)


def run_app(
    folder: Path, file: Path | None = None, sitting: Sitting | None = None, by: str = ""
) -> int:
    """Run the full-screen program.

    Args:
        folder: Where the builds are.
        file: A record to open, or a setup file to start from.
        sitting: A build that is open already.
        by: Initials of whoever is at the engine, where given.

    Returns:
        The exit code.
    """
    if not os.environ.get("NO_COLOR"):
        os.environ.pop("NO_COLOR", None)  # set but empty counts as not set
    glyphs.fit_console()
    app = HeelwiseApp(folder, file=file, sitting=sitting, by=by)
    try:
        return app.run() or 0
    finally:
        if app.sitting is not None:
            app.sitting.close()
