"""The form a setup is filled in on, from an engine card, a cam card and a spec sheet."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.screen import Screen
from textual.timer import Timer
from textual.widgets import Input, Static

from heelwise.documents.faults import Fault, Faulty
from heelwise.documents.form_check import FILE, FormCheck, Source, check
from heelwise.documents.library import find_cards, read_cards
from heelwise.documents.setup_form import FIELD, TABLES, file_name, form_values, setup_text
from heelwise.plain_text import Part, all_wrapped, one_line, wrapped
from heelwise.screens.drawn import Drawn
from heelwise.screens.key_actions import KeyBar, key
from heelwise.screens.setup_draft import CopyFromScreen, SetupDraft
from heelwise.screens.setup_fields import ChoiceLine, FieldsView
from heelwise.screens.start import free_name
from heelwise.screens.styled_text import content
from heelwise.screens.theme import glyphs
from heelwise.session import procedures_for
from heelwise.storage.errors import StorageError
from heelwise.storage.names import inside
from heelwise.storage.whole_files import NEW_SETUP, write_whole

MOST_LINES = 3
"""Lines for what is missing: the rest comes once some of it is there."""


def walk_faults(checked: FormCheck) -> tuple[Fault, ...]:
    """Find what would stop the walk of a setup whose fields are right."""
    if checked.setup is None:
        return ()
    try:
        procedures_for(checked.setup, FILE)
    except Faulty as faulty:
        return faulty.faults
    return ()


def state_lines(
    checked: FormCheck, walk: tuple[Fault, ...], typed: Mapping[str, str], width: int
) -> list[list[Part]]:
    """What is wrong or missing, in few lines; else what saving does."""
    signs = glyphs()
    rows: list[list[Part]] = []
    if checked.faults:
        rows.append([(f"{signs.bad} Not right: ", "bad"), (_named(checked.faults), "plain")])
    for fault in (*checked.between, *walk):
        field, table = FIELD.get(fault.where), fault.where.partition(".")[0]
        where = f"{TABLES.get(table, table)}{f', {_inside(field.label)}' if field else ''}"
        rows.append([(f"{signs.bad} {where}: {fault.problem}; {fault.instead}", "bad")])
    if checked.missing:
        lacking = _named(field.where for field in checked.missing)
        rows.append([("Still missing: ", "strong"), (lacking, "plain")])
    if not rows:
        file = f"{file_name(typed['file.name'])}.toml"
        ready = f"{signs.good} Nothing is missing. F5 saves {file} and opens it."
        rows.append([(ready, "good")])
    shown = all_wrapped(rows, width, indent=2)
    if len(shown) > MOST_LINES:
        shown = [*shown[: MOST_LINES - 1], [*shown[MOST_LINES - 1][:-1], (signs.more, "quiet")]]
    return shown


def _named(wheres: Iterable[str]) -> str:
    groups: dict[str, list[str]] = {}
    for field in sorted((FIELD[where] for where in wheres), key=_ORDER.index):
        groups.setdefault(TABLES[field.table], []).append(_inside(field.label))
    return ". ".join(f"{group}: {', '.join(labels)}" for group, labels in groups.items())


_ORDER = list(FIELD.values())


def _inside(label: str) -> str:
    return label[:1].lower() + label[1:]


BREATH_S = 0.04
"""How long nothing is typed before it is checked: keys that follow fast must not wait for it."""
IDLE_S = 0.15
"""How long nothing is typed before it is found out whether the setup can be walked."""


class SetupFormScreen(Screen[Path]):
    """Makes a setup file; gives its path once it is saved."""

    CSS_PATH = "setup_form.tcss"
    AUTO_FOCUS = ""
    BINDINGS: ClassVar[list[BindingType]] = [
        key("f1", "app.help", "Help", "What this asks for, and every key.", shown=True),
        key("enter", "next", "Next", "Take the card pointed at; the next field.", shown=True),
        key("down", "go(1)", "Down", "The card or field below."),
        key("up", "go(-1)", "Up", "The card or field above."),
        key("pagedown", "group(1)", "Next group", "The next group of fields."),
        key("pageup", "group(-1)", "Last group", "The group of fields before."),
        key("f6", "missing", "Missing", "On to the next field that it lacks.", shown=True),
        key("f5", "save", "Save", "Save and open it; else go to what it lacks.", shown=True),
        key("f9", "bench", "Bench", "Back to the bench; a draft is kept.", shown=True),
        key("f4", "copy(True)", "Lifter from", "Take another setup's lifter.", shown=True),
        key("f2", "copy(False)", "Start from", "Fill in all from another setup.", shown=True),
        key("f8", "empty", "Empty", "Empty every field; press it twice."),
        key("escape", "app.menu", "More", "Everything that can be done.", shown=True),
    ]

    def __init__(
        self, folder: Path, like: str = "", first: Mapping[str, object] | None = None
    ) -> None:
        """Get ready; `first`: a setup's document to begin with, of a record called `like`."""
        super().__init__()
        self.folder = folder
        called = f"like-{like}" if like else NEW_SETUP
        self._draft = SetupDraft(
            folder, lambda error: self.call_later(self._not_kept, error), called
        )
        self._like, self._first = like, first or {}
        self._fields = FieldsView(read_cards(find_cards().values()))
        self._typed: dict[str, str] = {}
        self._checked: FormCheck = check({})
        self._checked_of: dict[str, str] = {}
        self._walk: tuple[Fault, ...] = ()
        self._remark = ""
        self._emptying = False
        self._timer: Timer | None = None

    def compose(self) -> ComposeResult:
        """The title, the fields, what is still missing."""
        yield Static(id="title")
        yield self._fields
        yield Drawn(id="foot")
        yield KeyBar()

    def on_mount(self) -> None:
        """Take the draft up again, where there is one."""
        where: Part = (one_line(str(self.folder)), "quiet")
        title = f" A setup like {one_line(self._like, 40)}  " if self._like else " A new setup  "
        self.query_one("#title", Static).update(content([(title, "next"), where]))
        remarks = [
            f"{os.path.basename(error.where)} is left alone: {error.problem}; {error.instead}."
            for error in self._draft.passed_over
        ]
        if self._draft.typed:
            remarks.append("Draft restored. F8 twice starts an empty one.")
        typed = self._draft.typed
        if self._like and not typed:
            typed, _ = form_values(self._first)
            typed["file.name"] = free_name(self.folder, self._like)
            remarks.append(f"From {one_line(self._like, 40)}: change what differs.")
        self._remark = " ".join(remarks)
        self._put(typed)
        self._fields.go(1)

    def on_unmount(self) -> None:
        """Let the draft reach the disk."""
        self._draft.settle()

    # ------------------------------------------------------------------ typing

    def on_input_changed(self, event: Input.Changed) -> None:
        """Check what is typed as it is typed."""
        event.stop()
        self._changed()

    def on_choice_line_changed(self, event: ChoiceLine.Changed) -> None:
        """Offer what fits the choice."""
        event.stop()
        self._changed()

    def _changed(self) -> None:
        typed = self._fields.typed
        if typed != self._typed:
            self._typed, self._remark, self._emptying = typed, "", False
            self._draft.keep(typed)
            self._after(BREATH_S, self._check)

    def _after(self, seconds: float, then: Callable[[], None]) -> None:
        if self._timer is not None:
            self._timer.stop()
        self._timer = self.set_timer(seconds, then)

    def _settle(self) -> None:
        self._changed()
        if self._checked_of != self._typed:
            self._check()

    def _put(self, typed: Mapping[str, str]) -> None:
        self._fields.put(typed)
        self._typed = self._fields.typed
        self._check()

    def _check(self) -> None:
        self._checked, self._checked_of = check(self._typed), self._typed
        name = self._typed["file.name"].strip()
        named = name and "file.name" not in self._checked.faults
        if named and os.path.lexists(self.folder / f"{file_name(name)}.toml"):
            problem = f"{file_name(name)}.toml is there already"
            taken = Fault("file.name", problem, "give it another name")
            faults = {**self._checked.faults, "file.name": taken}
            self._checked = replace(self._checked, faults=faults)
        self._walk = ()
        if self._checked.whole:
            self._after(IDLE_S, self._look_ahead)
        self._show()

    def _look_ahead(self) -> None:
        self._settle()
        self._walk = walk_faults(self._checked)
        self._show()

    # ----------------------------------------------------------------- showing

    def on_descendant_focus(self, event: events.DescendantFocus) -> None:
        """Say what is wanted in the field gone to."""
        self._show()

    def _show(self) -> None:
        self._fields.show(self._checked)
        here, typed, remark = self._fields.here, self._typed, self._remark
        hint: list[Part] = []
        if here is not None:
            field = here.field
            hint.append((field.hint, "plain"))
            if field.without and not field.needed(typed):
                hint.append((f" Left out: {field.without}.", "quiet"))

        def foot(width: int) -> list[list[Part]]:
            rows = wrapped(hint, width)[:2]
            rows += wrapped([(remark, "next")], width) if remark else []
            return [*rows, *state_lines(self._checked, self._walk, typed, width)]

        self.query_one("#foot", Drawn).show(foot)

    def _say(self, remark: str) -> None:
        self._remark = remark
        self._show()

    # -------------------------------------------------------------------- keys

    def action_next(self) -> None:
        """Take the card pointed at; the next field, unless this one is not right."""
        self._fields.take()
        self._settle()
        here = self._fields.here
        if here is not None and here.field.where in self._checked.faults:
            self._say("Enter won't leave a field that has an error; Down will.")
        else:
            self._on(1)

    def action_go(self, by: int) -> None:
        """Another card where cards are listed, else another field."""
        if self._fields.point(by):
            self._show()
        else:
            self._on(by)

    def _on(self, by: int) -> None:
        self._settle()
        if not self._fields.go(by) and by > 0:
            self._say("This is the last field. F5 saves the setup.")

    def action_group(self, by: int) -> None:
        """The first field of another group."""
        self._settle()
        self._fields.go_group(by)

    @property
    def _wanting(self) -> list[str]:
        return [*self._checked.faults, *(field.where for field in self._checked.missing)]

    def action_missing(self) -> None:
        """The next field that is not right, or needed and empty."""
        self._fields.take()
        self._settle()
        if not self._fields.go_to_any(self._wanting, after_here=True):
            self._say("Nothing is missing.")

    def action_bench(self) -> None:
        """Back to the bench; the draft stays."""
        self.dismiss(None)

    def action_empty(self) -> None:
        """Empty every field, at the second press."""
        if not self._emptying:
            self._emptying = True
            self._say("F8 again empties every field.")
            return
        self._draft.remove()
        self._emptying, self._remark = False, "Every field is empty."
        self._put({})
        self._fields.to(self._fields.rows[0])

    # ------------------------------------------------- taking from another setup

    def action_copy(self, lifters: bool) -> None:
        """Take the lifter, or all, from another setup."""
        self.app.push_screen(CopyFromScreen(self.folder, lifters=lifters), self._take)

    def _take(self, source: Source | None) -> None:
        if source is None:
            return
        tables = {where.partition(".")[0] for where in source.typed}
        kept = {w: t for w, t in self._typed.items() if w.partition(".")[0] not in tables}
        self._put({**kept, **source.typed})
        self._draft.keep(self._typed)
        left = f" It has no field for {', '.join(source.left[:4])}." if source.left else ""
        self._say(f"Taken from {source.path.name}: check it against the sheet.{left}")

    # ------------------------------------------------------------------- saving

    def action_save(self) -> None:
        """Save the setup; where something is wrong or missing, go there."""
        self._settle()
        checked = self._checked
        self._walk = walk_faults(checked) if checked.whole else ()
        if not checked.whole or self._walk:
            at_fault = self._fields.go_to_any(self._wanting)
            self._say("Not saved: this field is not right yet." if at_fault else "Not saved.")
            return
        try:
            path = inside(self.folder, f"{file_name(self._typed['file.name'])}.toml")
            write_whole(path, setup_text(self._typed, self._first).encode())
        except StorageError as error:
            self._say(f"Not saved: {error.problem}; {error.instead}.")
            return
        self._draft.remove()
        self.dismiss(path)

    def _not_kept(self, error: StorageError) -> None:
        """Say that what is typed is not kept."""
        self._say(f"The draft is not kept: {error.problem}; {error.instead}.")
