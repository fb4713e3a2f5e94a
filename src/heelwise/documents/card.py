"""An engine card: a layout by its cylinders and firing order, and where that comes from."""

from __future__ import annotations

from collections.abc import Mapping

from pydantic import ValidationError

from heelwise.documents.faults import Fault, Faulty
from heelwise.documents.model_faults import faults_of
from heelwise.documents.setup import format_faults, parse_setup
from heelwise.documents.typed_fields import Paragraph, Table


class CardTable(Table):
    """[card]: the layout in words, how its cylinders are numbered, and the source of both."""

    title: Paragraph
    numbering: Paragraph
    source: Paragraph
    valve_rows: Paragraph | None = None


def card_faults(raw: Mapping[str, object], file: str) -> list[Fault]:
    """Find everything wrong with an engine card.

    Args:
        raw: The document as TOML gives it.
        file: Its name, for the faults.

    Returns:
        Its faults; a card is right when a setup made of its [engine] alone is.
    """
    faults = format_faults(raw)
    for key in raw:
        if key not in ("format", "card", "engine"):
            faults.append(Fault(key, "has no place on a card", "[card] and [engine]"))
    try:
        CardTable.model_validate(raw.get("card"))
    except ValidationError as error:
        faults += faults_of(error, "card", model=CardTable)
    try:
        parse_setup({"format": 1, "engine": raw.get("engine")}, file)
    except Faulty as faulty:
        faults += faulty.faults
    return faults
