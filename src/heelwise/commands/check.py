"""`heelwise check`: what is wrong with setups, procedures, engine cards and records."""

from __future__ import annotations

import argparse
from dataclasses import asdict
from datetime import date
from pathlib import Path

from heelwise.commands.reporting import DONE, FAULTS, complain, say, say_json
from heelwise.documents import oddities
from heelwise.documents.faults import Fault, Faulty
from heelwise.documents.files import FileKind, kind_of, read_toml
from heelwise.documents.library import read_card
from heelwise.documents.procedure import check_steps, load_procedure
from heelwise.documents.record import read_record, record_faults, record_notes
from heelwise.documents.setup import load_setup


def run(given: argparse.Namespace) -> int:
    """Check every file; 0 if none has a fault."""
    checked = {name: check_file(Path(name)) for name in given.file}
    if given.json:
        parts = ("faults", "notes")
        files = [
            {"file": name, **{p: [*map(asdict, f)] for p, f in zip(parts, both, strict=True)}}
            for name, both in checked.items()
        ]
        say_json(files)
    for name, (faults, notes) in checked.items() if not given.json else ():
        complain(Faulty(name, faults).lines())
        if not faults:
            say(f"{name}: {kind_of(Path(name))}, no fault")
        for note in notes:
            say(f"{name}: note: {note}")
    return FAULTS if any(faults for faults, _ in checked.values()) else DONE


def check_file(path: Path) -> tuple[list[Fault], list[Fault]]:
    """Every fault of one file, whatever kind of document it is; else what to look at again."""
    try:
        kind = kind_of(path)
        if kind is FileKind.RECORD:
            from heelwise.walk.replay import replay_faults  # only a record is replayed

            faults = record_faults(path) or replay_faults(record := read_record(path))
            if faults:
                return faults, []
            return [], [*oddities.notes(record.head.setup), *record_notes(record)]
        if kind is FileKind.PROCEDURE:
            return [], load_procedure(path).notes()
        if kind is FileKind.SETUP:
            notes = oddities.notes(load_setup(path), date.today())
            return [], [*oddities.cut_record(read_toml(path)), *notes]
        if kind is FileKind.STEPS:
            check_steps(path)
        else:
            read_card(path)
    except Faulty as faulty:
        return list(faulty.faults), []
    return [], []
