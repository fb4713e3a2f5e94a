"""`heelwise check`, `sheet`, `compare` and `like`: none changes the files it reads."""

import argparse
import sys
from dataclasses import asdict
from datetime import date
from pathlib import Path

from heelwise.commands.reporting import DONE, FAULTS, Usage, complain, say, say_json
from heelwise.documents import oddities
from heelwise.documents.faults import Fault, Faulty
from heelwise.documents.files import FileKind, kind_of
from heelwise.documents.library import read_card
from heelwise.documents.procedure import check_steps, load_procedure
from heelwise.documents.record import check_entries, read_record, record_faults, record_notes
from heelwise.documents.setup import load_setup


def check(given: argparse.Namespace) -> int:
    """Check every file; 0 if none has a fault."""
    checked = {name: check_file(Path(name)) for name in given.file}
    if given.json:
        say_json(
            [
                {"file": name, "faults": [*map(asdict, faults)], "notes": [*map(asdict, notes)]}
                for name, (faults, notes) in checked.items()
            ]
        )
    for name, (faults, notes) in checked.items() if not given.json else ():
        complain(Faulty(name, faults).lines())
        if not faults:
            say(f"{name}: {kind_of(Path(name))}, no faults")
        for note in notes:
            say(f"{name}: note: {note}")
    return FAULTS if any(faults for faults, _ in checked.values()) else DONE


def check_file(path: Path) -> tuple[list[Fault], list[Fault]]:
    """Every fault of one file, whatever kind of document it is; else what to look at again."""
    try:
        kind = kind_of(path)
        if kind is FileKind.RECORD:
            from heelwise.walk.replay import replay_faults  # only a record is replayed

            record = read_record(path)
            if faults := record_faults(record) or replay_faults(record):
                return faults, []
            return [], [*oddities.notes(record.head.setup), *record_notes(record)]
        if kind is FileKind.PROCEDURE:
            return [], load_procedure(path).notes()
        if kind is FileKind.SETUP:
            return [], oddities.notes(load_setup(path), date.today())
        if kind is FileKind.STEPS:
            check_steps(path)
        else:
            read_card(path)
    except Faulty as faulty:
        return list(faulty.faults), []
    return [], []


def sheet(given: argparse.Namespace) -> int:
    """Lay a record out and print it."""
    from heelwise.sheet.forms import sheet as laid_out

    record = read_record(Path(given.record))
    sys.stdout.write(laid_out(record, "json" if given.json else given.form))
    sys.stdout.flush()
    if record.torn:
        complain([f"{given.record}: the end is torn; shown up to its last sealed entry"])
    return DONE


def compare(given: argparse.Namespace) -> int:
    """Compare records that can be read; 1 where one can't be, or fewer than two can."""
    from heelwise.sheet.compare import comparison, comparison_json
    from heelwise.sheet.forms import sections_as
    from heelwise.sheet.setup_words import unit_of

    records = []
    for name in given.record:
        try:
            record = read_record(Path(name))
            check_entries(record)
            records.append(record)
        except Faulty as faulty:
            complain(faulty.lines()[:1])
    if len(records) < 2:
        complain(["heelwise: two records or more are compared"])
        return FAULTS
    if given.json:
        say_json(comparison_json(records))
    else:
        say(sections_as(comparison(records), given.form, unit_of(records[-1].head.setup)))
    return DONE if len(records) == len(given.record) else FAULTS


def like(given: argparse.Namespace) -> int:
    """Write a setup for another engine like a record's."""
    from heelwise.documents.setup_form import document_text
    from heelwise.shop.begin import setup_like
    from heelwise.storage.whole_files import write_whole

    new = Path(given.new)
    if new.suffix != ".toml":
        raise Usage(f"{given.new}: a setup's name ends in .toml")
    document = setup_like(read_record(Path(given.record)))
    write_whole(new, document_text(document).encode())
    known = {**document["before"], **document.get("pushrods", {})}
    if given.json:
        keys = ("record", "last_seal", "intake", "exhaust")
        say_json({"file": str(new), **{key: known.get(key) for key in keys}})
        return DONE
    tried = ", trial pushrods {intake} and {exhaust}".format_map(known) if "intake" in known else ""
    say(f"{new}: a setup like {known['record']}{tried}. Change what differs.")
    return DONE
