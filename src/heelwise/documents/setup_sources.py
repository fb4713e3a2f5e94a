"""Other setups of a folder that the form can be filled from: a lifter's figures, or the whole."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from pydantic import ValidationError

from heelwise.documents.faults import Faulty
from heelwise.documents.quantities import show_turns, turns
from heelwise.documents.setup_form import form_values
from heelwise.documents.setup_lifters import LifterTable
from heelwise.documents.toml import FileKind, kind_of, read_toml

MOST_FILES = 200
"""Files looked at, so that a folder of thousands doesn't keep anyone waiting."""


@dataclass(frozen=True)
class Source:
    """A setup file to take from.

    `summary`: what there is to take, in a few words. `typed`: what goes into the fields.
    `left`: the keys that have no field.
    """

    path: Path
    summary: str
    typed: Mapping[str, str]
    left: tuple[str, ...]


def lifters_in(paths: Iterable[Path]) -> list[Source]:
    """The setups whose [lifter] can be read, each with the lifter's fields alone."""
    sources = []
    for path, document in _setups(paths):
        try:
            lifter = LifterTable.model_validate(document.get("lifter"))
        except ValidationError:
            continue
        typed, left = form_values({"lifter": document["lifter"]})
        sources.append(Source(path, _lifter_in_words(lifter), typed, tuple(left)))
    return sources


def setups_in(paths: Iterable[Path]) -> list[Source]:
    """The setups to begin another from; what is wrong in one is told once it is taken."""
    sources = []
    for path, document in _setups(paths):
        typed, left = form_values(document)
        if typed:
            words = (
                f"{typed.get('engine.card', 'no card')}, {typed.get('rocker.mount', 'no mount')}"
            )
            sources.append(Source(path, words, typed, tuple(left)))
    return sources


def _setups(paths: Iterable[Path]) -> Iterator[tuple[Path, dict[str, object]]]:
    for _, path in zip(range(MOST_FILES), paths, strict=False):
        try:
            if kind_of(path) is FileKind.SETUP:
                yield path, read_toml(path)
        except Faulty:
            continue


def _lifter_in_words(lifter: LifterTable) -> str:
    if lifter.least_turns is not None and lifter.most_turns is not None:
        least, most = (show_turns(turns(t)) for t in (lifter.least_turns, lifter.most_turns))
        return f"{lifter.kind}, {least} to {most} turns"
    if lifter.least_preload is not None:
        return f"{lifter.kind}, {lifter.least_preload} to {lifter.most_preload}"
    return lifter.kind
