"""The full-screen program: looks, the open build, and what leads from screen to screen."""

from __future__ import annotations

import gc
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual import events
from textual.binding import BindingType
from textual.driver import Driver
from textual.geometry import Size

from heelwise.plain_text import Part, one_line, plain
from heelwise.screens import theme
from heelwise.screens.bench import BenchScreen
from heelwise.screens.key_actions import KeyAction, key, key_actions
from heelwise.screens.styled_text import LengthChoice, lines
from heelwise.screens.terminal import (
    EndsInOrder,
    KeyQueue,
    TooSmallScreen,
    last_words,
    lenient,
    too_small,
)
from heelwise.storage.crash import CODE
from heelwise.storage.errors import Held, StorageError

if TYPE_CHECKING:
    from heelwise.screens.walk import WalkScreen
    from heelwise.session import Session


class HeelwiseApp(LengthChoice, EndsInOrder, KeyQueue):
    """Opens the bench, or a build at once; keeps one build open at a time."""

    CSS_PATH = "app.tcss"
    TITLE = "Heelwise"
    ENABLE_COMMAND_PALETTE = False  # the Esc list is ours
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (96, "-middle"), (128, "-wide")]  # noqa: RUF012
    VERTICAL_BREAKPOINTS = [(0, "-low"), (28, "-medium"), (40, "-tall")]  # noqa: RUF012
    BINDINGS: ClassVar[list[BindingType]] = [
        key("f10,ctrl+q", "leave", "Leave", "Leave the program. Everything kept stays."),
        key("f12", "look", "Look", "Dark, light or high contrast."),
    ]

    def __init__(
        self,
        folder: Path,
        *,
        file: Path | None = None,
        session: Session | None = None,
        by: str = "",
        again: bool = False,
        held_key_s: float | None = None,
    ) -> None:
        super().__init__()
        self.again = again
        self.folder, self.file, self.session, self.by = folder, file, session, by
        self.held_key_s = held_key_s
        self._started = False
        for look in theme.THEMES.values():
            self.register_theme(look)
        self.theme = theme.first_theme()

    def get_driver_class(self) -> type[Driver]:
        """The console's driver, but one that outlives a byte it can't read."""
        return lenient(super().get_driver_class())

    def on_mount(self) -> None:
        """The build or setup that was named, else the bench."""
        if not gc.isenabled():
            self.call_after_refresh(_collect_garbage)
        if self.session is not None:
            self.walk(self.session)
        elif self.file is not None:
            self.open_file(self.file, "again" if self.again else "")
        else:
            self._bench()
        self._started = True
        self._ask_for_room(self.size)

    def on_resize(self, event: events.Resize) -> None:
        """Say how large a window must be that is too small to ask anything on."""
        if self._started:
            self._ask_for_room(event.size)

    async def on_event(self, event: events.Event) -> None:
        """Take no key where the question may not be seen whole."""
        if isinstance(event, events.Key) and self.return_value is None:
            self._ask_for_room(self.size)
        await super().on_event(event)

    def _ask_for_room(self, size: Size) -> None:
        asking = isinstance(self.screen, TooSmallScreen)
        if too_small(size) and not asking:
            self.push_screen(TooSmallScreen())
        elif asking and not too_small(size):
            self.pop_screen()

    def _bench(self) -> None:
        if not any(isinstance(screen, BenchScreen) for screen in self.screen_stack):
            self.push_screen(BenchScreen(self.folder, self.open_file))

    def walk(self, session: Session | None) -> None:
        """Go on with a build that is open."""
        self.session = session
        if session is not None:
            self.lengths_of(session.record.head.setup)
            from heelwise.screens.answer import HELD_KEY_S
            from heelwise.screens.walk import WalkScreen

            screen = WalkScreen(session, HELD_KEY_S if self.held_key_s is None else self.held_key_s)
            self.push_screen(screen)
            if session.walker.closed:
                self.call_after_refresh(screen.action_sheet)

    def on_walk_screen_hold_changed(self, event: WalkScreen.HoldChanged) -> None:
        """Ring, and change the window's title: whoever waits may be looking elsewhere."""
        if event.over:
            self.bell()
        if not self.is_headless and self._driver is not None:
            self._driver.write(f"\x1b]2;{event.title}\x07")

    def open_file(self, path: Path, how: str = "") -> None:
        """Open a record, or start a build from a setup; what is in the way is told.

        `how`: "again" starts a re-check of a finished record, "like" a setup like it; any other
        names a record to compare it with.
        """
        from heelwise.documents.faults import Faulty
        from heelwise.documents.files import FileKind, kind_of
        from heelwise.documents.record import read_record
        from heelwise.session import open_session, to_begin

        try:
            if how not in ("", "again"):
                self._beside(path, how)
                return
            if not how and kind_of(path) is FileKind.RECORD:
                self.walk(open_session(path, self.by))
                return
            self._bench()
            setup, methods = to_begin(path, self.folder, how == "again")
        except Faulty as faulty:
            self._tell(f"{path.name} can't be used", [[(str(f), "plain")] for f in faulty.faults])
        except Held as held:
            from heelwise.screens.reading import SheetScreen

            self._bench()
            self.push_screen(SheetScreen(read_record(path), f"Read only: {held.problem}."))
        except StorageError as error:
            where: list[Part] = [("Where: ", "quiet"), (error.where, "plain")]
            what: list[Part] = [("What to do: ", "quiet"), (error.instead, "plain")]
            title = f"{path.name} can't be opened for work"
            self._tell(title, [[(error.problem, "bad")], where, what])
        else:
            from heelwise.screens.start import StartScreen

            self.lengths_of(setup)
            self.push_screen(StartScreen(path, setup, methods, self.folder, self.by), self.walk)

    def _beside(self, path: Path, how: str) -> None:
        from heelwise.documents.record import check_entries, read_record

        names = [path] if how == "like" else [Path(how), path]
        records = [read_record(each) for each in names]
        for record in records:
            check_entries(record)
        if how == "like":
            from heelwise.screens.setup_form import SetupFormScreen
            from heelwise.shop.begin import setup_like

            form = SetupFormScreen(self.folder, path.stem, setup_like(records[0]))
            self.push_screen(form, lambda made: self.open_file(made) if made else None)
            return
        from heelwise.screens.reading import CompareScreen

        self.lengths_of(records[-1].head.setup)
        self.push_screen(CompareScreen(sorted(records, key=lambda each: each.entries[-1].at)))

    def _tell(self, title: str, rows: list[list[Part]]) -> None:
        from heelwise.screens.modals import MessageScreen

        self._bench()
        self.push_screen(MessageScreen(title, lines(rows)))

    def action_help(self) -> None:
        """Help for the screen there is."""
        from heelwise.screens.reading import PAGES, HelpScreen

        screen, walk = self.screen, self._walk
        here = walk.here if walk is screen and walk is not None else lambda width: []
        self.push_screen(HelpScreen(PAGES[type(screen).__name__], key_actions(screen), here))

    def action_menu(self) -> None:
        """Everything that can be done now."""
        from heelwise.screens.modals import MenuScreen

        walk = self._walk
        first = walk.options_now() if walk is self.screen and walk is not None else []
        self.push_screen(MenuScreen([*first, *key_actions(self.screen)]), self._do)

    async def _do(self, chosen: KeyAction | None) -> None:
        if chosen is not None:
            await chosen.run()

    @property
    def _walk(self) -> WalkScreen | None:
        if self.session is None:
            return None
        from heelwise.screens.walk import WalkScreen

        return next((s for s in self.screen_stack if isinstance(s, WalkScreen)), None)

    def action_look(self) -> None:
        """The next look."""
        self.theme = theme.after(self.theme)

    def action_leave(self) -> None:
        """Leave; a build that is open is paused first."""
        walk = self._walk
        if walk is None or walk.session.walker.closed:
            self.exit(0)
        else:
            walk.pause_then(partial(self.exit, 0))

    def action_help_quit(self) -> None:
        """Ctrl+C: say how to leave."""
        self.notify("F10 leaves. Esc lists everything you can do.", markup=False)

    def action_leave_for_bench(self) -> None:
        """Close the build and go back to the bench."""
        while len(self.screen_stack) > 1 and not isinstance(self.screen, BenchScreen):
            self.pop_screen()
        self._bench()
        if isinstance(self.screen, BenchScreen) and self.session is not None:
            self.screen.worked_on = self.session.file.stem
        self.close()

    def action_leave_unsaved(self) -> None:
        """Close a build that can't be saved; its last entry is written elsewhere, or printed."""
        assert self.session is not None
        try:
            path = self.session.record.journal.write_unkept()
        except StorageError:
            self.exit(1)  # it is printed once the terminal is put back
            return
        self.action_leave_for_bench()
        if path is not None:
            told = f"Your last answer is in {path}, not in the record."
            self.notify(one_line(told, LONGEST_PATH), severity="error", timeout=60, markup=False)

    def close(self) -> None:
        """Give the record back."""
        if self.session is not None:
            self.session.close()
            self.session = None


def _collect_garbage() -> None:
    """Collect from now on only what is made from now on: what was imported stays to the end."""
    gc.freeze()
    gc.enable()


LONGEST_PATH = 4000


def run_app(
    folder: Path,
    file: Path | None = None,
    session: Session | None = None,
    by: str = "",
    again: bool = False,
) -> int:
    """Run the full-screen program."""
    theme.color_as_asked()
    theme.fit_console()
    app = HeelwiseApp(folder, file=file, session=session, by=by, again=again)
    try:
        code = app.run() or 0
        for line in last_words(app, app.session):
            print(plain(line))
        return code if app.broken_by is None else CODE
    finally:
        app.close()
