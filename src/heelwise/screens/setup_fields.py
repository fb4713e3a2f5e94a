"""The fields of the setup form in their groups, and the way from one to another."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Input, Static

from heelwise.documents.faults import Fault
from heelwise.documents.fields import CARD, READ, SHEET
from heelwise.documents.form_check import FormCheck
from heelwise.documents.library import NamedCard
from heelwise.documents.setup_form import FIELD, TABLES, FormField, fitting
from heelwise.plain_text import one_line
from heelwise.screens.styled_text import Part, all_wrapped, content
from heelwise.screens.theme import glyphs
from heelwise.screens.widgets.drawn import LONGEST, Drawn, TextLine
from heelwise.screens.widgets.form_lines import CardLine, ChoiceLine

AnyEntry = TextLine | ChoiceLine


def id_of(where: str) -> str:
    """The id of the line of a field, as a stylesheet writes it: letters, digits and dashes."""
    return where.replace(".", "-").replace("_", "")


class FieldRow(Vertical):
    """One field."""

    def __init__(self, field: FormField, cards: list[NamedCard]) -> None:
        super().__init__()
        self.field = field
        self.entry = _entry(field, cards)
        self._label = Static(classes="label")
        self._beside = Drawn()
        self._beside.add_class("beside")
        self._below = Drawn()
        self._told: tuple[object, ...] = ()

    def compose(self) -> ComposeResult:
        """Label, line and what is made of it side by side; under them what needs room."""
        with Horizontal():
            yield self._label
            yield self.entry
            if not isinstance(self.entry, ChoiceLine):
                yield self._beside
        yield self._below

    @property
    def text(self) -> str:
        """What stands in it."""
        return self.entry.value

    def say(self, understood: str | None, fault: Fault | None, needed: bool, here: bool) -> None:
        """Show what was made of the field."""
        card = self.entry if isinstance(self.entry, CardLine) else None
        stands = (self.text, card.at) if card is not None else bool(self.text)
        told = (understood, fault, needed, here, stands)
        if told == self._told:
            return
        self._told = told
        self._label.update(_label(self.field, fault, bool(self.text), here))
        made = self._made_of_it(understood, fault, needed)
        self._beside.show(lambda width: [_fitted(made, width)])
        self._below.display = fault is not None or card is not None
        self._below.show(lambda width: self._under(fault, width))

    def _made_of_it(self, understood: str | None, fault: Fault | None, needed: bool) -> list[Part]:
        found = self.entry.found if isinstance(self.entry, CardLine) else []
        if isinstance(self.entry, CardLine) and found:
            what = "Enter takes it" if self.entry.at >= 0 else "Down picks one"
            return [(f"{len(found)} found; ", "plain"), (what, "next")]
        return _beside(self.field, understood, fault, needed)

    def _under(self, fault: Fault | None, width: int) -> list[list[Part]]:
        about = self.entry.about(width) if isinstance(self.entry, CardLine) else []
        if fault is None or (about and isinstance(self.entry, CardLine)):
            return about
        said: list[Part] = [(f"{glyphs().bad} {fault.problem}; ", "bad"), (fault.instead, "plain")]
        return all_wrapped([said], width, indent=2)


def _entry(field: FormField, cards: list[NamedCard]) -> AnyEntry:
    place = id_of(field.where)
    if field.reads == "choice":
        return ChoiceLine(field.choices, id=place)
    return CardLine(cards, id=place) if field.reads == "card" else TextLine(id=place)


def _label(field: FormField, fault: Fault | None, filled: bool, here: bool) -> Content:
    signs = glyphs()
    sign, tone = " ", "plain"
    if fault is not None:
        sign, tone = signs.bad, "bad"
    elif filled:
        sign, tone = signs.good, "good"
    mark = signs.next if here else " "
    return content([(f"{mark}{sign} ", "next" if here else tone), (field.label, _TONE[here])])


_TONE = {True: "next", False: "plain"}


def _beside(
    field: FormField, understood: str | None, fault: Fault | None, needed: bool
) -> list[Part]:
    if fault is not None:
        return [("see below", "bad")]
    if understood is None:
        return [("needed", "plain") if needed else ("optional", "quiet")]
    return [(understood, "strong"), (f"  {field.source}" if understood else "", "quiet")]


def _fitted(parts: list[Part], width: int) -> list[Part]:
    while len(parts) > 1 and sum(len(text) for text, _ in parts) > width:
        parts = parts[:-1]
    return [(one_line(text, width) if len(text) > width else text, tone) for text, tone in parts]


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
        self.rows = [FieldRow(field, cards) for field in FIELD.values()]
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

    def show(self, checked: FormCheck) -> None:
        """Show what was made of the fields, and only those that fit."""
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
        self.call_after_refresh(self._center)

    def _center(self) -> None:
        row = self.here
        if row is not None:
            self.scroll_to_center(row, animate=False)
            self.call_after_refresh(self.scroll_to_center, row, animate=False)

    def go(self, by: int) -> bool:
        """Go so many fields on."""
        offered, here = self.offered, self.here
        at = offered.index(here) + by if here in offered else 0
        if not 0 <= at < len(offered):
            return False
        self.to(offered[at])
        return True

    def point(self, by: int) -> bool:
        """Point at another card, where cards are listed."""
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
        """Go to the first of some fields."""
        wanted, offered, here = set(wheres), self.offered, self.here
        rows = [row for row in offered if row.field.where in wanted]
        if after_here and here in offered:
            at = offered.index(here)
            rows = [row for row in rows if offered.index(row) > at] or rows
        if rows:
            self.to(rows[0])
        return bool(rows)
