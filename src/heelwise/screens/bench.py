"""The bench: every build and setup of the folder, found by typing, the chosen one beside them."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import Screen
from textual.widgets import Input, Static
from textual.worker import get_current_worker

from heelwise.plain_text import Part, all_wrapped, one_line
from heelwise.screens.drawn import MOVES, DrawLines, Drawn, Rows, TextLine
from heelwise.screens.key_actions import KeyBar, key
from heelwise.screens.shelf import Row, RowKind, Shelf, list_folder, read_row
from heelwise.screens.styled_text import LATER, ago, content, lengths_in, lines, shown
from heelwise.screens.theme import bare

COLUMNS = {"name": 20, "phase": 11, "how far": 17, "who": 4, "last touched": 15, "job": 22}
"""Heads and cells."""
GIVE_WAY = ("job", "who", "last touched")
"""What goes first where there is no room."""
MOST_NAME = 40


def columns(width: int, longest: int) -> dict[str, int]:
    """The columns for a width, the name's as wide as the others leave it.

    `longest`: characters of the longest name.
    """
    columns = {**COLUMNS, "name": max(COLUMNS["name"], min(longest + 1, MOST_NAME))}
    for head in GIVE_WAY:
        if sum(columns.values()) > width:
            del columns[head]
    columns["name"] += width - sum(columns.values())
    return columns


TO_BEGIN: list[list[Part]] = [
    [("Nothing on the bench yet.", "strong")],
    [],
    [
        ("F3", "next"),
        ("   fill in a setup from the cam card and the spec sheet, and begin.", "plain"),
    ],
    [("     It picks up one you had started.", "quiet")],
    [],
    [("or   put a setup file in this folder: the README shows the format,", "plain")],
    [("     and sample_builds has some.", "quiet")],
    [],
    [("Practice first, on a virtual engine:  ", "plain"), ("heelwise rehearse", "next")],
]


class BenchScreen(Screen[None]):
    """Lists at once, reads in the background, the rows in sight first."""

    CSS_PATH = "bench.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("f1", "app.help", "Help", "What this lists, and every key.", shown=True),
        key("enter", "open", "Open", "Resume a build, or start one.", shown=True),
        *MOVES,
        key("f3", "new", "New setup", "Fill in a setup from the cards and sheets.", shown=True),
        key("f4", "open('like')", "Like it", "Begin a setup for another engine like it."),
        key("f6", "compare", "Compare", "Mark a build; on a second one, compare the two."),
        key("f8", "open('again')", "Re-check", "Begin a re-check of a finished build."),
        key("f5", "again", "Reload", "Read the folder again.", shown=True),
        key("f10", "app.leave", "Leave", "Leave the program.", shown=True),
        key("escape", "clear", "More", "Clear the typing; else list all you can do.", shown=True),
    ]

    def __init__(self, folder: Path, opens: Callable[[Path, str], None]) -> None:
        super().__init__()
        self.folder, self._opens = folder, opens
        self._shelf = Shelf([])
        self._problem = ""
        self._draft = self._listed = False
        self._own_folder = ""
        try:
            self._folder_path = str(folder.resolve())
        except (OSError, RuntimeError):  # the working folder was removed
            self._folder_path = str(folder)
        self._sight = range(0)
        self._detailed: Row | None = None
        self._marked: Row | None = None
        self.worked_on = ""
        """Name of the build that was open, pointed at on coming back until another row is."""

    def compose(self) -> ComposeResult:
        """The folder, a line to find by, the rows, the row pointed at in full."""
        yield Static(id="title")
        yield TextLine(id="find", placeholder="type part of a name, job or phase to find a build")
        yield Static(id="empty")
        rows = Rows()
        rows.can_focus = False
        with Horizontal(id="both"):
            with Vertical(id="list"):
                yield Drawn(self._heads, id="heads")
                yield rows
            yield Drawn(id="pane")
        yield KeyBar()

    def on_mount(self) -> None:
        """Look at the folder."""
        self.set_class(bare(), "bare")
        self.query_one(TextLine).focus()
        self._title()
        self._look()

    def on_screen_resume(self) -> None:
        """Look again on coming back: the build that was open has gone on."""
        if self._listed:
            self._look()

    # ------------------------------------------------- reading in the background

    @work(thread=True, exclusive=True, group="list")
    def _look(self) -> None:
        worker = get_current_worker()
        try:
            shelf, problem = Shelf(list_folder(self.folder)), ""
        except OSError as error:
            shelf, problem = Shelf([]), (error.strerror or "it can't be read").lower()
        self.call_later(self._list, shelf, problem)
        while not worker.is_cancelled:
            number = shelf.next_unread(self._sight.start, self._sight.stop)
            if number is None:
                self._look_for_a_draft()
                return
            row = read_row(shelf.rows[number])
            self.call_later(self._was_read, shelf, number, row)

    def _look_for_a_draft(self) -> None:
        from heelwise.documents.files import own_folder_fault  # last: the names come first
        from heelwise.storage.whole_files import NEW_SETUP, has_draft

        fault = own_folder_fault()
        self._own_folder = f"{fault.where}: {fault.problem}  " if fault else ""
        self._draft = has_draft(self.folder, NEW_SETUP)
        self.call_later(self._title)

    def _list(self, shelf: Shelf, problem: str) -> None:
        """Show the names, pointing at the file that was pointed at."""
        before, self._listed = self._pointed, True
        self._shelf, self._problem, self._detailed = shelf, problem, None
        shelf.find(self.query_one(TextLine).value)
        self.query_one("#heads", Drawn).show(self._heads)
        self._fill(shelf.place_of(self.worked_on or (before.name if before else "")))

    def _was_read(self, shelf: Shelf, number: int, row: Row) -> None:
        """Put in what a file holds. Only here, so that no row goes while rows are drawn."""
        pointed = self._pointed
        shelf.update(number, row)
        if shelf is self._shelf:
            if not shelf.unread:
                shelf.find(self.query_one(TextLine).value)
            moved = self.query_one(Rows).cursor > 0  # else the first row is meant, whichever it is
            meant = self.worked_on or (pointed.name if pointed and moved else "")
            self._fill(shelf.place_of(meant) if meant else None)

    @work(thread=True, exclusive=True, group="detail")
    def _read_detail(self, row: Row) -> None:
        from heelwise.screens.walk_beside import read_detail  # the models, after the names

        if (detail := read_detail(row.path, lengths_in(self))) is not None:
            self.call_later(self._show_detail, row, detail)

    def _show_detail(self, row: Row, detail: DrawLines) -> None:
        if row is self._detailed:
            self.query_one("#pane", Drawn).show(lambda w: [*_whole(row, w), [], *detail(w)])

    # ----------------------------------------------------------------- showing

    def on_input_changed(self, event: Input.Changed) -> None:
        """Find by what is typed."""
        self._shelf.find(self.query_one(TextLine).value)
        self._fill(0)

    def _fill(self, cursor: int | None = None) -> None:
        rows = self.query_one(Rows)
        rows.show(len(self._shelf.shown), self._row, cursor)
        empty = self.query_one("#empty", Static)
        empty.display = not self._shelf.shown
        self.query_one("#both").display = not empty.display
        if self._problem:
            empty.update(shown(f"The folder can't be read: {self._problem}.", "bad"))
        elif self._shelf.rows:
            empty.update(shown("No build by that name. Esc clears the typing."))
        else:
            empty.update(lines(TO_BEGIN))
        self._title()

    def _title(self) -> None:
        shelf = self._shelf
        reading = f", {shelf.unread} still to be read" if shelf.unread else ""
        count = f"{len(shelf.shown)} of {len(shelf.rows)}{reading}  " if shelf.rows else ""
        parts: list[Part] = [(" Heelwise  ", "next"), (count, "plain")]
        parts += [("a setup begun: F3 continues it  ", "next")] if self._draft else []
        parts += [(self._own_folder, "bad")] if self._own_folder else []
        marked = f"{self._marked.name} marked: F6 on another compares  " if self._marked else ""
        parts += [(one_line(marked), "next"), (one_line(self._folder_path), "quiet")]
        self.query_one("#title", Static).update(content(parts))

    def _heads(self, width: int) -> list[list[Part]]:
        wide = columns(width - 2, self._shelf.longest)
        return [[("  " + "".join(head.ljust(cells) for head, cells in wide.items()), "quiet")]]

    def _row(self, number: int, width: int) -> list[Part]:
        row = self._shelf.rows[self._shelf.shown[number]]
        when = ago(row.touched, datetime.now().astimezone())
        if when == LATER and row.virtual:
            when = "by its own clock"
        mark = {RowKind.BROKEN: "✗ ", RowKind.SETUP: "▪ "}
        kind = mark.get(row.kind, "") + (row.phase or row.kind.value)
        cells = {
            "name": (row.name, "strong"),
            "phase": (kind, _TONES.get(row.kind, "quiet")),
            "how far": (row.far or "".join(row.faults[:1]), "plain"),
            "who": (row.by, "plain"),
            "last touched": (when, "quiet"),
            "job": (row.job, "plain"),
        }
        return [
            (one_line(cells[head][0], wide - 1).ljust(wide), cells[head][1])
            for head, wide in columns(width, self._shelf.longest).items()
        ]

    def on_rows_moved(self, event: Rows.Moved) -> None:
        """Show the row pointed at in full, and read those in sight first."""
        event.stop()
        self._sight = self.query_one(Rows).in_sight
        row = self._pointed
        if row is not None and row is not self._detailed:
            self._detailed = row
            self.query_one("#pane", Drawn).show(lambda width: _whole(row, width))
            if row.kind is RowKind.RECORD and not self.has_class("-narrow"):
                self._read_detail(row)

    @property
    def _pointed(self) -> Row | None:
        cursor = self.query_one(Rows).cursor
        shown = self._shelf.shown
        return self._shelf.rows[shown[cursor]] if 0 <= cursor < len(shown) else None

    # ------------------------------------------------------------------ keys

    def action_move(self, by: int) -> None:
        """Point at another row."""
        self.worked_on = ""
        self.query_one(Rows).action_move(by)

    def action_page(self, by: int) -> None:
        """Point a screenful on."""
        self.worked_on = ""
        self.query_one(Rows).action_page(by)

    def on_rows_chosen(self, event: Rows.Chosen) -> None:
        """A click or Enter opens a row."""
        self.action_open()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """What is done with a record only on one."""
        of_a_record = action == "compare" or (action == "open" and bool(parameters))
        return not of_a_record or bool(self._pointed and self._pointed.kind is RowKind.RECORD)

    def action_open(self, how: str = "") -> None:
        """Open what is pointed at, or begin another build of it."""
        row = self._pointed
        if row is not None and self.is_current:
            self._opens(row.path, how)

    def action_compare(self) -> None:
        """Mark the build pointed at; where another is marked, compare the two."""
        first, row = self._marked, self._pointed
        self._marked = row if first is None else None
        if first is not None and row is not None and row.file != first.file:
            self._opens(row.path, first.file)
        self._fill()

    def action_new(self) -> None:
        """Fill in a setup."""
        from heelwise.screens.setup_form import SetupFormScreen  # most visits need none of it

        self.app.push_screen(SetupFormScreen(self.folder), self._made)

    def _made(self, path: Path | None) -> None:
        if path is not None:
            self._look()
            self._opens(path, "")

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


_TONES = {RowKind.RECORD: "plain", RowKind.SETUP: "next", RowKind.BROKEN: "bad"}


def _whole(row: Row, width: int) -> list[list[Part]]:
    rows: list[list[Part]] = [[(row.path.name, "strong")]]
    if row.kind is RowKind.BROKEN:
        rows += [[(fault, "bad")] for fault in row.faults]
    elif row.kind is RowKind.SETUP:
        rows += [[(f"A setup: {row.far}, not begun. Enter starts a build.", "plain")]]
    elif row.kind is not RowKind.RECORD:
        rows += [[("not read yet", "quiet")]]
    else:
        left = f"Outstanding: {row.outstanding}." if row.outstanding else "Nothing outstanding."
        virtual = " A rehearsal, not a real engine." if row.virtual else ""
        last = f"  last entry {row.touched:%Y-%m-%d %H:%M}  {one_line(row.method)}"
        rows = [[*rows[0], (last, "quiet")], [(f"{left}{virtual}", "plain")]]
    return all_wrapped(rows, width)
