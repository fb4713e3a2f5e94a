"""A field on the setup form: its label, its line, what was understood, what is wrong."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Static

from heelwise.documents.card_finding import NamedCard
from heelwise.documents.faults import Fault
from heelwise.documents.form_fields import FormField
from heelwise.plain_text import one_line
from heelwise.screens.glyphs import glyphs
from heelwise.screens.tones import Part, content
from heelwise.screens.widgets.card_line import CardLine
from heelwise.screens.widgets.choice_line import ChoiceLine
from heelwise.screens.widgets.drawn import Drawn
from heelwise.screens.widgets.text_line import TextLine
from heelwise.screens.wrapping import all_wrapped

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
        """Show what was made of the field.

        Args:
            understood: In words; None where nothing was.
            fault: What is wrong with it.
            needed: Whether the setup can't be used without it.
            here: Whether it is being filled in.
        """
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
        if found:
            return [(f"{len(found)} found; ", "plain"), ("Enter takes one", "next")]
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
    """The parts that fit whole: a source is told at the head of its group too."""
    while len(parts) > 1 and sum(len(text) for text, _ in parts) > width:
        parts = parts[:-1]
    return [(one_line(text, width) if len(text) > width else text, tone) for text, tone in parts]
