"""The command line: words to commands, each imported only when it runs."""

import argparse
import importlib
import sys
from collections.abc import Callable, Sequence
from typing import Any

from heelwise import __version__
from heelwise.commands.reporting import DONE, FOLDER, guarded, say

Argument = tuple[tuple[str, ...], dict[str, Any]]


def arg(*names: str, **how: Any) -> Argument:
    """An argument, as `argparse` takes it."""
    return names, how


def degrees(most: float) -> Callable[[str], float]:
    """A reader of degrees from 0 to `most`."""

    def read(text: str) -> float:
        if not 0 <= (value := float(text)) <= most:
            raise argparse.ArgumentTypeError(f"{text}: give degrees from 0 to {most:g}")
        return value

    return read


DEG, ON = {"metavar": "DEG"}, {"action": "store_true"}
SHEETS = ("text", "markdown", "html", "csv", "json")
TABLES = ("text", "markdown", "csv")

COMMANDS: dict[str, tuple[str, str, *tuple[Argument, ...]]] = {
    "positions": (
        "crank",
        "where to park the crank, and which valves to set there",
        arg("setup", help="a setup file; [engine] and [cam] are enough"),
        arg(
            "--margin",
            type=degrees(359.9),
            default=10.0,
            help="least margin from a lobe (default: 10)",
            **DEG,
        ),
        arg("--marks", type=float, help="only on the damper's marks, DEG apart", **DEG),
        arg(
            "--pistons-down",
            type=degrees(180),
            default=0.0,
            help="keep pistons at least DEG from TDC",
            **DEG,
        ),
        arg("--each", help="one cylinder at a time, at its own TDC", **ON),
        arg("--as", dest="form", choices=["svg"], help="draw the cam cycle with the positions"),
    ),
    "where": (
        "crank",
        "where the crank is, from lifters felt up or down",
        arg("setup", help="a setup file; [engine] and [cam] are enough"),
        arg("--up", default="", metavar="VALVES", help="felt up on the lobe: 1I,5E"),
        arg("--down", default="", metavar="VALVES", help="felt down on the heel: 3E"),
    ),
    "pushrods": (
        "pushrods",
        "verdicts, lengths to try and lengths to buy, from readings",
        arg("file", help="a record, or a setup with [[reading]] tables"),
        arg("--by-kind", help="one length for all intakes, one for all exhausts", **ON),
    ),
    "torque": (
        "torque",
        "a torque setting in all units, with an adapter if there is one",
        arg("setting", nargs="*", help="the torque wanted at the bolt: 30 lbf ft, 40 N·m"),
        arg("--setup", metavar="FILE", help="take it and the wrench from a setup or record"),
        arg("--wrench-length", metavar="L", help="grip to square drive"),
        arg("--adapter", metavar="E", help="square drive to bolt; -2 in if it points back"),
    ),
    "sheet": (
        "records",
        "a record laid out for reading and printing",
        arg("record", help="a record, in progress or signed off (read only)"),
        arg("--as", dest="form", choices=SHEETS, default="text", help="form (default: text)"),
    ),
    "check": (
        "records",
        "what is wrong with a setup, a procedure, an engine card or a record",
        arg("file", nargs="+", help="files to check"),
    ),
    "compare": (
        "records",
        "records of one engine, or of several, valve by valve",
        arg("record", nargs="+", help="records; each is held against the one before it"),
        arg("--as", dest="form", choices=TABLES, default="text", help="form (default: text)"),
    ),
    "like": (
        "records",
        "a setup for another engine like the one of a record",
        arg("record", help="a record, in progress or signed off (read only)"),
        arg("new", metavar="NEW.toml", help="the setup to write; it replaces no file"),
    ),
    "past": (
        "past",
        "the builds of a folder: lengths fitted, travel measured, who, when",
        arg("words", nargs="*", metavar="WORD", help="a folder; words each row must hold"),
        arg("--as", dest="form", choices=TABLES, default="text", help="form (default: text)"),
    ),
    "rehearse": (
        "builds",
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
"""Every command: its module in this package, which has a function of its name; what it's for."""

VERSION = f"heelwise {__version__}"
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

    0 done, 1 faults or nothing there, 2 usage, 70 a fault of the program.
    """
    words = list(sys.argv[1:] if argv is None else argv)
    return guarded(lambda: _run(words))


def _run(words: list[str]) -> int:
    if words == ["--version"]:  # as the parser says it, whose making takes as long as its import
        say(VERSION)
        return DONE
    name = words[0] if words and words[0] in COMMANDS else ""
    try:
        given = _parser(name).parse_args(words[1:] if name else words)
    except SystemExit as ended:  # it printed help, the version or what is wrong with the words
        return ended.code if isinstance(ended.code, int) else DONE
    module = importlib.import_module(f"heelwise.commands.{COMMANDS[name][0] if name else 'builds'}")
    code: int = getattr(module, name or "bench")(given)
    return code


def _parser(name: str) -> argparse.ArgumentParser:
    if name:
        _, summary, *arguments = COMMANDS[name]
        parser = argparse.ArgumentParser(f"heelwise {name}", description=summary.capitalize())
    else:
        arguments = [*HERE]
        commands = (f"  {key:<12}{summary}" for key, (_, summary, *_) in COMMANDS.items())
        parser = argparse.ArgumentParser(
            "heelwise",
            description="Set every lifter where it belongs, and prove it.",
            epilog="\n".join((EPILOG, *commands)),
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )
        parser.add_argument("--version", action="version", version=VERSION)
    for names, how in (*arguments, ALL):
        parser.add_argument(*names, **how)
    return parser
