"""The bench: every build and setup of the folder, found by typing, the chosen one beside them."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.message import Message
from textual.screen import Screen
from textual.widgets import Input, Static
from textual.worker import get_current_worker

from heelwise.plain_text import one_line
from heelwise.screens.key_actions import key
from heelwise.screens.lengths import lengths_in
from heelwise.screens.shelf import Row, RowKind, Shelf, list_folder
from heelwise.screens.styled_text import LATER, Part, ago, content, lines
from heelwise.screens.theme import glyphs
from heelwise.screens.widgets.bars import KeyBar
from heelwise.screens.widgets.drawn import Drawn, Rows, TextLine

if TYPE_CHECKING:  # no model is loaded before the bench is painted
    from heelwise.screens.row_reading import Detail

PHASE, BAR, FAR, BY, WHEN, JOB = 11, 8, 10, 4, 15, 22
LEAST_NAME = 20
"""Columns in cells; the job has one where there is room for it."""

TO_BEGIN = (
    ("Nothing on the bench yet.", "strong"),
    ("", "plain"),
    ("F3  fill in a setup from the cam card and the spec sheet, and begin a build", "plain"),
    ("    (it picks up one you had started)", "quiet"),
    ("or  put a setup file in this folder; the README shows the format,", "plain"),
    ("    and sample_builds has some", "quiet"),
    ("", "plain"),
    ("Practice first, on a virtual engine:   heelwise rehearse", "plain"),
)


class BenchScreen(Screen[None]):
    """Lists at once, reads in the background, the rows in sight first."""

    CSS_PATH = "bench.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("f1", "app.help", "Help", "What this lists, and every key.", shown=True),
        key("enter", "open", "Open", "Resume a build, or start one.", shown=True),
        key("up", "move(-1)", "Up", "The row above."),
        key("down", "move(1)", "Down", "The row below."),
        key("pageup", "page(-1)", "Page up", "A screenful up."),
        key("pagedown", "page(1)", "Page down", "A screenful down."),
        key("f3", "new", "New setup", "Fill in a setup from the cards and sheets.", shown=True),
        key("f5", "again", "Reload", "Read the folder again.", shown=True),
        key("f10", "app.leave", "Leave", "Leave the program.", shown=True),
        key("escape", "clear", "More", "Clear the typing; else list all you can do.", shown=True),
    ]

    class Opened(Message):
        """A file was chosen to be opened."""

        def __init__(self, path: Path) -> None:
            super().__init__()
            self.path = path

    def __init__(self, folder: Path) -> None:
        super().__init__()
        self.folder = folder
        self._shelf = Shelf([])
        self._problem = ""
        self._draft = self._listed = False
        self._own_folder = ""
        self._sight = range(0)
        self._detailed: Row | None = None

    def compose(self) -> ComposeResult:
        """The folder, a line to find by, the rows, the row pointed at in full."""
        yield Static(id="title")
        yield TextLine(id="find", placeholder="type part of a name, job or phase to find a build")
        yield Static(id="empty")
        heads, rows = Drawn(id="heads"), Rows()
        heads.show(_heads)
        rows.can_focus = False
        with Horizontal(id="both"):
            with Vertical(id="list"):
                yield heads
                yield rows
            yield Drawn(id="pane")
        yield Static(id="whole")
        yield KeyBar()

    def on_mount(self) -> None:
        """Look at the folder."""
        self.set_class(not glyphs().blocks, "bare")
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
        from heelwise.documents.folders import own_folder_fault  # last: the names come first
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
        self._fill(shelf.place_of(before.file) if before else 0)

    def _was_read(self, shelf: Shelf, number: int, row: Row) -> None:
        """Put in what a file holds. Only here, so that no row goes while rows are drawn."""
        pointed = self._pointed if row.kind is RowKind.OTHER else None
        shelf.update(number, row)
        if shelf is self._shelf:
            self._fill(shelf.place_of(pointed.file) if pointed else None)

    @work(thread=True, exclusive=True, group="detail")
    def _read_detail(self, row: Row) -> None:
        from heelwise.screens.row_reading import read_detail

        self.call_later(self._show_detail, row, read_detail(row))

    def _show_detail(self, row: Row, detail: Detail | None) -> None:
        if row is self._detailed and detail is not None:
            unit = lengths_in(self)
            self.query_one("#pane", Drawn).show(lambda width: detail.lines(width, unit))

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
        self.query_one("#both").display = bool(self._shelf.shown)
        if empty.display:
            empty.update(lines([[part] for part in self._nothing()]))
        self._title()

    def _nothing(self) -> tuple[Part, ...]:
        if self._problem:
            return ((f"The folder can't be read: {self._problem}.", "bad"),)
        if self._shelf.rows:
            return (("No build by that name. Esc clears the typing.", "plain"),)
        return TO_BEGIN

    def _title(self) -> None:
        shelf = self._shelf
        reading = f", {shelf.unread} still to be read" if shelf.unread else ""
        count = f"{len(shelf.shown)} of {len(shelf.rows)}{reading}  " if shelf.rows else ""
        parts: list[Part] = [(" Heelwise  ", "next"), (count, "plain")]
        parts += [("a setup begun: F3 continues it  ", "next")] if self._draft else []
        parts += [(self._own_folder, "bad")] if self._own_folder else []
        parts.append((one_line(_path_text(self.folder)), "quiet"))
        self.query_one("#title", Static).update(content(parts))

    def _row(self, number: int, width: int) -> list[Part]:
        row = self._shelf.rows[self._shelf.shown[number]]
        name = _name_width(width)
        when = ago(row.touched, datetime.now().astimezone())
        if when == LATER and row.virtual:
            when = "by its own clock"
        parts: list[Part] = [
            (one_line(row.name, name - 1).ljust(name), "strong"),
            (_kind(row).ljust(PHASE), _TONES[row.kind]),
            *_progress(row, _has_bar(width)),
            (row.by[: BY - 1].ljust(BY), "plain"),
            (when.ljust(WHEN), "quiet"),
        ]
        return [*parts, (one_line(row.job, JOB), "plain")] if _has_job(width) else parts

    def on_rows_moved(self, event: Rows.Moved) -> None:
        """Show the row pointed at in full, and read those in sight first."""
        event.stop()
        self._sight = self.query_one(Rows).in_sight
        row, pane = self._pointed, self.query_one("#pane", Drawn)
        self.query_one("#whole", Static).update(lines(_whole(row)) if row else "")
        if row is self._detailed:
            return
        self._detailed = row
        pane.show(lambda width: [])
        if row is not None and row.kind is RowKind.RECORD and pane.display:
            self._read_detail(row)

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
        if row is not None and self.is_current:
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


def _path_text(folder: Path) -> str:
    try:
        return str(folder.resolve())
    except (OSError, RuntimeError):  # the working folder was removed
        return str(folder)


def _has_bar(width: int) -> bool:
    return width >= LEAST_NAME + PHASE + BAR + FAR + BY + WHEN


def _has_job(width: int) -> bool:
    return width >= LEAST_NAME + PHASE + BAR + FAR + BY + WHEN + JOB


def _name_width(width: int) -> int:
    other = (BAR if _has_bar(width) else 0) + (JOB if _has_job(width) else 0)
    return max(width - PHASE - FAR - BY - WHEN - other, LEAST_NAME)


def _heads(width: int) -> list[list[Part]]:
    columns = [
        ("name", _name_width(width - 2)),
        ("phase", PHASE),
        ("how far", FAR + (BAR if _has_bar(width - 2) else 0)),
    ]
    columns += [("who", BY), ("last touched", WHEN)]
    columns += [("job", JOB)] if _has_job(width - 2) else []
    return [[("  " + "".join(head.ljust(wide) for head, wide in columns), "quiet")]]


_TONES = {
    RowKind.UNREAD: "quiet",
    RowKind.RECORD: "plain",
    RowKind.SETUP: "next",
    RowKind.OTHER: "quiet",
    RowKind.BROKEN: "bad",
}


def _kind(row: Row) -> str:
    if row.kind is RowKind.BROKEN:
        return f"{glyphs().bad} broken"
    return f"{glyphs().bullet} setup" if row.kind is RowKind.SETUP else row.phase or row.kind.value


def _progress(row: Row, with_bar: bool) -> list[Part]:
    wide = FAR + (BAR if with_bar else 0)
    if not row.total:
        words = row.far or (row.faults[0] if row.faults else "")
        return [(one_line(words, wide - 1).ljust(wide), "plain")]
    if not with_bar:
        return [(f"{row.done} of {row.total}".ljust(FAR), "plain")]
    full = round(row.done / row.total * BAR)
    bar: list[Part] = [(glyphs().full * full, "good"), (glyphs().empty * (BAR - full), "line")]
    return [*bar, (f" {row.done} of {row.total}".ljust(FAR), "plain")]


def _whole(row: Row) -> list[list[Part]]:
    name: Part = (row.path.name, "strong")
    if row.kind is RowKind.BROKEN:
        return [[name], *([(fault, "bad")] for fault in row.faults)]
    if row.kind is RowKind.SETUP:
        return [[name], [(f"A setup: {row.far}. Enter starts a build.", "plain")]]
    if row.kind is not RowKind.RECORD:
        return [[name], [("not read yet", "quiet")]]
    left = f"Outstanding: {row.outstanding}." if row.outstanding else "Nothing outstanding."
    virtual = " A rehearsal, not a real engine." if row.virtual else ""
    last = f"  last entry {row.touched:%Y-%m-%d %H:%M}  {one_line(row.method)}"
    return [[name, (last, "quiet")], [(f"{row.phase}, {row.far}. {left}{virtual}", "plain")]]
