"""An engine card's file: the layout of one kind of engine, for many setups."""

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field, ValidationError

from heelwise.documents.faults import Fault, Faulty, in_order, not_said_twice
from heelwise.documents.model_faults import faults_of
from heelwise.documents.setup import FORMAT, format_faults
from heelwise.documents.setup_checks import setup_faults
from heelwise.documents.setup_tables import EngineTable
from heelwise.documents.toml_reading import read_toml
from heelwise.documents.typed_fields import Paragraph, ShortLine, Table


class CardHead(Table):
    """[card]: what the card is called, how its cylinders are numbered, where it comes from."""

    title: ShortLine
    numbering: Paragraph
    source: Annotated[Paragraph, Field(examples=['source = "common practice, no source"'])]


class Card(Table):
    """A whole card. Make it with `parse_card`, which finds every fault."""

    format: Literal[1]
    card: CardHead
    engine: EngineTable


def parse_card(raw: Mapping[str, object], file: str) -> Card:
    """Make a card of a document, or tell everything that is wrong with it.

    Args:
        raw: The document as TOML gives it.
        file: Its name, for the faults.

    Returns:
        The card.

    Raises:
        Faulty: With every fault; of a document made for a newer Heelwise, that alone.
    """
    faults = format_faults(raw)
    if faults and "newer" in faults[0].problem:
        raise Faulty(file, faults)
    card: Card | None = None
    try:
        card = Card.model_validate({**raw, "format": FORMAT})
    except ValidationError as error:
        faults += faults_of(error, model=Card)
    faults += not_said_twice(faults, setup_faults({"engine": raw.get("engine")}))
    if card is not None and card.engine.card is not None:
        faults.append(Fault("engine.card", "names another card", "write the fields themselves"))
    if faults or card is None:
        raise Faulty(file, in_order(faults, raw))
    return card


def read_card(path: Path) -> Card:
    """Read a card from its file.

    Args:
        path: The file.

    Returns:
        The card.

    Raises:
        Faulty: With every fault found in it.
    """
    return parse_card(read_toml(path), str(path))
