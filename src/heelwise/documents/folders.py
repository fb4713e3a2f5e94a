"""Where procedures, their shared steps and engine cards lie. Loads no model: the bench asks too."""

from __future__ import annotations

import os
from importlib.resources import files
from pathlib import Path

from heelwise.documents.faults import Fault
from heelwise.plain_text import one_line
from heelwise.storage.errors import system_words

OWN_FOLDER = "HEELWISE_PROCEDURES"
"""Environment variable naming a folder of the shop's own procedures, cards in its engines/."""


def folders() -> tuple[Path, ...]:
    """The folders of procedures that exist, the shop's own first; cards are in their engines/."""
    packaged = Path(str(files("heelwise"))) / "procedures"
    if not os.path.isdir(packaged):  # an editable install or a checkout: they stay in the project
        packaged = Path(__file__).resolve().parents[3] / "procedures"
    own = os.environ.get(OWN_FOLDER)
    named = [Path(own)] if own else []
    return tuple(folder for folder in (*named, packaged) if _unreadable(folder) is None)


def own_folder_fault() -> Fault | None:
    """Why nothing of the shop's own folder of procedures is used, though one is named."""
    own = os.environ.get(OWN_FOLDER)
    why = _unreadable(Path(own)) if own else None
    if own is None or why is None:
        return None
    problem = f"{one_line(own)} can't be read, so no procedure of it is used: {why}"
    return Fault(OWN_FOLDER, problem, "name a folder that can be read")


def _unreadable(folder: Path) -> str | None:
    """Why a folder's files can't be listed and read, in words; None where they can."""
    try:
        os.listdir(folder)
        os.stat(folder / ".")
    except ValueError:
        return "no folder has that name"
    except OSError as error:
        return system_words(error)[0]
    return None
