"""Key sequences, bytes and sizes that once ended the program, typed in a pseudo-terminal."""

from __future__ import annotations

import shutil
from collections.abc import Sequence
from pathlib import Path

import pytest

from tests.faults.program import in_words, run
from tests.faults.terminal import Terminal
from tests.faults.watched import Watched

NOT_SAVED = "Try again in the same"
ELSEWHERE = "A folder that exists"
LATIN_1 = b"630\xb0"
F_KEYS = {1: "\x1bOP", 2: "\x1bOQ", 3: "\x1bOR", 4: "\x1bOS"}
F_KEYS |= {
    5: "\x1b[15~",
    6: "\x1b[17~",
    7: "\x1b[18~",
    8: "\x1b[19~",
    9: "\x1b[20~",
    10: "\x1b[21~",
}
LONG = pytest.mark.long
SETUP = """
format = 1
[engine]
card = "single"
[cam]
known = false
[rocker]
mount = "bolt-down"
ratio = 1.6
thread = "5/16-18"
torque = "20 lbf ft"
[lifter]
kind = "hydraulic roller"
least_turns = 0.5
most_turns = 1.0
[pushrods]
intake = "7 in"
exhaust = "7 in"
"""


def words(folder: Path) -> list[object]:
    return ["rehearse", "--engine", "single", "--folder", folder]


def builds(tmp_path: Path) -> Path:
    folder = tmp_path / "builds"
    folder.mkdir()
    return folder


def walked(screen: Terminal) -> None:
    screen.until("the walk", lambda: "F7 Note" in screen.shown)
    settled(screen)


def settled(screen: Terminal) -> None:
    """Take in all that is painted; a key that comes sooner may count as held down."""
    while screen.read(0.45):
        pass


def sound(screen: Terminal) -> None:
    assert screen.alive, screen.shown
    assert b"Traceback" not in screen.out
    assert b"has a fault" not in screen.out


@pytest.mark.parametrize(
    "keys",
    [
        ("1", "2", "~nosuchuser/x\r"),
        pytest.param(("2", "nosuchfolder/x\r"), marks=LONG),
        pytest.param(("2", "\x00\r"), marks=LONG),
    ],
)
def test_on_the_screen_for_what_is_not_saved_nothing_ends_it(
    keys: Sequence[str], tmp_path: Path
) -> None:
    folder, other = builds(tmp_path), tmp_path / "other"
    with Terminal(*words(folder), env={"HOME": str(tmp_path)}) as screen:
        walked(screen)
        shutil.rmtree(folder)
        screen.type("y")
        screen.until("the trouble", lambda: NOT_SAVED in screen.shown)
        for key in keys:
            settled(screen)
            screen.type(key)
        settled(screen)
        sound(screen)
        assert ELSEWHERE in screen.shown  # it can still be saved, and is:
        other.mkdir()
        screen.type("\x7f" * 30 + f"{other}\r")
        places = (NOT_SAVED, ELSEWHERE)
        screen.until("the question", lambda: not any(each in screen.shown for each in places))
        sound(screen)
    watched = Watched(other)
    watched.look()
    assert watched.count == 2


def test_leaving_with_an_answer_that_is_not_saved_writes_it_elsewhere(tmp_path: Path) -> None:
    folder = builds(tmp_path)
    with Terminal(*words(folder), env={"HOME": str(tmp_path)}) as screen:
        walked(screen)
        shutil.rmtree(folder)
        screen.type("y")
        screen.until("the trouble", lambda: NOT_SAVED in screen.shown)
        settled(screen)
        screen.type("3")
        screen.until("the bench", lambda: NOT_SAVED not in screen.shown)
        settled(screen)
        sound(screen)
    (written,) = tmp_path.glob("*.unkept.txt")
    assert written.read_text(encoding="utf-8").count("\n[[entry]]\n") == 2  # the record whole


@pytest.mark.parametrize("typed", ["~nosuchuser/x", "a\x00b"])
def test_line_by_line_no_folder_typed_for_what_is_not_saved_ends_it(
    typed: str, tmp_path: Path
) -> None:
    folder, other = builds(tmp_path), tmp_path / "other"
    other.mkdir()
    with Terminal(*words(folder), "--plain", env={"HOME": str(tmp_path)}) as screen:
        screen.until("a question", lambda: screen.shown.rstrip().endswith("\n>"))
        shutil.rmtree(folder)
        for line in ("y", typed, str(other)):
            screen.type(f"{line}\r")
            settled(screen)
        sound(screen)
    watched = Watched(other)
    watched.look()
    assert watched.count == 2


@pytest.mark.parametrize(
    "places",
    [(0, 7), pytest.param((1, 2, 3, 4, 6), marks=LONG), pytest.param((8, 9, 5), marks=LONG)],
)
def test_a_byte_that_is_no_text_ends_no_screen(places: Sequence[int], tmp_path: Path) -> None:
    with Terminal(*words(builds(tmp_path))) as screen:
        walked(screen)
        for place in places:
            if place:
                screen.type(F_KEYS[place])
                settled(screen)
            for data in (LATIN_1 + b"\r", b"\xff"):
                screen.send(data)
                settled(screen)
            sound(screen)
            for _ in range(6):
                if "F7 Note" in screen.shown and "┃" not in screen.shown:
                    break
                screen.type("\x1b")
                settled(screen)
                if "F3 New setup" in screen.shown:  # paused: open it again
                    screen.type("\r")
                    settled(screen)
            walked(screen)
        screen.type(F_KEYS[10])
        assert screen.ended() == 0


@pytest.mark.parametrize("more", [[], ["--json"]])
def test_a_byte_that_is_no_text_ends_no_walk_by_lines(more: list[str], tmp_path: Path) -> None:
    done = run(
        *words(builds(tmp_path)), "--plain", *more, typed=LATIN_1 + b"\n\xff\xfe\nnote \xb0\n"
    )
    in_words(done)
    assert done.code == 0


def test_a_byte_that_is_no_text_ends_neither_start_nor_form(tmp_path: Path) -> None:
    folder = builds(tmp_path)
    (folder / "one.toml").write_text(SETUP, encoding="utf-8")
    for keys, shown in ((("\r",), "F2 Method"), ((F_KEYS[3],), "engine")):
        with Terminal("--folder", folder) as screen:
            screen.until("the bench", lambda: "F3 New setup" in screen.shown)
            settled(screen)
            for key in keys:
                screen.type(key)
            screen.until("it", lambda text=shown: text in screen.shown.replace("New setup", ""))  # type: ignore[misc]
            for data in (LATIN_1 + b"\t", b"\xff\r"):
                screen.send(data)
                settled(screen)
            sound(screen)


@pytest.mark.parametrize(
    ("columns", "rows"),
    [
        (60, 18),
        *(pytest.param(*size, marks=LONG) for size in ((20, 5), (59, 40), (120, 17))),
    ],
)
def test_where_the_question_is_not_whole_nothing_is_answered(
    columns: int, rows: int, tmp_path: Path
) -> None:
    folder = builds(tmp_path)
    with Terminal(*words(folder), rows=rows, columns=columns) as screen:
        screen.until("something", lambda: bool(screen.shown.strip()))
        settled(screen)
        whole = "bench?" in screen.unwrapped and "not yet" in screen.unwrapped
        screen.type("y")
        settled(screen)
        sound(screen)
    watched = Watched(folder)
    watched.look()
    assert whole or watched.count == 1


@pytest.mark.parametrize(
    "keys",
    [
        "\x1b22",
        *(pytest.param(keys, marks=LONG) for keys in ("11", "2222", "\r\r\r", "\x1b\x1b11", "yy")),
    ],
)
def test_keys_in_one_write_leave_a_screen_that_answers(keys: str, tmp_path: Path) -> None:
    folder = builds(tmp_path)
    with Terminal(*words(folder)) as screen:
        walked(screen)
        screen.send(keys.encode())
        settled(screen)
        sound(screen)
        screen.type(F_KEYS[1])
        screen.until("the help", lambda: "Esc" in screen.shown and "help" in screen.shown.lower())
        sound(screen)
    watched = Watched(folder)
    watched.look()
    assert watched.count <= 2


def test_a_lock_file_taken_away_is_mended_on_trying_again(tmp_path: Path) -> None:
    folder = builds(tmp_path)
    with Terminal(*words(folder)) as screen:
        walked(screen)
        for lock in folder.glob(".*.lock"):
            lock.unlink()
        screen.type("y")
        screen.until("the trouble", lambda: NOT_SAVED in screen.shown)
        settled(screen)
        screen.type("1")
        places = (NOT_SAVED, ELSEWHERE)
        screen.until("the question", lambda: not any(each in screen.shown for each in places))
        sound(screen)
    watched = Watched(folder)
    watched.look()
    assert watched.count == 2


@pytest.mark.parametrize("line", ["cross ²", f"cross {'9' * 5000} x", "cross ٣ x", "cross 1²"])
def test_a_number_that_is_none_is_refused_line_by_line(line: str, tmp_path: Path) -> None:
    done = run(*words(builds(tmp_path)), "--plain", typed=f"{line}\nquit\n")
    in_words(done)
    assert done.code == 0


@pytest.mark.parametrize("by", ["", "  ", "\x1b[31m", "x" * 300, "a\nb"])
def test_initials_that_can_t_be_are_refused_in_words(by: str, tmp_path: Path) -> None:
    setup = tmp_path / "setup.toml"
    setup.write_text(SETUP, encoding="utf-8")
    done = run("--plain", setup, "--by", by, typed="a\nquit\n")
    in_words(done)
    assert done.code == 1
