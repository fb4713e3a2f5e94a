"""The fields of the setup form in their groups: lines to fill in, and from one to another."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import partial
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.message import Message
from textual.widgets import Input, Static

from heelwise.documents.faults import Fault
from heelwise.documents.fields import CARD, READ, SHEET
from heelwise.documents.form_check import FormCheck
from heelwise.documents.library import NamedCard, matching
from heelwise.documents.setup_engine import NO_CARD
from heelwise.documents.setup_form import FIELD, TABLES, FormField, fitting
from heelwise.plain_text import Part, all_wrapped, one_line, wrapped
from heelwise.screens.drawn import LONGEST, Drawn, TextLine
from heelwise.screens.key_actions import key
from heelwise.screens.styled_text import content
from heelwise.screens.theme import glyphs

IN_SIGHT = 6
"""Cards listed at once."""


class CardLine(TextLine):
    """Holds a card's name once one is taken; before that, what is looked for."""

    def __init__(self, cards: list[NamedCard], *, id: str | None = None) -> None:
        super().__init__(id=id, placeholder="v8, or 1-8-4-3")
        self._cards = cards
        self.at = 0

    @property
    def taken(self) -> NamedCard | None:
        """The card whose name stands here."""
        return next((card for card in self._cards if card.name == self.value.strip()), None)

    @property
    def found(self) -> list[NamedCard]:
        """The cards that what is typed may mean; none once one is taken."""
        typed = self.value.strip()
        if not typed or typed == NO_CARD or self.taken is not None:
            return []
        return matching(self._cards, typed)

    def watch_value(self, value: str) -> None:
        """Point at the only card found; of several, at none until one is picked."""
        self.at = 0 if len(self.found) == 1 else -1

    def point(self, by: int) -> bool:
        """Point at another of the cards found."""
        if not 0 <= self.at + by < len(self.found):
            return False
        self.at += by
        return True

    def take(self) -> None:
        """Take the card pointed at, where any is found."""
        found = self.found
        if found and self.at >= 0:
            self.put(found[self.at].name)

    def on_blur(self, event: events.Blur) -> None:
        """Take what is found, where it is one card only."""
        if len(self.found) == 1:
            self.take()

    def about(self, width: int) -> list[list[Part]]:
        """What is found, or what the card taken says; a line each."""
        if (taken := self.taken) is not None:
            order = f"{glyphs().good} {one_line(taken.card.card.title)}: {taken.order}"
            title: list[Part] = [(order, "good"), ("  from the card", "quiet")]
            numbering = f"Numbering: {taken.card.card.numbering}"
            return [*wrapped(title, width), *wrapped([(numbering, "plain")], width, 2)]
        found = self.found if self.has_focus else []
        first = max(0, min(self.at - IN_SIGHT // 2, len(found) - IN_SIGHT))
        rows: list[list[Part]] = []
        for place, card in enumerate(found[first : first + IN_SIGHT], start=first):
            here = place == self.at
            words = one_line(f"{card.name}  {card.order}  {card.card.card.title}", width - 2)
            mark: Part = (f"{glyphs().next} " if here else "  ", "next")
            rows.append([mark, (words, "next" if here else "plain")])
            if here:
                numbering = one_line(card.card.card.numbering, 200)
                rows += wrapped([("  ", "plain"), (numbering, "quiet")], width, 2)
        more = len(found) - IN_SIGHT
        return [*rows, [(f"  and {more} more", "quiet")]] if more > 0 else rows


class ChoiceLine(Drawn, can_focus=True):
    """One of a few values, or none."""

    DEFAULT_CSS = "ChoiceLine:focus { background: $panel; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("right,space", "move(1)", "Next choice", "Take the next value; a digit takes its own."),
        key("left", "move(-1)", "Last choice", "Take the value before."),
        key("delete,backspace", "clear", "No choice", "Take none of the values."),
    ]

    class Changed(Message):
        """Another value was taken."""

    def __init__(self, choices: tuple[tuple[str, str], ...], *, id: str | None = None) -> None:
        super().__init__(self._lines, id=id)
        self.choices, self.value = choices, ""

    def put(self, value: str) -> None:
        """Take a value; what is none of them counts as none taken."""
        self.value = value if value in dict(self.choices) else ""
        self.show(self._lines)

    def _take(self, value: str) -> None:
        self.put(value)
        self.post_message(self.Changed())

    def on_key(self, event: events.Key) -> None:
        """A digit takes its value."""
        digit = event.character or ""
        if digit.isascii() and digit.isdigit() and 0 < int(digit) <= len(self.choices):
            event.stop()
            self._take(self.choices[int(digit) - 1][0])

    def action_move(self, by: int) -> None:
        """Take another value."""
        values = [value for value, _ in self.choices]
        at = values.index(self.value) if self.value in values else (-1 if by > 0 else 0)
        self._take(values[(at + by) % len(values)])

    def action_clear(self) -> None:
        """Take none."""
        self._take("")

    def _lines(self, width: int) -> list[list[Part]]:
        rows: list[list[Part]] = [[]]
        used = 0
        for number, (value, name) in enumerate(self.choices, start=1):
            mine = value == self.value
            words = f"{number} {glyphs().proved if mine else glyphs().inside} {name}"
            if used and used + len(words) > width:
                rows.append([])
                used = 0
            rows[-1] += [(words, "next" if mine else "plain"), ("  ", "plain")]
            used += len(words) + 2
        return rows


def id_of(where: str) -> str:
    """The id of the line of a field, as a stylesheet writes it: letters, digits and dashes."""
    return where.replace(".", "-").replace("_", "")


class FieldRow(Vertical):
    """One field: label, line and what is made of it side by side; under them what needs room."""

    entry: TextLine | ChoiceLine

    def __init__(self, field: FormField, cards: list[NamedCard]) -> None:
        super().__init__()
        self.field, place = field, id_of(field.where)
        if field.reads == "choice":
            self.entry = ChoiceLine(field.choices, id=place)
        else:
            self.entry = CardLine(cards, id=place) if field.reads == "card" else TextLine(id=place)
        self._label, self._beside = Static(classes="label"), Static(classes="beside")
        self._below = Drawn()
        self._shown: tuple[object, ...] = ()

    def compose(self) -> ComposeResult:
        """The parts."""
        with Horizontal():
            yield self._label
            yield self.entry
            if not isinstance(self.entry, ChoiceLine):
                yield self._beside
        yield self._below

    def tell(self, understood: str | None, fault: Fault | None, needed: bool, here: bool) -> None:
        """Show what was made of the field."""
        text, card = self.entry.value, self.entry if isinstance(self.entry, CardLine) else None
        now = (understood, fault, needed, here, text if card else bool(text), card and card.at)
        if now == self._shown:
            return
        self._shown = now
        sign, tone = (glyphs().good, "good") if text else (" ", "plain")
        sign, tone = (glyphs().bad, "bad") if fault else (sign, tone)
        mark = (f"{glyphs().next if here else ' '}{sign} ", "next" if here else tone)
        self._label.update(content([mark, (self.field.label, "next" if here else "plain")]))
        found = len(card.found) if card else 0
        if card and found:
            what = "Enter takes it" if card.at >= 0 else "Down picks one"
            made: list[Part] = [(f"{found} found; ", "plain"), (what, "next")]
        elif fault:
            made = [("see below", "bad")]
        elif understood is None:
            made = [("needed", "plain") if needed else ("optional", "quiet")]
        else:
            made = [
                (understood, "strong"),
                (f"  {self.field.source}" if understood else "", "quiet"),
            ]
        self._beside.update(content(made))
        self._below.display = fault is not None or card is not None
        self._below.show(lambda width: self._under(fault, card, width))

    def _under(self, fault: Fault | None, card: CardLine | None, width: int) -> list[list[Part]]:
        about = card.about(width) if card else []
        if about or fault is None:
            return about
        words = [(f"{glyphs().bad} {fault.problem}; ", "bad"), (fault.instead, "plain")]
        return wrapped(words, width, 2)


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

    def compose(self) -> ComposeResult:
        """Each group under its name, with what comes of its figures together."""
        for table, title in TABLES.items():
            head = content([(title, "next"), (f"   {_FROM.get(table, '')}", "quiet")])
            yield Static(head, classes="group", id=f"group-{table}")
            yield from (row for row in self.rows if row.field.table == table)
            yield Drawn(id=f"notes-{table}")

    @property
    def typed(self) -> dict[str, str]:
        """What stands in the fields, by `table.key`."""
        return {row.field.where: row.entry.value for row in self.rows}

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
        """Show what was made of the fields, and only those that fit; the present one in sight."""
        fits = {field.where for field in fitting(self.typed)}
        lacking = {field.where for field in checked.missing}
        here = self.here
        for row in self.rows:
            where = row.field.where
            row.display = where in fits
            if row.display:
                understood, fault = checked.understood.get(where), checked.faults.get(where)
                row.tell(understood, fault, where in lacking, row is here)
        groups = {row.field.table for row in self.offered}
        for table in TABLES:
            self.query_one(f"#group-{table}").display = table in groups
            notes = checked.notes.get(table, ()) if table in groups else ()
            drawn = self.query_one(f"#notes-{table}", Drawn)
            drawn.display = bool(notes)
            rows: list[list[Part]] = [[(f"{glyphs().bullet} {note}", "quiet")] for note in notes]
            drawn.show(partial(all_wrapped, rows, indent=2))
        self.call_after_refresh(self._center)

    def _center(self) -> None:
        row = self.here
        if row is not None:
            self.scroll_to_center(row, animate=False)
            self.call_after_refresh(self.scroll_to_center, row, animate=False)

    # ------------------------------------------------------- from one to another

    def to(self, row: FieldRow) -> None:
        """Go to a field."""
        self.screen.set_focus(row.entry, scroll_visible=False)  # at once: keys may follow fast

    def go(self, by: int) -> bool:
        """Go so many fields on."""
        offered, here = self.offered, self.here
        at = offered.index(here) + by if here in offered else 0
        if not 0 <= at < len(offered):
            return False
        self.to(offered[at])
        return True

    @property
    def _card(self) -> CardLine | None:
        entry = self.here.entry if self.here is not None else None
        return entry if isinstance(entry, CardLine) else None

    def point(self, by: int) -> bool:
        """Point at another card, where cards are listed."""
        return self._card is not None and self._card.point(by)

    def take(self) -> None:
        """Take the card pointed at, where cards are listed."""
        if self._card is not None:
            self._card.take()

    def go_group(self, by: int) -> None:
        """Go to the first field so many groups on, at most to the last one's."""
        firsts: dict[str, FieldRow] = {}
        for row in self.offered:
            firsts.setdefault(row.field.table, row)
        here, tables = self.here, list(firsts)
        at = tables.index(here.field.table) + by if here is not None else 0
        self.to(firsts[tables[max(0, min(at, len(tables) - 1))]])

    def go_to_any(self, wheres: Iterable[str], after_here: bool = False) -> bool:
        """Go to the first of some fields, or to the first of them after the present one."""
        wanted, offered, here = set(wheres), self.offered, self.here
        rows = [row for row in offered if row.field.where in wanted]
        if after_here and here in offered:
            at = offered.index(here)
            rows = [row for row in rows if offered.index(row) > at] or rows
        if rows:
            self.to(rows[0])
        return bool(rows)
