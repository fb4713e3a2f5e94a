"""The command line: words to commands, each imported only when it runs; the bench and builds."""

from __future__ import annotations

import argparse
import gc
import importlib
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from heelwise import __version__
from heelwise.commands.reporting import DONE, Usage, complain, guarded, on_a_terminal

FOLDER = "HEELWISE_FOLDER"
"""Environment variable naming the folder of builds."""

Argument = tuple[tuple[str, ...], dict[str, Any]]


def arg(*names: str, **how: Any) -> Argument:
    """An argument, as `argparse` takes it."""
    return names, how


Command = tuple[str, tuple[Argument, ...]]


def command(summary: str, *arguments: Argument) -> Command:
    """What a command is for, and its arguments."""
    return summary, arguments


DEG = {"type": float, "metavar": "DEG"}
ON = {"action": "store_true"}
SHEETS = ("text", "markdown", "html", "csv", "json")
TABLES = ("text", "markdown", "csv")

COMMANDS: dict[str, Command] = {
    "positions": command(
        "where to park the crank, and which valves to set there",
        arg("setup", help="a setup file; [engine] and [cam] are enough"),
        arg("--margin", default=10.0, help="least margin from a lobe (default: 10)", **DEG),
        arg("--marks", help="only on the damper's marks, DEG apart", **DEG),
        arg("--pistons-down", default=0.0, help="keep pistons at least DEG from TDC", **DEG),
        arg("--each", help="one cylinder at a time, at its own TDC", **ON),
        arg("--as", dest="form", choices=["svg"], help="draw the cam cycle with the positions"),
    ),
    "where": command(
        "where the crank is, from lifters felt up or down",
        arg("setup", help="a setup file; [engine] and [cam] are enough"),
        arg("--up", default="", metavar="VALVES", help="felt up on the lobe: 1I,5E"),
        arg("--down", default="", metavar="VALVES", help="felt down on the heel: 3E"),
    ),
    "pushrods": command(
        "verdicts, lengths to try and lengths to buy, from readings",
        arg("file", help="a record, or a setup with [[reading]] tables"),
        arg("--by-kind", help="one length for all intakes, one for all exhausts", **ON),
    ),
    "torque": command(
        "a torque setting in all units, with an adapter if there is one",
        arg("setting", nargs="*", help="the torque wanted at the bolt: 30 lbf ft, 40 N·m"),
        arg("--setup", metavar="FILE", help="take it and the wrench from a setup or record"),
        arg("--wrench-length", metavar="L", help="grip to square drive"),
        arg("--adapter", metavar="E", help="square drive to bolt; -2 in if it points back"),
    ),
    "sheet": command(
        "a record laid out for reading and printing",
        arg("record", help="a record, in progress or signed off (read only)"),
        arg("--as", dest="form", choices=SHEETS, default="text", help="form (default: text)"),
    ),
    "check": command(
        "what is wrong with a setup, a procedure, an engine card or a record",
        arg("file", nargs="+", help="files to check"),
    ),
    "compare": command(
        "records of one engine, or of several, valve by valve",
        arg("record", nargs="+", help="records; each is held against the one before it"),
        arg("--as", dest="form", choices=TABLES, default="text", help="form (default: text)"),
    ),
    "like": command(
        "a setup for another engine like the one of a record",
        arg("record", help="a record, in progress or signed off (read only)"),
        arg("new", metavar="NEW.toml", help="the setup to write; it replaces no file"),
    ),
    "past": command(
        "the builds of a folder: lengths fitted, travel measured, who, when",
        arg("words", nargs="*", metavar="WORD", help="a folder; words each row must hold"),
        arg("--as", dest="form", choices=TABLES, default="text", help="form (default: text)"),
    ),
    "rehearse": command(
        "the whole job against a virtual engine with planted faults",
        arg("--engine", metavar="CARD", help="an engine card (default: i6-153624)"),
        arg("--procedure", metavar="NAME", help="a procedure (default: bolt-down-rockers)"),
        arg("--folder", default=".", metavar="DIR", help="where its record goes"),
        arg("--hands-off", help="let the engine answer by itself, and print the sheet", **ON),
        arg("--tell", help="print `kept N` once entry N is on the disk", **ON),
        arg("--seed", default="1", metavar="N", help="which engine, which faults (default: 1)"),
        arg("--plain", help="line by line", **ON),
    ),
}
"""Every command: what it is for and its arguments; its module in this package has a `run`."""

ALL = arg("--json", help="print JSON, for programs", **ON)

HERE = (
    arg("file", nargs="?", help="a record to open, or a setup to start from"),
    arg("--folder", metavar="DIR", help=f"folder of the builds (default: ${FOLDER}, then here)"),
    arg("--recheck", help="look at a finished record again, as a build of its own", **ON),
    arg("--plain", help="the same walk line by line", **ON),
    arg("--by", metavar="INITIALS", help="initials of the person at the engine"),
)

EPILOG = """\
heelwise            opens the bench: the builds in a folder
heelwise FILE       opens a record, or starts one from a setup file

commands:"""


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line: the process's own words by default.

    0 done, 1 faults or nothing there, 2 usage, 70 a fault of the program, 130 stopped.
    """
    words = list(sys.argv[1:] if argv is None else argv)
    return guarded(lambda: _run(words))


def _run(words: list[str]) -> int:
    name = words[0] if words and words[0] in COMMANDS else ""
    try:
        given = _parser(name).parse_args(words[1:] if name else words)
    except SystemExit as ended:  # it printed help, the version or what is wrong with the words
        return ended.code if isinstance(ended.code, int) else DONE
    if not name:
        return _open(given)
    code: int = importlib.import_module(f"heelwise.commands.{name}").run(given)
    return code


def _parser(name: str) -> argparse.ArgumentParser:
    if name:
        summary, arguments = COMMANDS[name]
        parser = argparse.ArgumentParser(f"heelwise {name}", description=summary.capitalize())
    else:
        arguments, listed = HERE, (f"  {key:<12}{told}" for key, (told, _) in COMMANDS.items())
        parser = argparse.ArgumentParser(
            "heelwise",
            description="Set every lifter where it belongs, and prove it.",
            epilog="\n".join((EPILOG, *listed)),
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )
        parser.add_argument("--version", action="version", version=f"heelwise {__version__}")
    for names, how in (*arguments, ALL):
        parser.add_argument(*names, **how)
    return parser


# ------------------------------------------------------------------ the bench, and one build


def _open(given: argparse.Namespace) -> int:
    """Open what was named, full screen or line by line."""
    from heelwise.storage.names import initials, resolved

    file = Path(given.file) if given.file else None
    by = initials(given.by) if given.by is not None else ""
    named = given.folder or os.environ.get(FOLDER)
    folder = Path(named) if named else file.parent if file else Path()
    if not os.path.isdir(folder):
        from heelwise.documents.faults import Fault, Faulty

        fault = Fault("folder", "is not there", "make it first, or name one that exists")
        raise Faulty(str(folder), [fault])
    is_record = file is not None and _is_record(file, given.file)
    if given.json and not given.plain:
        raise Usage("--json goes with --plain: the walk as JSON lines")
    if given.recheck and not is_record:
        raise Usage("--recheck needs a FILE: the finished record to look at again")
    if given.plain:
        if file is None:
            raise Usage("--plain needs a FILE: a record to open, or a setup to start from")
        return _in_lines(file, is_record, resolved(folder), by, given)
    if not on_a_terminal():
        raise Usage("the full screen needs a terminal; with --plain the walk goes line by line")
    gc.disable()  # nothing of what is imported becomes garbage; the app collects once it is painted
    from heelwise.screens.app import run_app

    return run_app(resolved(folder), file=file, by=by, again=given.recheck)


def _is_record(file: Path, named: str) -> bool:
    from heelwise.documents.faults import Fault, Faulty
    from heelwise.documents.files import FileKind, kind_of  # the bench reads nothing yet

    kind = kind_of(file)
    if kind in (FileKind.PROCEDURE, FileKind.CARD, FileKind.STEPS):
        fault = Fault("file", f"{kind}, not a build", "a record to open, or a setup to start from")
        raise Faulty(named, [fault])
    return kind is FileKind.RECORD


def _in_lines(file: Path, is_record: bool, folder: Path, by: str, given: argparse.Namespace) -> int:
    from heelwise.commands import json_walk, plain_walk
    from heelwise.documents.files import own_folder_fault
    from heelwise.session import open_session

    own = own_folder_fault()
    if own is not None:
        complain([f"{own.where}: {own.problem}; {own.instead}"])
    if is_record and not given.recheck:
        walk = json_walk.walk_in_json if given.json else plain_walk.walk_in_lines
        return walk(open_session(file, by))
    begin = json_walk.begin_in_json if given.json else plain_walk.begin_in_lines
    return begin(file, folder, by, given.recheck)
