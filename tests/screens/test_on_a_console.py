"""The program on a real console: nothing a file holds reaches it as a command."""

from __future__ import annotations

import os
import re
import sys
from pathlib import Path

import pexpect

from tests.screens.pressing import go_on, rehearsal

PROGRAM = "import sys; from heelwise.screens.app import run_app; from pathlib import Path; "
PROGRAM += "sys.exit(run_app(Path(sys.argv[1]), file=Path(sys.argv[2])))"
TITLE, BIDI, C1 = "\x1b]0;gone wrong\x07", "\u202e", "\x9b31mred"


def started(folder: Path, file: Path, **environment: str) -> pexpect.spawn[bytes]:
    env = {**os.environ, "TERM": "xterm-256color", "TEXTUAL_ANIMATIONS": "none", **environment}
    env["PYTHONPATH"] = os.pathsep.join(filter(None, sys.path))
    arguments = ["-c", PROGRAM, str(folder), str(file)]
    return pexpect.spawn(sys.executable, arguments, env=env, dimensions=(24, 80), timeout=20)


async def test_no_control_byte_of_a_file_arrives(tmp_path: Path) -> None:
    session = rehearsal(tmp_path)
    go_on(session, 30)
    session.walker.note(f"{TITLE}{BIDI}{C1}")
    session.close()
    (tmp_path / "broken.toml").write_text(f'format = 1\n[engine]\ncard = "{TITLE}"\n')
    child = started(tmp_path, session.file)
    seen = b""
    for waited, press in (
        (b"Is the crank still", "y"),
        (b"TRIAL", "\x1bOQ"),
        (b"record so far", "\x1b"),
    ):
        child.expect(waited)
        seen += child.before + child.after
        child.send(press)
    child.expect(b"F1")
    seen += child.before + child.after
    child.send("\x1b[21~")
    child.expect(pexpect.EOF)
    seen += child.before
    child.close()
    assert child.exitstatus == 0
    assert b"gone wrong" in seen
    assert TITLE.encode() not in seen
    assert BIDI.encode() not in seen
    assert C1.encode() not in seen
    assert not re.search(rb"\x1b\]0;gone", seen)


async def test_a_console_that_is_not_utf_8_gets_plain_signs(tmp_path: Path) -> None:
    session = rehearsal(tmp_path)
    go_on(session, 30)
    session.close()
    child = started(tmp_path, session.file, PYTHONIOENCODING="ascii", PYTHONUTF8="0")
    child.expect(b"Is the crank still")
    seen = child.before
    child.send("\x1b[21~")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0
    assert b"Traceback" not in child.before
    assert seen.isascii()
