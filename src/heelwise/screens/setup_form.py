"""The form a setup is filled in on, from an engine card, a cam card and a spec sheet."""

import os
from collections.abc import Iterable, Mapping
from functools import partial
from itertools import groupby
from operator import attrgetter
from pathlib import Path
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.timer import Timer
from textual.widgets import Input, Static

from heelwise.documents import form_check
from heelwise.documents import setup_form as form
from heelwise.documents.faults import Fault, Faulty
from heelwise.documents.library import find_cards, read_cards
from heelwise.plain_text import Part, all_wrapped, one_line, wrapped
from heelwise.screens.drawn import LONGEST, Drawn
from heelwise.screens.key_actions import KeyBar, key
from heelwise.screens.setup_fields import CopyFromScreen, FieldRow
from heelwise.screens.shelf import list_folder
from heelwise.screens.start import free_name
from heelwise.screens.styled_text import content
from heelwise.session import procedures_for
from heelwise.storage.errors import StorageError
from heelwise.storage.names import inside
from heelwise.storage.whole_files import NEW_SETUP, keep_draft, write_whole
from heelwise.wording import listed

MOST_LINES = 3
"""Lines for what is missing: the rest comes once some of it is there."""
PAUSE_S = 0.1
"""How long nothing is typed before it is checked and kept: keys that follow fast don't wait."""
PAGE = 8
"""Fields passed over by Page Down."""


def state_lines(
    checked: form_check.FormCheck, walk: tuple[Fault, ...], name: str, width: int
) -> list[list[Part]]:
    """What is wrong or missing, in few lines; else what saving does."""
    rows: list[list[Part]] = []
    if checked.faults:
        rows.append([("✗ Not right: ", "bad"), (_named(checked.faults), "plain")])
    for fault in (*checked.between, *walk):
        table = fault.where.partition(".")[0]
        where = _named([fault.where]) or form.TABLES.get(table, table)
        rows.append([(f"✗ {where}: {fault.problem}; {fault.instead}", "bad")])
    if checked.missing:
        lacking = _named(field.where for field in checked.missing)
        rows.append([("Still missing: ", "strong"), (lacking, "plain")])
    if not rows:
        ready = f"Nothing is missing. F5 saves {form.file_name(name)}.toml and opens it."
        rows.append([(f"✓ {ready}", "good")])
    return all_wrapped(rows, width, indent=2)[:MOST_LINES]


def _named(wheres: Iterable[str]) -> str:
    named = set(wheres)
    by_table = groupby((f for f in form.FIELD.values() if f.where in named), attrgetter("table"))
    return ". ".join(
        f"{form.TABLES[table]}: {', '.join(f.label[:1].lower() + f.label[1:] for f in fields)}"
        for table, fields in by_table
    )


class Fields(VerticalScroll, inherit_bindings=False, can_focus=False):
    """Keys go to the fields, not to the scrolling."""


class SetupFormScreen(Screen[Path]):
    """Makes a setup file; gives its path once it is saved."""

    CSS_PATH = "setup_form.tcss"
    AUTO_FOCUS = ""
    BINDINGS: ClassVar[list[BindingType]] = [
        key("f1", "app.help", "Help", "What this asks for, and every key.", shown=True),
        key("enter", "next", "Next", "Take the value pointed at; the next field.", shown=True),
        key("down", "go(1)", "Down", "The value or field below."),
        key("up", "go(-1)", "Up", "The value or field above."),
        key("pagedown", f"page({PAGE})", "Page down", "Some fields on."),
        key("pageup", f"page(-{PAGE})", "Page up", "Some fields back."),
        key("f6", "missing", "Missing", "On to the next field that it lacks.", shown=True),
        key("f5", "save", "Save", "Save and open it; else go to what it lacks.", shown=True),
        key("f9", "bench", "Bench", "Back to the bench; a draft is kept.", shown=True),
        key("f4", "copy('lifter')", "Lifter from", "Take another setup's lifter.", shown=True),
        key("f2", "copy('')", "Start from", "Fill in all from another setup.", shown=True),
        key("f8", "empty", "Empty", "Empty every field; press it twice."),
        key("escape", "app.menu", "More", "Everything that can be done.", shown=True),
    ]

    def __init__(
        self, folder: Path, like: str = "", first: Mapping[str, object] | None = None
    ) -> None:
        """Get ready; `first`: a setup's document to begin with, of a record called `like`."""
        super().__init__()
        self.folder, self._like, self._first = folder, like, first or {}
        cards = read_cards(find_cards().values())
        self.rows = [FieldRow(field, cards) for field in form.FIELD.values()]
        self._draft = ""
        self._kept: dict[str, str] = {}
        self._checked = form_check.check({}, folder)
        self._checked_of: dict[str, str] = {}
        self._walk: tuple[Fault, ...] = ()
        self._remark = ""
        self._emptying = False
        self._timer: Timer | None = None

    def compose(self) -> ComposeResult:
        """The title; the fields, each group with what comes of its figures; what is missing."""
        yield Static(id="title")
        with Fields(id="fields"):
            for table, title in form.TABLES.items():
                rows = [row for row in self.rows if row.field.table == table]
                sources = dict.fromkeys(row.field.source for row in rows if row.field.source)
                source = f"   from {listed([*sources], 'or')}" if sources else ""
                head = content([(title, "next"), (source, "quiet")])
                yield Static(head, classes="group", id=f"group-{table}")
                yield from rows
                yield Drawn(id=f"notes-{table}")
        yield Drawn(id="foot")
        yield KeyBar()

    def on_mount(self) -> None:
        """Take the draft up again, where there is one."""
        where: Part = (one_line(str(self.folder)), "quiet")
        like = one_line(self._like, 40)
        title = f" A setup like {like}  " if like else " A new setup  "
        self.query_one("#title", Static).update(content([(title, "next"), where]))
        called = f"like-{self._like}" if like else NEW_SETUP
        self._draft, typed, passed_over = form_check.open_draft(self.folder, called)
        remarks = [
            f"{os.path.basename(error.where)} is left alone: {error.problem}; {error.instead}."
            for error in passed_over
        ]
        if typed:
            remarks.append("Draft restored. F8 twice starts an empty one.")
        elif like:
            typed, _ = form.form_values(self._first)
            typed["file.name"] = free_name(self.folder, self._like)
            remarks.append(f"From {like}: change what differs.")
        self._remark = " ".join(remarks)
        self._put(typed)
        self._kept = self.typed
        self._go_to(self.rows[0])

    def on_unmount(self) -> None:
        """Keep what was typed last."""
        self._keep()

    # ------------------------------------------------------------------ typing

    @property
    def typed(self) -> dict[str, str]:
        """What stands in the fields, by `table.key`."""
        return {row.field.where: row.entry.value for row in self.rows}

    @property
    def here(self) -> FieldRow | None:
        """The field being filled in."""
        return next((row for row in self.rows if row.entry.has_focus), None)

    @property
    def offered(self) -> list[FieldRow]:
        """The fields that fit, in their order."""
        return [row for row in self.rows if row.display]

    def on_input_changed(self, event: Input.Changed) -> None:
        """Check and keep what is typed once there is a pause."""
        event.stop()
        self._emptying = False
        if self._timer is not None:
            self._timer.stop()
        self._timer = self.set_timer(PAUSE_S, self._settle)

    def _settle(self) -> None:
        if self.typed != self._checked_of:
            self._remark = ""
            self._check()
            self._keep()

    def _keep(self) -> None:
        typed = self.typed
        if typed != self._kept:
            self._kept = typed
            self._keep_draft(form_check.draft_text(typed))

    def _keep_draft(self, draft: str | None) -> None:
        try:
            keep_draft(self.folder, self._draft, draft)
        except StorageError as error:
            self._say(f"The draft is not kept: {error.problem}; {error.instead}.")

    def _put(self, typed: Mapping[str, str]) -> None:
        with self.prevent(Input.Changed):
            for row in self.rows:
                row.entry.put(one_line(typed.get(row.field.where, ""), LONGEST))
        self._check()

    def _check(self) -> None:
        self._checked_of = self.typed
        self._checked, self._walk = form_check.check(self._checked_of, self.folder), ()
        self._show()

    # ----------------------------------------------------------------- showing

    def on_descendant_focus(self, event: events.DescendantFocus) -> None:
        """Say what is wanted in the field gone to."""
        self._show()

    def _show(self) -> None:
        checked, typed, here = self._checked, self._checked_of, self.here
        fits = {field.where for field in form.fitting(typed)}
        lacking = {field.where for field in checked.missing}
        for row in self.rows:
            where = row.field.where
            row.display = where in fits
            if row.display:
                understood, fault = checked.understood.get(where), checked.faults.get(where)
                row.tell(understood, fault, where in lacking, row is here)
        for table in form.TABLES:
            offered = any(row.field.table == table for row in self.offered)
            self.query_one(f"#group-{table}").display = offered
            notes = checked.notes.get(table, ()) if offered else ()
            lines: list[list[Part]] = [[(f"▪ {note}", "quiet")] for note in notes]
            self.query_one(f"#notes-{table}", Drawn).show(partial(all_wrapped, lines, indent=2))
        self._show_foot(here)
        self.call_after_refresh(self._center)

    def _show_foot(self, here: FieldRow | None) -> None:
        typed, remark = self._checked_of, self._remark
        hint: list[Part] = []
        if here is not None:
            field = here.field
            hint.append((field.hint, "plain"))
            if field.without and not field.needed.holds(typed):
                hint.append((f" Left out: {field.without}.", "quiet"))

        def foot(width: int) -> list[list[Part]]:
            rows = wrapped(hint, width)[:2]
            rows += wrapped([(remark, "next")], width) if remark else []
            return [*rows, *state_lines(self._checked, self._walk, typed["file.name"], width)]

        for drawn in self.query("#foot").results(Drawn):  # none once the screen is being left
            drawn.show(foot)

    def _center(self) -> None:
        row = self.here
        if row is not None:
            fields = self.query_one(Fields)
            fields.scroll_to_center(row, animate=False)
            self.call_after_refresh(fields.scroll_to_center, row, animate=False)

    def _say(self, remark: str) -> None:
        self._remark = remark
        self._show_foot(self.here)

    # -------------------------------------------------------------------- keys

    def _go_to(self, row: FieldRow) -> None:
        self.set_focus(row.entry, scroll_visible=False)  # at once: keys may follow fast

    def _take(self) -> None:
        if (here := self.here) is not None and here.pick is not None:
            here.pick.take()
        self._settle()

    def action_next(self) -> None:
        """Take the value pointed at; the next field, unless this one is not right."""
        self._take()
        here = self.here
        if here is not None and here.field.where in self._checked.faults:
            self._say("Enter won't leave a field that has an error; Down will.")
        else:
            self.action_page(1)

    def action_go(self, by: int) -> None:
        """Another value where some are listed, else another field."""
        here = self.here
        if here is not None and here.pick is not None and here.pick.point(by):
            self._show()
        else:
            self.action_page(by)

    def action_page(self, by: int) -> None:
        """Some fields on or back, as far as there are any."""
        self._settle()
        offered, here = self.offered, self.here
        at = offered.index(here) if here in offered else -by
        if by > 0 and at == len(offered) - 1:
            self._say("This is the last field. F5 saves the setup.")
        self._go_to(offered[max(0, min(at + by, len(offered) - 1))])

    def _go_to_wanting(self, after_here: bool) -> bool:
        wanting = {*self._checked.faults, *(field.where for field in self._checked.missing)}
        rows = [row for row in self.offered if row.field.where in wanting]
        if after_here and self.here is not None:
            at = self.rows.index(self.here)
            rows = [row for row in rows if self.rows.index(row) > at] or rows
        if rows:
            self._go_to(rows[0])
        return bool(rows)

    def action_missing(self) -> None:
        """The next field that is not right, or needed and empty."""
        self._take()
        if not self._go_to_wanting(after_here=True):
            self._say("Nothing is missing.")

    def action_bench(self) -> None:
        """Back to the bench; the draft stays."""
        self._keep()
        self.dismiss(None)

    def action_empty(self) -> None:
        """Empty every field, at the second press."""
        if not self._emptying:
            self._emptying = True
            self._say("F8 again empties every field.")
            return
        self._emptying, self._remark = False, "Every field is empty."
        self._put({})
        self._keep()
        self._go_to(self.rows[0])

    def action_copy(self, table: str) -> None:
        """Take the lifter, or all, from another setup."""
        try:
            sources = form_check.sources_in((row.path for row in list_folder(self.folder)), table)
        except OSError as error:
            self._say(f"The folder can't be read: {error.strerror}.")
            return
        if not sources:
            self._say("No setup in this folder has what can be taken.")
            return
        title = "Enter takes the lifter of" if table else "Enter fills in the form from"
        self.app.push_screen(CopyFromScreen(title, sources), self._copied)

    def _copied(self, source: form_check.Source | None) -> None:
        if source is None:
            return
        tables = {where.partition(".")[0] for where in source.typed}
        kept = {w: t for w, t in self.typed.items() if w.partition(".")[0] not in tables}
        self._put({**kept, **source.typed})
        self._keep()
        if self.here not in self.offered:
            self._go_to(self.rows[0])
        left = f" It has no field for {', '.join(source.left[:4])}." if source.left else ""
        self._say(f"Taken from {source.path.name}: check it against the sheet.{left}")

    def action_save(self) -> None:
        """Save the setup; where something is wrong or missing, go there."""
        self._settle()
        if not self._checked.whole or self._checked.setup is None:
            at_fault = self._go_to_wanting(after_here=False)
            self._say("Not saved: this field is not right yet." if at_fault else "Not saved.")
            return
        try:
            procedures_for(self._checked.setup, form_check.FILE)
            path = inside(self.folder, f"{form.file_name(self.typed['file.name'])}.toml")
            write_whole(path, form.setup_text(self.typed, self._first).encode())
        except Faulty as faulty:  # no walk can be made of it
            self._walk = faulty.faults
            self._say("Not saved.")
        except StorageError as error:
            self._say(f"Not saved: {error.problem}; {error.instead}.")
        else:
            self._kept = self.typed
            self._keep_draft(None)
            self.dismiss(path)
