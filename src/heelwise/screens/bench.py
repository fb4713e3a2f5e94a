"""The bench: every build and setup of the folder, found by typing."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.message import Message
from textual.screen import Screen
from textual.widgets import Input, Static
from textual.worker import get_current_worker

from heelwise.plain_text import one_line
from heelwise.screens.key_actions import key
from heelwise.screens.shelf import REHEARSAL, Kind, Row, Shelf, list_folder
from heelwise.screens.styled_text import LATER, Part, ago, content, lines
from heelwise.screens.theme import glyphs
from heelwise.screens.widgets.bars import KeyBar
from heelwise.screens.widgets.drawn import Drawn, Rows
from heelwise.screens.widgets.text_line import TextLine

NAME, PHASE, FAR, WHEN = 26, 11, 24, 16

TO_BEGIN = (
    "Nothing is here yet.",
    "",
    "A build begins from a setup: press F3 to fill one in from the cam card",
    "and the lifter sheet (one begun before is gone on with), or put a setup",
    "file in this folder.",
    "Its form is in the README; sample_builds has two.",
    "",
    "To go through the whole job against a virtual engine first:",
    "   heelwise rehearse",
)


class BenchScreen(Screen[None]):
    """Lists at once, reads in the background, the rows in sight first."""

    CSS_PATH = "bench.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("f1", "app.help", "Help", "What this lists, and every key.", shown=True),
        key("enter", "open", "Open", "Go on with a build, or start one.", shown=True),
        key("up", "move(-1)", "Up", "The row above."),
        key("down", "move(1)", "Down", "The row below."),
        key("pageup", "page(-1)", "Page up", "A screenful up."),
        key("pagedown", "page(1)", "Page down", "A screenful down."),
        key("f3", "new", "New setup", "Fill in a setup from the cards and sheets.", shown=True),
        key("f5", "again", "Look again", "Read the folder again.", shown=True),
        key("f10", "app.leave", "Leave", "Leave the program.", shown=True),
        key(
            "escape",
            "clear",
            "More",
            "Clear the typing; else everything that can be done.",
            shown=True,
        ),
    ]

    class Listed(Message):
        """The folder was listed."""

        def __init__(self, shelf: Shelf, problem: str) -> None:
            super().__init__()
            self.shelf, self.problem = shelf, problem

    class Drafted(Message):
        """Whether a setup was begun on the form, and why a shop's procedures aren't used."""

        def __init__(self, draft: bool, problem: str) -> None:
            super().__init__()
            self.draft, self.problem = draft, problem

    class Opened(Message):
        """A file was chosen to be opened."""

        def __init__(self, path: Path) -> None:
            super().__init__()
            self.path = path

    class WasRead(Message):
        """A file of a shelf was read."""

        def __init__(self, shelf: Shelf, number: int, row: Row) -> None:
            super().__init__()
            self.shelf, self.number, self.row = shelf, number, row

    def __init__(self, folder: Path) -> None:
        super().__init__()
        self.folder = folder
        self._shelf = Shelf([])
        self._problem = ""
        self._procedures_problem = ""
        self._draft = self._listed = False
        self._sight = range(0)

    def compose(self) -> ComposeResult:
        """The folder, a line to find by, the rows, the row pointed at in full."""
        yield Static(id="title")
        yield TextLine(id="find", placeholder="type a part of a name to find a build")
        yield Static(id="empty")
        yield Drawn(id="heads")
        yield Rows()
        yield Static(id="whole")
        yield KeyBar()

    def on_mount(self) -> None:
        """Look at the folder."""
        self.query_one("#heads", Drawn).show(_heads)
        self.query_one(Rows).can_focus = False
        self.query_one(TextLine).focus()
        self._title()
        self._look()

    def on_screen_resume(self) -> None:
        """Look again on coming back: the build that was open has gone on."""
        if self._listed:
            self._look()

    # ------------------------------------------------- reading in the background

    @work(thread=True, exclusive=True)
    def _look(self) -> None:
        worker = get_current_worker()
        try:
            shelf, problem = Shelf(list_folder(self.folder)), ""
        except OSError as error:
            shelf, problem = Shelf([]), (error.strerror or "it can't be read").lower()
        self.post_message(self.Listed(shelf, problem))
        while not worker.is_cancelled:
            number = shelf.next_unread(self._sight.start, self._sight.stop)
            if number is None:
                self._look_for_a_draft()
                return
            self.post_message(self.WasRead(shelf, number, read_row(shelf.rows[number])))

    def _look_for_a_draft(self) -> None:
        from heelwise.documents.folders import own_folder_fault  # last: the names come first
        from heelwise.storage.whole_files import NEW_SETUP, has_draft

        fault = own_folder_fault()
        problem = f"{fault.where}: {fault.problem}" if fault else ""
        self.post_message(self.Drafted(has_draft(self.folder, NEW_SETUP), problem))

    def on_bench_screen_drafted(self, event: Drafted) -> None:
        """Tell whether a setup was begun on the form."""
        self._draft, self._procedures_problem = event.draft, event.problem
        self._title()

    def on_bench_screen_listed(self, event: Listed) -> None:
        """Show the names, pointing at the file that was pointed at."""
        before, self._listed = self._pointed, True
        self._shelf, self._problem = event.shelf, event.problem
        self._shelf.find(self.query_one(TextLine).value)
        self._fill(self._shelf.place_of(before.file) if before else 0)

    def on_bench_screen_was_read(self, event: WasRead) -> None:
        """Put in what a file holds. Only here, so that no row goes while rows are drawn."""
        pointed = self._pointed if event.row.kind is Kind.OTHER else None
        event.shelf.took(event.number, event.row)
        if event.shelf is self._shelf:
            self._fill(self._shelf.place_of(pointed.file) if pointed else None)

    # ----------------------------------------------------------------- showing

    def on_input_changed(self, event: Input.Changed) -> None:
        """Find by what is typed."""
        self._find()

    def _find(self) -> None:
        self._shelf.find(self.query_one(TextLine).value)
        self._fill(0)

    def _fill(self, cursor: int | None = None) -> None:
        rows = self.query_one(Rows)
        rows.show(len(self._shelf.shown), self._row, cursor)
        empty = self.query_one("#empty", Static)
        empty.display = not self._shelf.shown
        rows.display = self.query_one("#heads").display = bool(self._shelf.shown)
        if empty.display:
            empty.update(lines([[(line, "plain")] for line in self._nothing()]))
        self._title()

    def _nothing(self) -> tuple[str, ...]:
        if self._problem:
            return (f"The folder can't be read: {self._problem}.",)
        if self._shelf.rows:
            return ("No build by that name. Esc clears the typing.",)
        return TO_BEGIN

    def _title(self) -> None:
        shelf = self._shelf
        reading = f", {shelf.unread} still to be read" if shelf.unread else ""
        count = f"{len(shelf.shown)} of {len(shelf.rows)}{reading}  " if shelf.rows else ""
        parts: list[Part] = [(" Heelwise  ", "next"), (count, "plain")]
        parts += [("a setup begun: F3 goes on with it  ", "next")] if self._draft else []
        parts += [(f"{self._procedures_problem}  ", "bad")] if self._procedures_problem else []
        parts.append((one_line(str(self.folder)), "quiet"))
        self.query_one("#title", Static).update(content(parts))

    def _row(self, number: int, width: int) -> list[Part]:
        row = self._shelf.rows[self._shelf.shown[number]]
        name = _name_width(width)
        said = row.far or (row.faults[0] if row.faults else "")
        when = ago(row.touched, datetime.now().astimezone())
        if when == LATER and row.outstanding.startswith(REHEARSAL):
            when = "by its own clock"
        return [
            (one_line(row.name, name - 1).ljust(name), "strong"),
            (_kind(row).ljust(PHASE), _TONES[row.kind]),
            (one_line(said, FAR - 1).ljust(FAR), "plain"),
            (when, "quiet"),
        ]

    def on_rows_moved(self, event: Rows.Moved) -> None:
        """Show the row pointed at in full, and read those in sight first."""
        event.stop()
        self._sight = self.query_one(Rows).in_sight
        row = self._pointed
        self.query_one("#whole", Static).update(lines(_whole(row)) if row else "")

    @property
    def _pointed(self) -> Row | None:
        cursor = self.query_one(Rows).cursor
        shown = self._shelf.shown
        return self._shelf.rows[shown[cursor]] if 0 <= cursor < len(shown) else None

    # ------------------------------------------------------------------ keys

    def action_move(self, by: int) -> None:
        """Point at another row."""
        self.query_one(Rows).action_move(by)

    def action_page(self, by: int) -> None:
        """Point a screenful on."""
        self.query_one(Rows).action_page(by)

    def on_rows_chosen(self, event: Rows.Chosen) -> None:
        """A click or Enter opens a row."""
        self.action_open()

    def action_open(self) -> None:
        """Open what is pointed at."""
        row = self._pointed
        if row is not None:
            self.post_message(self.Opened(row.path))

    def action_new(self) -> None:
        """Fill in a setup."""
        from heelwise.screens.setup_form import SetupFormScreen  # most visits need none of it

        self.app.push_screen(SetupFormScreen(self.folder), self._made)

    def _made(self, path: Path | None) -> None:
        if path is not None:
            self._look()
            self.post_message(self.Opened(path))

    def action_again(self) -> None:
        """Read the folder again."""
        self._look()

    def action_clear(self) -> None:
        """Clear the typing; where there is none, everything that can be done."""
        line = self.query_one(TextLine)
        if line.value:
            line.put("")
        else:
            self.app.call_later(self.app.run_action, "app.menu")


def read_row(row: Row) -> Row:
    """Read a file of the bench; whatever is wrong with it becomes part of its row."""
    from heelwise.screens import row_reading  # the models, after the names are on screen

    return row_reading.read_row(row)


def _name_width(width: int) -> int:
    return max(width - PHASE - FAR - WHEN, NAME)


def _heads(width: int) -> list[list[Part]]:
    """What the columns are, over rows that begin with a mark two cells wide."""
    heads = (("name", _name_width(width - 2)), ("phase", PHASE), ("how far", FAR))
    said = "".join(head.ljust(wide) for head, wide in heads)
    return [[(f"  {said}last touched", "quiet")]]


_TONES = {
    Kind.UNREAD: "quiet",
    Kind.RECORD: "plain",
    Kind.SETUP: "next",
    Kind.OTHER: "quiet",
    Kind.BROKEN: "bad",
}


def _kind(row: Row) -> str:
    if row.kind is Kind.BROKEN:
        return f"{glyphs().bad} broken"
    return row.phase or row.kind.value


def _whole(row: Row) -> list[list[Part]]:
    name = row.path.name
    if row.kind is Kind.BROKEN:
        return [[(name, "strong")], *([(fault, "bad")] for fault in row.faults)]
    if row.kind is Kind.SETUP:
        return [[(name, "strong")], [(f"a setup: {row.far}. Enter starts a build.", "plain")]]
    said = f"{row.phase or 'not read yet'}{', ' if row.far else ''}{row.far}"
    left = f"Outstanding: {row.outstanding}" if row.outstanding else "Nothing is held up."
    return [
        [
            (name, "strong"),
            (f"  last entry {row.touched:%Y-%m-%d %H:%M}  {one_line(row.method)}", "quiet"),
        ],
        [(f"{said}. {left}", "plain")],
    ]
