"""The fields of the setup form, a line each, some to pick a value on; setups to copy from."""

from collections.abc import Callable
from functools import partial
from typing import ClassVar, NamedTuple

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.widgets import Static

from heelwise.documents.faults import Fault
from heelwise.documents.fields import FormField
from heelwise.documents.form_check import Source
from heelwise.documents.library import Card, matching
from heelwise.documents.setup_engine import NO_CARD
from heelwise.plain_text import Part, one_line, wrapped
from heelwise.screens.drawn import Drawn, Rows, TextLine
from heelwise.screens.key_actions import key
from heelwise.screens.modals import Box
from heelwise.screens.styled_text import content

IN_SIGHT = 6
"""Values listed at once."""


class Option(NamedTuple):
    """A value that can be picked, how it is listed, and what is told of it once pointed at."""

    value: str
    words: str
    about: str = ""


def choices_for(field: FormField, typed: str) -> list[Option]:
    """The choices of a field that a text may mean: a digit, a value, or words of it."""
    options = [
        Option(text.partition(":")[0], f"{n} {text}") for n, text in enumerate(field.choices, 1)
    ]
    whole = [option for option in options if typed in (option.value, option.words[:1])]
    return whole or [each for each in options if typed.lower() in each.words.lower()]


def cards_for(cards: dict[str, Card], typed: str) -> list[Option]:
    """The engine cards that a text may mean."""
    if not typed or typed == NO_CARD:
        return [Option(NO_CARD, NO_CARD)] if typed else []
    return [
        Option(name, f"{name}  {card.order}  {card.card.title}", card.card.numbering)
        for name in matching(cards, typed)
        for card in (cards[name],)
    ]


class PickLine(TextLine):
    """Holds a value once one is picked; before that, what is typed to find it."""

    def __init__(self, options: Callable[[str], list[Option]], *, id: str) -> None:
        super().__init__(id=id)
        self.select_on_focus = True  # a digit typed takes the place of the value before
        self._options = options
        self.at = -1

    @property
    def found(self) -> list[Option]:
        """The values that what is typed may mean."""
        return self._options(self.value.strip())

    @property
    def picked(self) -> bool:
        """Whether a value stands here."""
        return self.value.strip() in [option.value for option in self.found]

    def watch_value(self, value: str) -> None:
        """Point at the only value found; of several, at none until one is picked."""
        self.at = 0 if len(self.found) == 1 else -1

    async def _on_key(self, event: events.Key) -> None:
        digits = {option.words[:2]: option.value for option in self._options("")}
        value = digits.get(f"{event.character} ")
        if value is not None:
            event.stop()
            event.prevent_default()
            self.put(value)
            self.select_all()

    def point(self, by: int) -> bool:
        """Point at another of the values found."""
        if not self.value or self.picked or not 0 <= self.at + by < len(self.found):
            return False
        self.at += by
        return True

    def take(self) -> None:
        """Take the value pointed at, where any is."""
        if self.value and self.at >= 0:
            self.put(self.found[self.at].value)

    def on_blur(self) -> None:
        """Take what is found, where it is one value only."""
        if len(self.found) == 1:
            self.take()

    def listed(self, width: int) -> list[list[Part]]:
        """The values found, a line each, and what is told of the one pointed at or picked."""
        found, picked = self.found, self.value.strip() if self.picked else ""
        about = found[0].about if picked else ""
        if not (self.has_focus or about):
            return []
        if picked and not about:
            found = self._options("")  # the others, should it be one of them
        first = max(0, min(self.at - IN_SIGHT // 2, len(found) - IN_SIGHT))
        rows: list[list[Part]] = []
        for place, option in enumerate(found[first : first + IN_SIGHT], start=first):
            sign, tone = ("▶", "next") if place == self.at else (" ", "plain")
            if picked:
                sign, tone = ("✓", "good") if option.value == picked else (" ", "plain")
            rows.append([(f"{sign} ", tone), (one_line(option.words, width - 2), tone)])
            if option.about and tone != "plain":
                rows += wrapped([(f"  Numbering: {one_line(option.about)}", "plain")], width, 2)
        more = len(found) - IN_SIGHT
        return [*rows, [(f"  and {more} more", "quiet")]] if more > 0 else rows


def id_of(where: str) -> str:
    """The id of the line of a field, as a stylesheet writes it: letters, digits and dashes."""
    return where.replace(".", "-").replace("_", "")


class FieldRow(Vertical):
    """One field: label, line and what is made of it side by side; under them what needs room."""

    def __init__(self, field: FormField, cards: dict[str, Card]) -> None:
        super().__init__()
        self.field, place = field, id_of(field.where)
        self.entry = TextLine(id=place)
        self.pick: PickLine | None = None
        if field.choices or field.reads == "card":
            options = partial(choices_for, field) if field.choices else partial(cards_for, cards)
            self.entry = self.pick = PickLine(options, id=place)
            self.entry.set_class(bool(field.choices), "choice")
        self._label, self._beside = Static(classes="label"), Static(classes="beside")
        self._below = Drawn()
        self._shown: object = None

    def compose(self) -> ComposeResult:
        """The parts."""
        with Horizontal():
            yield self._label
            yield self.entry
            yield self._beside
        yield self._below

    def tell(self, understood: str | None, fault: Fault | None, needed: bool, here: bool) -> None:
        """Show what was made of the field; nothing is drawn anew where nothing changed."""
        pick, typed = self.pick, self.entry.value
        now = (understood, fault, needed, here, typed if pick else bool(typed), pick and pick.at)
        if now == self._shown:
            return
        self._shown = now
        sign, tone = ("✓", "good") if typed else (" ", "plain")
        sign, tone = ("✗", "bad") if fault else (sign, tone)
        mark = (f"{'▶' if here else ' '}{sign} ", "next" if here else tone)
        self._label.update(content([mark, (self.field.label, "next" if here else "plain")]))
        self._beside.update(content(self._made(understood, fault, needed)))
        self._below.show(partial(self._under, fault))

    def _made(self, understood: str | None, fault: Fault | None, needed: bool) -> list[Part]:
        pick = self.pick
        if pick and fault and (found := len(pick.found)):
            what = "Enter takes it" if pick.at >= 0 else "Down picks one"
            return [(f"{found} found; ", "plain"), (what, "next")]
        if fault:
            return [("see below", "bad")]
        if understood is None:
            return [("needed", "plain") if needed else ("optional", "quiet")]
        source = f"  {self.field.source}" if understood else ""
        return [(understood, "strong"), (source, "quiet")]

    def _under(self, fault: Fault | None, width: int) -> list[list[Part]]:
        listed = self.pick.listed(width) if self.pick else []
        if listed or fault is None:
            return listed
        words = [(f"✗ {fault.problem}; ", "bad"), (fault.instead, "plain")]
        return wrapped(words, width, 2)


class CopyFromScreen(Box[Source]):
    """The setups of the folder, the file touched last first; gives the one taken."""

    BINDINGS: ClassVar[list[BindingType]] = [
        key("escape", "back", "Back", "Back, without taking any.", shown=True),
    ]

    def __init__(self, title: str, sources: list[Source]) -> None:
        super().__init__((title, "next"), Rows())
        self._sources = sources

    def on_mount(self) -> None:
        """List them."""
        rows = self.query_one(Rows)
        rows.styles.height = len(self._sources)
        rows.show(len(self._sources), self._row, 0)

    def _row(self, number: int, width: int) -> list[Part]:
        source = self._sources[number]
        summary = one_line(source.summary, max(width - 26, 1))
        return [(f"{one_line(source.path.stem, 25):26}{summary}", "plain")]

    def on_rows_chosen(self, event: Rows.Chosen) -> None:
        """Take the setup pointed at."""
        event.stop()
        self.dismiss(self._sources[event.row])
