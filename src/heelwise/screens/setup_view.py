"""The fields of the setup form in their groups, and the way from one to another."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Input, Static

from heelwise.documents.card_finding import NamedCard
from heelwise.documents.setup_checking import Checked
from heelwise.documents.setup_fields import FIELDS, TABLES, fitting
from heelwise.screens.setup_rows import FieldRow
from heelwise.screens.tones import shown
from heelwise.screens.widgets.choice_line import ChoiceLine
from heelwise.screens.widgets.drawn import Drawn
from heelwise.screens.wrapping import all_wrapped


class FieldsView(VerticalScroll, inherit_bindings=False, can_focus=False):
    """Every field, those in sight that fit; keys go to the fields, not to the scrolling."""

    def __init__(self, cards: list[NamedCard]) -> None:
        super().__init__(id="fields")
        self.rows = [FieldRow(field, cards) for field in FIELDS]

    def compose(self) -> ComposeResult:
        """Each group under its name, with what comes of its figures together."""
        for table, called in TABLES.items():
            yield Static(shown(called, "next"), classes="group", id=f"group-{table}")
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
                row.entry.put(typed.get(row.field.where, ""))

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
        drawn = self.query_one(f"#notes-{table}", Drawn)
        drawn.display = bool(notes)
        drawn.show(lambda width: all_wrapped([[(note, "quiet")] for note in notes], width, 2))

    def to(self, row: FieldRow) -> None:
        """Go to a field."""
        row.entry.focus()
        self.call_after_refresh(row.scroll_visible, animate=False)

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

    def go_group(self, by: int) -> None:
        """Go to the first field so many groups on, at most to the last one's."""
        firsts: dict[str, FieldRow] = {}
        for row in self.offered:
            firsts.setdefault(row.field.table, row)
        here, tables = self.here, list(firsts)
        at = tables.index(here.field.table) + by if here is not None else 0
        self.to(firsts[tables[max(0, min(at, len(tables) - 1))]])

    def go_first(self, wheres: Iterable[str]) -> bool:
        """Go to the first of some fields.

        Returns:
            Whether any of them is offered.
        """
        wanted = set(wheres)
        row = next((row for row in self.offered if row.field.where in wanted), None)
        if row is not None:
            self.to(row)
        return row is not None
