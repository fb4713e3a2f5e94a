"""Engine cards found by typing: by name, title, layout, cylinders or firing order."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from heelwise.documents.cards import Card, read_card
from heelwise.documents.faults import Faulty

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

    @cached_property
    def _words(self) -> str:
        count = len(self.card.engine.firing_order)
        return f"{self.name} {self.card.card.title} {count} cylinders".lower()

    @cached_property
    def _round(self) -> str:
        """The firing order twice round, for it may be typed from any cylinder on."""
        return f"-{self.order}-{self.order}-"

    def fits(self, typed: str) -> bool:
        """Whether it is one that a text may mean.

        Args:
            typed: Words in any order, or a part of the firing order: "v8 left", "1-8-4-3", "1843".
        """
        words = typed.lower().split()
        order = "-".join(part for part in _BETWEEN.split(typed.strip()) if part)
        if order.isdigit() and len(order) > 2:
            return order in self._round.replace("-", "")
        if "-" in order and order.replace("-", "").isdigit():
            return f"-{order}-" in self._round
        return all(self._holds(word) for word in words)

    def _holds(self, word: str) -> bool:
        """A part of a word will do, but a number must be all of one: 4 is not in 145236."""
        return (
            word in re.findall(r"[a-z0-9]+", self._words)
            if word.isdigit()
            else (word in self._words)
        )


def read_cards(paths: Iterable[Path]) -> list[NamedCard]:
    """Read the cards that can be read; `heelwise check` tells what is wrong with the others.

    Args:
        paths: Their files.

    Returns:
        The cards, those of more cylinders first.
    """
    found = []
    for path in paths:
        try:
            found.append(NamedCard(path.stem, read_card(path)))
        except Faulty:
            continue
    return sorted(found, key=lambda one: (-len(one.card.engine.firing_order), one.name))


def matching(cards: Iterable[NamedCard], typed: str) -> list[NamedCard]:
    """The cards a text may mean.

    Args:
        cards: Those there are.
        typed: As for `NamedCard.fits`; a card's whole name means that card alone.
    """
    known = list(cards)
    named = [one for one in known if one.name == typed.strip()]
    return named or [one for one in known if one.fits(typed)]
