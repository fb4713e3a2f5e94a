"""However the program is ended: in words, with a code that says so, the terminal as it was."""

from __future__ import annotations

import fcntl
import json
import os
import pty
import signal
import struct
import subprocess
import termios
from collections.abc import Sequence
from pathlib import Path

import pytest

from tests.faults.program import LONG_ENOUGH_S, command, environment, run
from tests.faults.terminal import Terminal
from tests.faults.watched import Watched

SETUP = Path(__file__).parents[2] / "sample_builds" / "grain-truck-six.toml"
BREAK_HELP = "from heelwise.screens.app import HeelwiseApp; HeelwiseApp.action_help = lambda s: 1/0"
BREAK_CHECK = "import heelwise.commands.records as c; c.check = lambda given: 1/0"
F1 = "\x1bOP"


def begun(folder: Path) -> Path:
    """A build that was begun."""
    words = ("rehearse", "--plain", "--engine", "single", "--folder", folder)
    assert run(*words, typed="quit\n").code == 0
    path = Watched(folder).path
    assert path is not None
    return path


def walked(screen: Terminal) -> None:
    """Wait for the walk's first question."""
    screen.until("the walk", lambda: "F1" in screen.shown)


def closed(words: Sequence[object], streams: str) -> subprocess.CompletedProcess[bytes]:
    """Run the program with some of its streams closed by the shell."""
    shell = ["sh", "-c", f'"$@" {streams}', "sh", *command(*words)]
    return subprocess.run(
        shell, capture_output=True, env=environment(), timeout=LONG_ENOUGH_S, check=False
    )


@pytest.mark.parametrize("streams", ["<&-", ">&-", "2>&-", "<&- >&-", "<&- >&- 2>&-", "| true"])
@pytest.mark.parametrize(
    "words", [("--version",), ("--help",), ("check", SETUP), (), ("--plain", SETUP)]
)
def test_closed_streams_end_no_run_in_a_traceback(words: Sequence[object], streams: str) -> None:
    done = closed(words, streams)
    assert b"Traceback" not in done.stderr
    assert b"Exception ignored" not in done.stderr
    assert done.returncode in (0, 1, 2)
    if ">&-" in streams.split() and words in (("--version",), ("--help",), ("check", SETUP)):
        assert done.returncode == 1  # what was asked for could not be given


def test_no_file_of_ours_takes_the_part_of_a_closed_stream(tmp_path: Path) -> None:
    words = ("rehearse", "--hands-off", "--engine", "single", "--folder", tmp_path)
    closed(words, "<&- >&- 2>&-")
    assert run("check", *tmp_path.glob("*.toml")).code == 0


def test_ctrl_c_while_starting_ends_in_one_line(tmp_path: Path) -> None:
    """Stopped as the modules come in that it loads; those before them are Python's own."""
    words = ["rehearse", "--plain", "--folder", tmp_path, "--engine", "single"]
    start, *rest = command(*words)
    timed = [start, "-X", "importtime", *rest]
    for turn in range(20):
        process = subprocess.Popen(
            timed, stdin=subprocess.PIPE, stderr=subprocess.PIPE, env=environment()
        )
        assert process.stderr is not None
        loaded = 0
        while loaded < 1 + 12 * turn:
            line = process.stderr.readline()
            assert line, f"it ended by itself after {loaded} modules"
            loaded += loaded > 0 or b"heelwise.commands" in line
        process.send_signal(signal.SIGINT)
        lines = process.communicate()[1].splitlines()
        words_of_it = [line for line in lines if line and not line.startswith(b"import time")]
        assert process.returncode == 130, (turn, words_of_it)
        assert len(words_of_it) == 1, (turn, words_of_it)


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP, signal.SIGINT])
def test_a_signal_ends_the_full_screen_as_a_key_does(number: int, tmp_path: Path) -> None:
    path = begun(tmp_path)
    with Terminal(path) as screen:
        walked(screen)
        assert not screen.cooked
        screen.signal(number)
        assert screen.ended() == 128 + number
        assert screen.out.rfind(b"\x1b[?1049l") > screen.out.rfind(b"\x1b[?1049h")
        assert path.name in screen.unwrapped
    assert run("check", path).code == 0


def test_a_signal_puts_the_terminal_s_modes_back(tmp_path: Path) -> None:
    path = begun(tmp_path)
    shell = ["sh", "-c", '"$@"; echo back; sleep 60', "sh"]
    with Terminal(path, before=shell) as screen:
        walked(screen)
        note = json.loads(path.with_name(f".{path.name}.holder").read_text())
        os.kill(note["pid"], signal.SIGTERM)
        screen.until("the shell again", lambda: "back" in screen.shown)
        assert screen.cooked


@pytest.mark.parametrize("told", [True, False])
def test_a_terminal_that_goes_ends_the_full_screen(told: bool, tmp_path: Path) -> None:
    path = begun(tmp_path)
    ours, theirs = pty.openpty()
    fcntl.ioctl(ours, termios.TIOCSWINSZ, struct.pack("HHHH", 40, 120, 0, 0))
    process = subprocess.Popen(
        command(path),
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
        start_new_session=True,
        env=environment(TERM="xterm-256color", HOME=str(tmp_path)),
    )
    os.close(theirs)
    seen = b""
    while b"F1" not in seen:
        seen += os.read(ours, 4096)
    os.close(ours)
    if told:
        process.send_signal(signal.SIGHUP)
    assert process.wait(LONG_ENOUGH_S) in (1, 129)
    assert reports(tmp_path) == []
    assert run("check", path).code == 0


def reports(folder: Path) -> list[Path]:
    """The reports of crashes that lie in a folder."""
    return sorted(folder.glob("*.crash-*"))


def test_a_crash_of_the_full_screen_says_what_is_sound_and_ends_with_its_code(
    tmp_path: Path,
) -> None:
    path = begun(tmp_path)
    with Terminal(path, first=BREAK_HELP) as screen:
        walked(screen)
        screen.type(F1)
        assert screen.ended() == 70
        watched = Watched(tmp_path)
        watched.look()
        assert f"entry {watched.count}" in screen.shown
        assert b"Traceback" not in screen.out
        assert b"verything is kept" not in screen.out
    (report,) = reports(tmp_path)
    assert "ZeroDivisionError" in report.read_text()
    assert "Traceback" in report.read_text()


def test_a_crash_of_a_command_says_where_its_report_is(tmp_path: Path) -> None:
    start, *rest = command("check", SETUP, first=BREAK_CHECK)
    done = subprocess.run(
        [start, *rest], capture_output=True, env=environment(HOME=str(tmp_path)), check=False
    )
    assert done.returncode == 70
    assert b"Traceback" not in done.stderr
    (report,) = reports(tmp_path)
    assert str(report).encode() in done.stderr


def test_a_report_that_can_not_lie_beside_the_record_lies_elsewhere(tmp_path: Path) -> None:
    home, builds, moved = tmp_path / "home", tmp_path / "builds", tmp_path / "moved"
    home.mkdir()
    path = begun(builds)
    move = f"import os; os.environ['HOME'] = {str(home)!r}; b, m = {str(builds)!r}, {str(moved)!r}"
    break_help = BREAK_HELP.replace("1/0", "[os.rename(b, m), 1/0]")
    with Terminal(path, first=f"{move}; {break_help}") as screen:
        walked(screen)
        screen.type(F1)
        assert screen.ended() == 70
        assert "can't be read" in screen.shown
    assert len(reports(home)) == 1


def test_only_what_is_kept_is_called_kept(tmp_path: Path) -> None:
    builds, moved = tmp_path / "builds", tmp_path / "moved"
    path = begun(builds)
    with Terminal(path, first=f"import os; os.environ['HOME'] = {str(tmp_path)!r}") as screen:
        walked(screen)
        builds.rename(moved)
        screen.signal(signal.SIGTERM)
        screen.ended()
        assert "verything is kept" not in screen.shown
        assert str(tmp_path) in screen.unwrapped
    (written,) = tmp_path.glob("*.unkept.txt")
    assert written.read_bytes() == (moved / path.name).read_bytes()
