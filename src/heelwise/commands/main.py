"""The command line: words to commands, each command imported only when it runs."""

from __future__ import annotations

import argparse
import importlib
import sys
from collections.abc import Sequence

from heelwise import __version__
from heelwise.commands.reporting import DONE, guarded

COMMANDS = {
    "positions": "where to park the crank, and which valves to set there",
    "where": "where the crank is, from lifters felt up or down",
    "pushrods": "verdicts, lengths to try and lengths to buy, from readings",
    "torque": "a torque setting in both units, with an adapter if there is one",
    "sheet": "a record laid out for reading and printing",
    "check": "what is wrong with a setup, a procedure, an engine card or a record",
    "past": "the builds of a folder: lengths fitted, travel measured, who, when",
    "rehearse": "the whole job against a virtual engine with planted faults",
}
"""Every command: its module in this package has the same name, with `add_arguments` and `run`."""

EPILOG = """\
heelwise            opens the bench: the builds in a folder
heelwise FILE       opens a record, or starts one from a setup file
"""


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line: the process's own words by default.

    Returns:
        0 done, 1 faults or nothing there, 2 usage, 70 a fault of the program, 130 stopped.
    """
    words = list(sys.argv[1:] if argv is None else argv)
    return guarded(lambda: _run(words))


def _run(words: list[str]) -> int:
    command = words[0] if words and words[0] in COMMANDS else None
    try:
        given = _parser(command).parse_args(words[1:] if command else words)
    except SystemExit as ended:  # it printed help, the version or what is wrong with the words
        return ended.code if isinstance(ended.code, int) else DONE
    module = importlib.import_module(f"heelwise.commands.{command or 'open_build'}")
    code: int = module.run(given)
    return code


def _parser(command: str | None) -> argparse.ArgumentParser:
    if command is not None:
        parser = argparse.ArgumentParser(f"heelwise {command}", description=COMMANDS[command])
        importlib.import_module(f"heelwise.commands.{command}").add_arguments(parser)
        return parser
    listed = "".join(f"  {name:<12}{told}\n" for name, told in COMMANDS.items())
    parser = argparse.ArgumentParser(
        "heelwise",
        description="Put every lifter where it belongs, and prove it.",
        epilog=f"{EPILOG}\ncommands:\n{listed}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("file", nargs="?", help="a record to open, or a setup to start from")
    parser.add_argument("--folder", help="where the builds are (else HEELWISE_FOLDER, or here)")
    parser.add_argument("--plain", action="store_true", help="the same walk line by line")
    parser.add_argument("--json", action="store_true", help="with --plain: as JSON lines")
    parser.add_argument("--by", help="initials of the person at the engine")
    parser.add_argument("--version", action="version", version=f"heelwise {__version__}")
    return parser
