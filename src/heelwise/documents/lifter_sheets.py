"""Setups of a folder that can be taken from: a lifter's figures, or the whole as a start."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from pydantic import ValidationError

from heelwise.documents.faults import Faulty
from heelwise.documents.kinds import Kind, kind_of
from heelwise.documents.quantities import show_turns, turns
from heelwise.documents.setup_checks import setup_faults
from heelwise.documents.setup_tables import LifterTable
from heelwise.documents.setup_writing import typed_of
from heelwise.documents.toml_reading import read_toml

MOST = 200
"""Files looked at, so that a folder of thousands is no wait."""


@dataclass(frozen=True)
class Source:
    """A setup file to take from.

    Attributes:
        path: The file.
        said: What there is to take, in a few words.
        typed: What goes into the fields.
        left: The keys that have no field.
    """

    path: Path
    said: str
    typed: Mapping[str, str]
    left: tuple[str, ...]


def lifters_in(paths: Iterable[Path]) -> list[Source]:
    """Find the setups whose [lifter] can be read.

    Args:
        paths: Files, the first 200 of which are looked at.

    Returns:
        One of each, with the lifter's fields alone.
    """
    found = []
    for path, document in _setups(paths):
        lifter = _lifter(document)
        if lifter is not None:
            typed, left = typed_of({"lifter": document["lifter"]})
            found.append(Source(path, _said(lifter), typed, tuple(left)))
    return found


def setups_in(paths: Iterable[Path]) -> list[Source]:
    """Find the setups to begin another from; what is wrong in one is told once it is taken.

    Args:
        paths: Files, the first 200 of which are looked at.

    Returns:
        One of each, with all its fields.
    """
    found = []
    for path, document in _setups(paths):
        typed, left = typed_of(document)
        if typed:
            said = f"{typed.get('engine.card', 'no card')}, {typed.get('rocker.mount', 'no mount')}"
            found.append(Source(path, said, typed, tuple(left)))
    return found


def _setups(paths: Iterable[Path]) -> Iterable[tuple[Path, dict[str, object]]]:
    for _, path in zip(range(MOST), paths, strict=False):
        try:
            if kind_of(path) is Kind.SETUP:
                yield path, read_toml(path)
        except Faulty:
            continue


def _lifter(document: Mapping[str, object]) -> LifterTable | None:
    try:
        lifter = LifterTable.model_validate(document.get("lifter"))
    except ValidationError:
        return None
    wrong = setup_faults({"lifter": document.get("lifter")})
    return None if wrong else lifter


def _said(lifter: LifterTable) -> str:
    if lifter.least_turns is not None and lifter.most_turns is not None:
        least, most = (show_turns(turns(t)) for t in (lifter.least_turns, lifter.most_turns))
        return f"{lifter.kind}, {least} to {most} turns"
    if lifter.least_preload is not None:
        return f"{lifter.kind}, {lifter.least_preload} to {lifter.most_preload}"
    return lifter.kind
