"""`heelwise check`: what is wrong with setups, procedures, engine cards and records."""

from __future__ import annotations

import argparse
from pathlib import Path

from heelwise.commands.reporting import DONE, FAULTS, complain, faults_json, say, say_json
from heelwise.documents.cards import read_card
from heelwise.documents.faults import Fault, Faulty
from heelwise.documents.kinds import Kind, kind_of
from heelwise.documents.procedure import load_procedure
from heelwise.documents.record_reading import record_faults
from heelwise.documents.setup import load_setup


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Give the command its arguments."""
    parser.add_argument("file", nargs="+", help="files to check")
    parser.add_argument("--json", action="store_true")


def run(given: argparse.Namespace) -> int:
    """Check every file; 0 if none has a fault."""
    found = {name: faults_in(Path(name)) for name in given.file}
    if given.json:
        say_json([faults_json(name, faults) for name, faults in found.items()])
    else:
        for name, faults in found.items():
            complain(Faulty(name, faults).lines())
            if not faults:
                say(f"{name}: {kind_of(Path(name))}, no fault")
    return FAULTS if any(found.values()) else DONE


def faults_in(path: Path) -> list[Fault]:
    """Every fault of one file, whatever kind of document it is."""
    try:
        kind = kind_of(path)
        if kind is Kind.RECORD:
            return record_faults(path)
        if kind is Kind.PROCEDURE:
            load_procedure(path)
        elif kind is Kind.CARD:
            read_card(path)
        else:
            load_setup(path)
    except Faulty as faulty:
        return list(faulty.faults)
    return []
