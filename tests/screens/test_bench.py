"""The bench: whatever lies in the folder is listed, found, opened, and never a crash."""

from __future__ import annotations

import shutil
from pathlib import Path

from heelwise.documents.record import read_record
from heelwise.screens.app import HeelwiseApp
from heelwise.screens.bench import BenchScreen
from heelwise.screens.drawn import Rows
from heelwise.screens.modals import MenuScreen, MessageScreen
from heelwise.screens.shelf import RowKind, Shelf, list_folder, read_row
from heelwise.screens.start import StartScreen, free_name
from heelwise.screens.walk import WalkScreen
from tests.screens.pressing import (
    MIDDLE,
    SETUP,
    SMALL,
    go_on,
    rehearsal,
    send_key,
    shows,
    text_of,
    until,
)


def hostile_folder(folder: Path) -> Path:
    """A good build, a setup, and every kind of file that is none."""
    session = rehearsal(folder, "i4-1342", name="mower")
    go_on(session, 40)
    session.close()
    record = session.file.read_bytes()
    shutil.copy(SETUP, folder / "tug.toml")
    (folder / "torn.toml").write_bytes(record + b"\n[[entry]]\nnumber = 99")
    (folder / "damaged.toml").write_bytes(record.replace(b"lead off", b"lead on!", 1))
    (folder / "bytes.toml").write_bytes(bytes(range(256)) * 40)
    (folder / "empty.toml").write_bytes(b"")
    (folder / "brackets.toml").write_text("[/]\n[@click=app.quit]x = 1\n" + "[" * 400)
    (folder / "newer.toml").write_text('format = 9\n[engine]\ncard = "i4-1342"\n')
    (folder / "folder.toml").mkdir()
    (folder / "gone.toml").symlink_to(folder / "nothing")
    (folder / "shop-procedure.toml").write_text('format = 1\n[procedure]\nid = "x"\n')
    (folder / "notes.txt").write_text("not listed")
    return folder


def rows_of(folder: Path) -> dict[str, RowKind]:
    return {row.path.stem: read_row(row).kind for row in list_folder(folder)}


def test_every_kind_of_file_is_told(tmp_path: Path) -> None:
    assert rows_of(hostile_folder(tmp_path)) == {
        "mower": RowKind.RECORD,
        "torn": RowKind.RECORD,
        "tug": RowKind.SETUP,
        "shop-procedure": RowKind.OTHER,
        **dict.fromkeys(
            ("damaged", "bytes", "empty", "brackets", "newer", "folder", "gone"), RowKind.BROKEN
        ),
    }


def test_another_programs_settings_are_not_called_broken(tmp_path: Path) -> None:
    (tmp_path / "another.toml").write_text('[project]\nname = "x"\n')
    (tmp_path / "mistyped.toml").write_text("format = 1\n[engin]\n")
    assert rows_of(tmp_path) == {"another": RowKind.OTHER, "mistyped": RowKind.BROKEN}


def test_how_far_a_build_is_and_what_holds_it_up(tmp_path: Path) -> None:
    hostile_folder(tmp_path)
    found = {row.path.stem: read_row(row) for row in list_folder(tmp_path)}
    assert found["mower"].far.endswith(" of 8 tried")
    assert found["mower"].phase == "trial"
    assert found["torn"].outstanding == "torn end"
    assert found["torn"].virtual
    assert "entry" in found["damaged"].faults[0]


def test_rows_in_sight_are_read_before_any_other(tmp_path: Path) -> None:
    for number in range(300):
        (tmp_path / f"build-{number:03}.toml").write_text("format = 1\n")
    shelf = Shelf(list_folder(tmp_path))
    assert shelf.unread == 300
    shelf.find("29")
    in_sight = [shelf.rows[n].path.stem for n in shelf.shown[2:5]]
    read = []
    for _ in range(4):
        found = shelf.next_unread(2, 5)
        assert found is not None
        read.append(shelf.rows[found].path.stem)
        shelf.update(found, read_row(shelf.rows[found]))
    assert read[:3] == in_sight
    assert read[3] not in in_sight


async def test_all_of_them_on_the_screen(tmp_path: Path) -> None:
    app = HeelwiseApp(hostile_folder(tmp_path), held_key_s=0.0)
    async with app.run_test(size=SMALL, notifications=True):
        await app.workers.wait_for_complete()
        await until(app, "the faults", lambda: text_of(app).count("broken") >= 7)
        shown = text_of(app)
        assert "\x1b" not in shown
        assert "shop-procedure" not in shown
        for character in "damaged":
            send_key(app, character)
        await until(app, "one row", lambda: shows(app, "1 of "))
        send_key(app, "enter")
        await until(app, "what is wrong", lambda: isinstance(app.screen, MessageScreen))
        await until(app, "the entry", lambda: shows(app, "its seal does not agree"))
        send_key(app, "escape")
        await until(app, "the bench", lambda: isinstance(app.screen, BenchScreen))


async def test_a_build_is_started_from_a_setup_on_the_bench(tmp_path: Path) -> None:
    shutil.copy(SETUP, tmp_path / "tug.toml")
    app = HeelwiseApp(tmp_path, held_key_s=0.0)
    async with app.run_test(size=MIDDLE, notifications=True):
        await until(app, "its row", lambda: shows(app, "8 cylinders"))
        send_key(app, "enter")
        await until(app, "what was understood", lambda: shows(app, "1-8-7-2-6-5-4-3"))
        assert isinstance(app.screen, StartScreen)
        assert "8.300 in" in text_of(app)
        for character in "tug7":
            send_key(app, character)
        send_key(app, "enter")
        await until(app, "the name", lambda: app.focused is not None and app.focused.id == "name")
        send_key(app, "enter")
        await until(app, "the initials", lambda: app.focused is not None and app.focused.id == "by")
        send_key(app, "enter")
        await until(app, "no initials", lambda: shows(app, '"MK"'))
        for character in "AO":
            send_key(app, character)
        send_key(app, "enter")
        await until(app, "the walk", lambda: isinstance(app.screen, WalkScreen))
        await until(app, "its first question", lambda: shows(app, "maker's sheets"))
    app.close()
    assert read_record(tmp_path / "tug-1.toml").head.setup.whose == "tug7"
    assert free_name(tmp_path, "tug") == "tug-2"


async def test_an_empty_bench_says_how_to_begin(tmp_path: Path) -> None:
    app = HeelwiseApp(tmp_path, held_key_s=0.0)
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "how to begin", lambda: shows(app, "heelwise rehearse"))


async def test_a_folder_that_went_away_is_told(tmp_path: Path) -> None:
    app = HeelwiseApp(tmp_path / "gone", held_key_s=0.0)
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "the fault", lambda: shows(app, "can't be read"))


async def test_keys_are_answered_while_hundreds_are_still_read(tmp_path: Path) -> None:
    session = rehearsal(tmp_path, "i4-1342", name="mower")
    go_on(session, 40)
    session.close()
    for number in range(200):
        shutil.copy(session.file, tmp_path / f"mower-{number:03}.toml")
    app = HeelwiseApp(tmp_path, held_key_s=0.0)
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "the names", lambda: shows(app, "of 201"))
        for character in "mower-19":
            send_key(app, character)
        await until(app, "ten of them", lambda: shows(app, "10 of 201"))
        await until(app, "those in sight read", lambda: shows(app, "of 8 tried"))
        assert "still to be read" in text_of(app)


async def test_what_is_no_build_goes_while_rows_are_drawn_and_the_pointer_stays(
    tmp_path: Path,
) -> None:
    """Files that turn out to be none of ours leave the list; Esc and back leaves the pointer."""
    for number in range(40):
        (tmp_path / f"other-{number:02}.toml").write_text('[tool]\nname = "x"\n', encoding="utf-8")
    for name in ("aft", "bow"):
        shutil.copy(SETUP, tmp_path / f"{name}.toml")
    app = HeelwiseApp(tmp_path, held_key_s=0.0)
    async with app.run_test(size=SMALL, notifications=True) as pilot:
        await until(app, "the two", lambda: shows(app, "2 of 2") and not shows(app, "to be read"))
        send_key(app, "down")
        pointed = app.screen.query_one(Rows)
        await until(app, "the second", lambda: pointed.cursor == 1)
        send_key(app, "escape")
        await until(app, "the menu", lambda: isinstance(app.screen, MenuScreen))
        send_key(app, "escape")
        await until(app, "the bench", lambda: not isinstance(app.screen, MenuScreen))
        await pilot.pause(0.2)
        await until(app, "all read", lambda: not shows(app, "to be read"))
        assert pointed.cursor == 1
