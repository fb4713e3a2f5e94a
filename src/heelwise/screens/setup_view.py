"""The fields of the setup form in their groups, and the way from one to another."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Input, Static

from heelwise.documents.card_finding import NamedCard
from heelwise.documents.form_fields import CARD, READ, SHEET, TABLES
from heelwise.documents.setup_checking import Checked
from heelwise.documents.setup_fields import FIELDS, fitting
from heelwise.plain_text import one_line
from heelwise.screens.glyphs import glyphs
from heelwise.screens.setup_rows import FieldRow
from heelwise.screens.tones import Part, content
from heelwise.screens.widgets.card_line import CardLine
from heelwise.screens.widgets.choice_line import ChoiceLine
from heelwise.screens.widgets.drawn import Drawn
from heelwise.screens.widgets.text_line import LONGEST
from heelwise.screens.wrapping import all_wrapped

_SHEET = f"figures typed here: {SHEET}"
_FROM = {
    "engine": f"from {CARD}; typed here: {READ}",
    "cam": f"{_SHEET} (the cam card)",
    "rocker": _SHEET,
    "lifter": _SHEET,
    "lash": f"{_SHEET}; heights: {READ}",
    "growth": f"may be left out; heights: {READ}",
    "pushrods": f"lengths measured: {READ}",
    "wrench": _SHEET,
}
"""Where the figures of a group are taken to come from, told once at its head."""


class FieldsView(VerticalScroll, inherit_bindings=False, can_focus=False):
    """Every field, those in sight that fit; keys go to the fields, not to the scrolling."""

    def __init__(self, cards: list[NamedCard]) -> None:
        super().__init__(id="fields")
        self.rows = [FieldRow(field, cards) for field in FIELDS]
        self._noted: dict[str, tuple[str, ...]] = {}

    def compose(self) -> ComposeResult:
        """Each group under its name, with what comes of its figures together."""
        for table, called in TABLES.items():
            head = content([(called, "next"), (f"   {_FROM.get(table, '')}", "quiet")])
            yield Static(head, classes="group", id=f"group-{table}")
            yield from (row for row in self.rows if row.field.table == table)
            yield Drawn(id=f"notes-{table}")

    @property
    def typed(self) -> dict[str, str]:
        """What stands in the fields, by `table.key`."""
        return {row.field.where: row.text for row in self.rows}

    def put(self, typed: Mapping[str, str]) -> None:
        """Put texts in all fields, none where none is given; nothing is posted of it."""
        with self.prevent(Input.Changed, ChoiceLine.Changed):
            for row in self.rows:
                row.entry.put(one_line(typed.get(row.field.where, ""), LONGEST))

    @property
    def here(self) -> FieldRow | None:
        """The field being filled in."""
        return next((row for row in self.rows if row.entry.has_focus), None)

    @property
    def offered(self) -> list[FieldRow]:
        """The fields that fit, in their order."""
        return [row for row in self.rows if row.display]

    def show(self, checked: Checked) -> None:
        """Show what was made of the fields, and only those that fit.

        Args:
            checked: What was made of them.
        """
        fits = {field.where for field in fitting(self.typed)}
        lacking = {field.where for field in checked.missing}
        here = self.here
        for row in self.rows:
            where = row.field.where
            row.display = where in fits
            if row.display:
                understood, fault = checked.understood.get(where), checked.faults.get(where)
                row.say(understood, fault, where in lacking, row is here)
        groups = {row.field.table for row in self.offered}
        for table in TABLES:
            self.query_one(f"#group-{table}").display = table in groups
            self._note(table, checked.notes.get(table, ()) if table in groups else ())

    def _note(self, table: str, notes: tuple[str, ...]) -> None:
        if self._noted.get(table) == notes:
            return
        self._noted[table] = notes
        drawn = self.query_one(f"#notes-{table}", Drawn)
        drawn.display = bool(notes)
        rows: list[list[Part]] = [[(f"{glyphs().bullet} {note}", "quiet")] for note in notes]
        drawn.show(lambda width: all_wrapped(rows, width, indent=2))

    def to(self, row: FieldRow) -> None:
        """Go to a field."""
        self.screen.set_focus(row.entry, scroll_visible=False)  # at once: keys may follow fast

    def keep_in_sight(self) -> None:
        """Bring the field being filled in to the middle, with what comes before and after it."""
        row = self.here
        if row is not None:
            self.call_after_refresh(self.scroll_to_center, row, animate=False)

    def go(self, by: int) -> bool:
        """Go so many fields on.

        Returns:
            Whether there is one.
        """
        offered, here = self.offered, self.here
        at = offered.index(here) + by if here in offered else 0
        if not 0 <= at < len(offered):
            return False
        self.to(offered[at])
        return True

    def point(self, by: int) -> bool:
        """Point at another card, where cards are listed.

        Returns:
            Whether there was another.
        """
        entry = self.here.entry if self.here is not None else None
        return isinstance(entry, CardLine) and entry.point(by)

    def take(self) -> None:
        """Take the card pointed at, where cards are listed."""
        entry = self.here.entry if self.here is not None else None
        if isinstance(entry, CardLine):
            entry.take()

    def go_group(self, by: int) -> None:
        """Go to the first field so many groups on, at most to the last one's."""
        firsts: dict[str, FieldRow] = {}
        for row in self.offered:
            firsts.setdefault(row.field.table, row)
        here, tables = self.here, list(firsts)
        at = tables.index(here.field.table) + by if here is not None else 0
        self.to(firsts[tables[max(0, min(at, len(tables) - 1))]])

    def go_to_one_of(self, wheres: Iterable[str], after_here: bool = False) -> bool:
        """Go to the first of some fields.

        Args:
            wheres: The fields.
            after_here: The first below the field being filled in, where any is.

        Returns:
            Whether any of them is offered.
        """
        wanted, offered, here = set(wheres), self.offered, self.here
        rows = [row for row in offered if row.field.where in wanted]
        if after_here and here in offered:
            at = offered.index(here)
            rows = [row for row in rows if offered.index(row) > at] or rows
        if rows:
            self.to(rows[0])
        return bool(rows)
