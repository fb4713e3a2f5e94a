"""Where procedures and engine cards are found, and engine cards read and found by typing."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from heelwise.documents.faults import Fault, Faulty, did_you_mean, quoted
from heelwise.documents.fields import Paragraph, ShortLine, Table, read_model
from heelwise.documents.folders import folders
from heelwise.documents.setup_engine import EngineTable
from heelwise.documents.toml import read_toml

_NAME = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,62}[a-z0-9])?")


def find_procedures() -> dict[str, Path]:
    """Every procedure's file by name, in alphabetical order; of two by one name the shop's own."""
    return _files_in("")


def find_cards() -> dict[str, Path]:
    """Every engine card's file by name, in alphabetical order; of two the shop's own."""
    return _files_in("engines")


def _files_in(inside: str) -> dict[str, Path]:
    paths: dict[str, Path] = {}
    for folder in reversed(folders()):
        for path in (folder / inside).glob("*.toml"):
            if _NAME.fullmatch(path.stem) and os.path.isfile(path):
                paths[path.stem] = path
    return dict(sorted(paths.items()))


# ---------------------------------------- engine cards


class CardHead(Table):
    """[card]: what the card is called, how its cylinders are numbered, where it comes from.

    `common`: offered before the rarer orders of its layout.
    """

    title: ShortLine
    numbering: Paragraph
    source: Annotated[Paragraph, Field(examples=['source = "common practice, no source"'])]
    common: bool = False


class Card(Table):
    """A whole card: the layout of one kind of engine, for many setups."""

    format: Literal[1]
    card: CardHead
    engine: EngineTable

    def own_faults(self) -> Iterator[Fault]:
        """A card that leads to another."""
        if self.engine is not None and self.engine.card is not None:
            yield Fault("engine.card", "names another card", "write the fields themselves")


def read_card(path: Path) -> Card:
    """Read a card from its file, or Faulty with every fault found in it."""
    return read_model(Card, read_toml(path), str(path))


def load_card(name: str) -> dict[str, object]:
    """The fields of a setup's [engine] that a card gives, not yet checked; Faulty without it."""
    cards = find_cards()
    if name not in cards:
        problem = f"there is no card {quoted(name)}"
        instead = did_you_mean(name, cards, "there are") if cards else "give firing_order instead"
        raise Faulty("engines", [Fault("card", problem, instead)])
    engine = read_toml(cards[name]).get("engine")
    if not isinstance(engine, dict) or "card" in engine:
        instead = "write its fields under [engine]"
        raise Faulty(str(cards[name]), [Fault("engine", "has no fields", instead)])
    return engine


# ---------------------------------------- cards found by typing

_BETWEEN = re.compile(r"[\s,;–-]+")


@dataclass(frozen=True)
class NamedCard:
    """A card with its name."""

    name: str
    card: Card

    @property
    def order(self) -> str:
        """The firing order as it is written: 1-3-4-2."""
        return "-".join(map(str, self.card.engine.firing_order))

    def fits(self, typed: str) -> bool:
        """Whether a text may mean it: words in any order, or a part of the firing order.

        "v8 left", "1-8-4-3", "1843".
        """
        order = "-".join(part for part in _BETWEEN.split(typed.strip()) if part)
        twice = f"-{self.order}-{self.order}-"  # it may be typed from any cylinder on
        if order.isdigit() and len(order) > 2:
            return order in twice.replace("-", "")
        if "-" in order and order.replace("-", "").isdigit():
            return f"-{order}-" in twice
        count = len(self.card.engine.firing_order)
        text = f"{self.name} {self.card.card.title} {count} cylinders".lower()
        words = re.findall(r"[a-z0-9]+", text)
        # A part of a word will do, but a number must be all of one: 4 is not in 145236.
        return all(w in (words if w.isdigit() else text) for w in typed.lower().split())


def read_cards(paths: Iterable[Path]) -> list[NamedCard]:
    """Read the cards that can be read, those of more cylinders first, the common orders first."""
    cards = []
    for path in paths:
        try:
            cards.append(NamedCard(path.stem, read_card(path)))
        except Faulty:
            continue
    return sorted(
        cards,
        key=lambda c: (-len(c.card.engine.firing_order), not c.card.card.common, c.name),
    )


def matching(cards: Iterable[NamedCard], typed: str) -> list[NamedCard]:
    """The cards a text may mean, as `NamedCard.fits`; a whole name means that card alone."""
    known = list(cards)
    named = [card for card in known if card.name == typed.strip()]
    return named or [card for card in known if card.fits(typed)]
