"""What is written and shown when the program itself breaks: never a traceback on the screen."""

import os
import sys
from datetime import datetime
from pathlib import Path

from heelwise import __version__
from heelwise.storage.errors import StorageError

CODE = 70
"""What the program ends with after a crash (EX_SOFTWARE of sysexits.h)."""

_opened: list[Path] = []


def work_on(record: Path) -> None:
    """Remember the record opened last, for a report."""
    _opened[:] = [record]


def crash_lines(error: BaseException) -> list[str]:
    """Write a report with the traceback, beside the record or elsewhere; give what to show."""
    from heelwise.storage.whole_files import write_somewhere  # once there is a crash

    record = _opened[0] if _opened else None
    lines = [f"Heelwise has a fault and stopped ({type(error).__name__})."]
    lines += [_soundness(record)] if record else []
    name = f"{record.name if record else 'heelwise'}.crash-{datetime.now():%Y%m%d-%H%M%S}.txt"
    text = _report(error, lines).encode("utf-8", "backslashreplace")
    try:
        where = write_somewhere(record.parent if record else None, name, text)
        lines.append(f"What happened is written in {where}: send that to whoever keeps Heelwise.")
    except StorageError as failed:
        lines.append(f"No report could be written: {failed}")
    return lines


def _soundness(record: Path) -> str:
    from heelwise.storage.journal import read
    from heelwise.storage.seals import State

    try:
        _, result = read(record)
    except StorageError as failed:
        return f"The record can't be read now: {failed}"
    sound = f"The record is sound up to entry {len(result.blocks)}: {record}"
    if result.state is State.DAMAGED and result.fault is not None:
        return f"{sound}; entry {result.fault.entry}: {result.fault.problem}"
    return sound


def _report(error: BaseException, lines: list[str]) -> str:
    import platform
    import traceback

    about = f"heelwise {__version__}, Python {platform.python_version()}, {platform.platform()}"
    terminal = f"terminal {os.environ.get('TERM', '')}, arguments {sys.argv[1:]!r}"
    now = datetime.now().astimezone().isoformat(timespec="seconds")
    return "\n".join([*lines, about, terminal, now, "", *traceback.format_exception(error)])
