"""`heelwise check`: what is wrong with setups, procedures, engine cards and records."""

from __future__ import annotations

import argparse
from datetime import date
from pathlib import Path

from heelwise.commands.reporting import DONE, FAULTS, complain, faults_json, say, say_json
from heelwise.documents import oddities
from heelwise.documents.faults import Fault, Faulty
from heelwise.documents.library import read_card
from heelwise.documents.procedure import check_steps, load_procedure
from heelwise.documents.record import read_record, record_faults, record_notes
from heelwise.documents.setup import load_setup
from heelwise.documents.toml import FileKind, kind_of


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Give the command its arguments."""
    parser.add_argument("file", nargs="+", help="files to check")
    parser.add_argument("--json", action="store_true")


def run(given: argparse.Namespace) -> int:
    """Check every file; 0 if none has a fault."""
    faults = {name: faults_in(Path(name)) for name in given.file}
    notes = {name: [] if faults[name] else notes_of(Path(name)) for name in given.file}
    if given.json:
        say_json([faults_json(name, faults[name], notes[name]) for name in faults])
    else:
        for name in faults:
            complain(Faulty(name, faults[name]).lines())
            if not faults[name]:
                say(f"{name}: {kind_of(Path(name))}, no fault")
            for note in notes[name]:
                say(f"{name}: note: {note}")
    return FAULTS if any(faults.values()) else DONE


def faults_in(path: Path) -> list[Fault]:
    """Every fault of one file, whatever kind of document it is."""
    try:
        kind = kind_of(path)
        if kind is FileKind.RECORD:
            from heelwise.walk.replay import replay_faults  # only a record is replayed

            return record_faults(path) or replay_faults(read_record(path))
        if kind is FileKind.PROCEDURE:
            load_procedure(path)
        elif kind is FileKind.STEPS:
            check_steps(path)
        elif kind is FileKind.CARD:
            read_card(path)
        else:
            load_setup(path)
    except Faulty as faulty:
        return list(faulty.faults)
    return []


def notes_of(path: Path) -> list[Fault]:
    """What should be looked at again in a file without faults."""
    kind = kind_of(path)
    if kind is FileKind.RECORD:
        record = read_record(path)
        return [*oddities.notes(record.head.setup), *record_notes(record)]
    if kind is FileKind.SETUP:
        return oddities.notes(load_setup(path), date.today())
    return load_procedure(path).notes() if kind is FileKind.PROCEDURE else []
