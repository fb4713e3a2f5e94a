"""Where procedures and engine cards are found: the packaged folder and the shop's own."""

import os
import re
from importlib.resources import files
from pathlib import Path

from heelwise.documents.faults import Fault, Faulty, quoted
from heelwise.documents.model_faults import did_you_mean
from heelwise.documents.toml_reading import read_toml

OWN_FOLDER = "HEELWISE_PROCEDURES"
"""Environment variable naming a folder of the shop's own procedures, cards in its engines/."""

_NAME = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,62}[a-z0-9])?")


def folders() -> tuple[Path, ...]:
    """List the folders that exist, the shop's own first.

    Returns:
        Folders of procedures; each may have a folder engines of cards.
    """
    packaged = Path(str(files("heelwise"))) / "procedures"
    if not packaged.is_dir():  # an editable install or a checkout: they stay in the project
        packaged = Path(__file__).resolve().parents[3] / "procedures"
    own = os.environ.get(OWN_FOLDER)
    named = [Path(own)] if own else []
    return tuple(folder for folder in (*named, packaged) if folder.is_dir())


def find_procedures() -> dict[str, Path]:
    """Find every procedure's file.

    Returns:
        Files by name (without .toml), in alphabetical order; of two by one name, the shop's own.
    """
    return _found("")


def find_cards() -> dict[str, Path]:
    """Find every engine card's file.

    Returns:
        Files by name (without .toml), in alphabetical order; of two by one name, the shop's own.
    """
    return _found("engines")


def _found(inside: str) -> dict[str, Path]:
    found: dict[str, Path] = {}
    for folder in reversed(folders()):
        for path in (folder / inside).glob("*.toml"):
            if _NAME.fullmatch(path.stem) and path.is_file():
                found[path.stem] = path
    return dict(sorted(found.items()))


def load_card(name: str) -> dict[str, object]:
    """Read the fields of an engine card.

    Args:
        name: Its name: "v8-15426378".

    Returns:
        The card's [engine] table: the fields of a setup's [engine], not yet checked.

    Raises:
        Faulty: If there is no such card, or its file can't be read.
    """
    cards = find_cards()
    if name not in cards:
        problem = f"there is no card {quoted(name)}"
        instead = did_you_mean(name, cards, "there are") if cards else "give firing_order instead"
        raise Faulty("engines", [Fault("card", problem, instead)])
    document = read_toml(cards[name])
    engine = document.get("engine")
    if not isinstance(engine, dict) or "card" in engine:
        instead = "write its fields under [engine]"
        raise Faulty(str(cards[name]), [Fault("engine", "has no fields", instead)])
    return engine
