"""The setup form: filled by keys from a cam card, checked as typed, never lost, never replacing."""

from __future__ import annotations

import json
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from heelwise.documents.form_check import check
from heelwise.documents.setup import load_setup
from heelwise.screens import theme
from heelwise.screens.app import HeelwiseApp
from heelwise.screens.bench import BenchScreen
from heelwise.screens.drawn import TextLine
from heelwise.screens.key_actions import key_actions
from heelwise.screens.modals import MenuScreen
from heelwise.screens.reading import HelpScreen
from heelwise.screens.setup_fields import CopyFromScreen, PickLine, id_of
from heelwise.screens.setup_form import SetupFormScreen
from heelwise.screens.start import StartScreen
from heelwise.screens.theme import THEMES
from heelwise.screens.walk import WalkScreen
from heelwise.session import procedures_for
from heelwise.walk.crank import TURN
from tests.documents.typed_forms import BOLT_DOWN, OWN_ORDER, SHAFT, SOLID, SOLID_BY_MATERIALS, STUD
from tests.screens.pressing import (
    LARGE,
    MIDDLE,
    SETUP,
    SMALL,
    press,
    send_key,
    shows,
    text_in,
    text_of,
    type_text,
    until,
    well,
)

CAM_CARD = (
    ("file.name", "block-12"),
    ("engine.card", "1-8-4-3"),
    ("cam._form", "1"),
    ("cam.intake_duration", "262"),
    ("cam.exhaust_duration", "267"),
    ("cam.lobe_separation", "111.5"),
    ("cam.intake_centerline", "107.5"),
    ("cam.at_lift", "0.006 in"),
    ("rocker.mount", "1"),
    ("rocker.ratio", "1.6"),
    ("rocker.thread", "5/16-18"),
    ("rocker.torque", "21 lbf ft"),
    ("lifter.kind", "1"),
    ("lifter.least_turns", "1/2"),
    ("lifter.most_turns", "1"),
    ("lifter.plunger_travel", "0.185 in"),
    ("pushrods.intake", "8.150 in"),
    ("pushrods.exhaust", "8.150 in"),
    ("pushrods.sold_from", "7.900 in"),
    ("pushrods.sold_to", "8.400 in"),
    ("pushrods.sold_step", "0.025 in"),
)


def is_at(app: HeelwiseApp, where: str) -> bool:
    return app.focused is not None and app.focused.id == id_of(where)


async def open_form(app: HeelwiseApp) -> SetupFormScreen:
    await until(app, "the bench", lambda: shows(app, "F3 New setup"))
    send_key(app, "f3")
    await until(app, "the form", lambda: is_at(app, "file.name"))
    assert isinstance(app.screen, SetupFormScreen)
    return app.screen


async def fill(app: HeelwiseApp, where: str, text: str) -> int:
    """Type into the field there is and go on; how many key presses that is."""
    await until(app, where, lambda: is_at(app, where))
    line = app.focused
    assert isinstance(line, TextLine)
    for character in text:
        send_key(app, character)
    picked = isinstance(line, PickLine)
    if text:
        await until(app, f"{text!r} in {where}", lambda: line.value == text or picked)
    send_key(app, "enter")
    await until(
        app, f"on from {where}", lambda: app.focused is not line or shows(app, "last field")
    )
    return len(text) + 1


async def go_to(app: HeelwiseApp, where: str) -> int:
    """Down to a field; how many key presses that is."""
    for presses in range(60):
        if is_at(app, where):
            return presses
        line = app.focused
        send_key(app, "down")
        await until(app, "another field", lambda line=line: app.focused is not line)  # type: ignore[misc]
    raise AssertionError(f"never came to {where}\n{text_of(app)}")


async def test_from_the_cam_card_in_hand_to_the_first_turn_of_the_crank(tmp_path: Path) -> None:
    app = HeelwiseApp(tmp_path, held_key_s=0.0)
    async with app.run_test(size=SMALL, notifications=True):
        await open_form(app)
        presses = 1
        for where, text in CAM_CARD:
            presses += await go_to(app, where)
            presses += await fill(app, where, text)
        await until(app, "nothing missing", lambda: shows(app, "Nothing is missing"))
        send_key(app, "f5")
        await until(app, "the start", lambda: isinstance(app.screen, StartScreen))
        assert [path.name for path in tmp_path.iterdir()] == ["block-12.toml"]
        setup = load_setup(tmp_path / "block-12.toml")
        assert setup.engine.card == "v8-18436572"
        assert len(setup.lengths()) == 21
        await until(app, "the understanding", lambda: shows(app, "1-8-4-3-6-5-7-2"))
        send_key(app, "enter")
        send_key(app, "enter")
        await until(app, "the initials", lambda: app.focused is not None and app.focused.id == "by")
        presses += 3 + await type_text(app, "AB")
        await until(app, "the walk", lambda: isinstance(app.screen, WalkScreen))
        session = app.session
        assert session is not None
        while session.walker.prompt.id != TURN:
            presses += await press(app, session, *well(session))
        assert presses < 240  # two minutes, at two keys a second
        await until(app, "where to turn", lambda: shows(app, "urn the crank"))
    app.close()


@pytest.mark.parametrize(
    ("typed", "method"),
    [
        (BOLT_DOWN, "bolt-down-rockers"),
        (OWN_ORDER, "bolt-down-rockers"),
        (STUD, "stud-rockers"),
        (SHAFT, "shaft-rockers"),
        (SOLID, "solid-lifters"),
        (SOLID_BY_MATERIALS, "solid-lifters"),
    ],
)
def test_every_form_leads_to_a_walk(typed: dict[str, str], method: str) -> None:
    checked = check(typed)
    assert checked.whole
    assert checked.setup is not None
    assert procedures_for(checked.setup, "x")[0].id == method


async def test_checked_as_typed_with_what_is_wrong_and_what_would_be_right(tmp_path: Path) -> None:
    app = HeelwiseApp(tmp_path, held_key_s=0.0)
    async with app.run_test(size=SMALL, notifications=True):
        await open_form(app)
        await go_to(app, "pushrods.intake")
        await type_in(app, "8.150")
        await until(app, "a bare number told", lambda: shows(app, '"8.150 in" or "8.150 mm"'))
        await type_in(app, " in")
        await until(app, "both units", lambda: shows(app, "8.150 in = 207.01 mm"))
        assert "a reading" in text_of(app)
        assert "has no unit" not in text_of(app)
        await retype(app, "7,4 in")
        await until(app, "the comma told", lambda: shows(app, "has a comma"))
        await retype(app, "8.1 lbf ft")
        await until(app, "a torque told", lambda: shows(app, "is a torque, not a length"))
        assert "Not right: Pushrods: intake pushrod" in text_in(app, "#foot")
        send_key(app, "f6")
        await until(app, "what it lacks next", lambda: is_at(app, "pushrods.exhaust"))
        send_key(app, "f6")
        await until(app, "round to the first", lambda: is_at(app, "file.name"))
        send_key(app, "f6")
        await until(app, "on from there", lambda: is_at(app, "engine.card"))
        send_key(app, "f5")
        await until(app, "not saved", lambda: shows(app, "Not saved: this field"))
        await until(app, "the first of it", lambda: is_at(app, "file.name"))
        assert not [*tmp_path.glob("*.toml")]


async def type_in(app: HeelwiseApp, text: str) -> None:
    line = app.focused
    assert isinstance(line, TextLine)
    wanted = line.value + text
    for character in text:
        send_key(app, character)
    await until(app, f"{wanted!r} typed", lambda: line.value == wanted)


async def retype(app: HeelwiseApp, text: str) -> None:
    line = app.focused
    assert isinstance(line, TextLine)
    for _ in line.value:
        send_key(app, "backspace")
    await until(app, "an empty line", lambda: not line.value)
    await type_in(app, text)


async def test_a_card_is_found_by_typing_and_its_numbering_shown(tmp_path: Path) -> None:
    app = HeelwiseApp(tmp_path, held_key_s=0.0)
    async with app.run_test(size=SMALL, notifications=True):
        form = await open_form(app)
        send_key(app, "enter")
        await until(app, "the card", lambda: is_at(app, "engine.card"))
        await type_in(app, "v8 left bank")
        await until(app, "three of them", lambda: shows(app, "3 found"))
        send_key(app, "enter")  # which of the three isn't settled yet
        await until(app, "a remark", lambda: shows(app, "Enter won't leave"))
        assert form.typed["engine.card"] == "v8 left bank"
        first = "v8-18436572"
        send_key(app, "down")
        await until(app, "the first pointed at", lambda: shows(app, f"▶ {first}"))
        send_key(app, "down")
        await until(app, "the second", lambda: shows(app, "▶ v8-18726543"))
        send_key(app, "up")
        await until(app, "the first", lambda: shows(app, f"▶ {first}"))
        send_key(app, "up")
        await until(app, "the name", lambda: is_at(app, "file.name"))
        send_key(app, "down")
        await until(app, "the card", lambda: is_at(app, "engine.card"))
        send_key(app, "enter")
        await until(app, "on", lambda: is_at(app, "engine.damper_diameter"))
        assert form.typed["engine.card"] == first
        await until(app, "its numbering", lambda: shows(app, "Numbering: 1 3 5 7 on the left"))
        assert "✓ v8-18436572 1-8-4-3-6-5-7-2" in text_of(app)


async def test_only_what_fits_the_mount_and_lifter_is_offered(tmp_path: Path) -> None:
    app = HeelwiseApp(tmp_path, held_key_s=0.0)
    async with app.run_test(size=LARGE, notifications=True):
        form = await open_form(app)

        def offered(where: str) -> bool:
            return any(row.field.where == where for row in form.offered)

        await go_to(app, "rocker.mount")
        send_key(app, "2")
        await until(app, "a thread", lambda: shows(app, "Thread"))
        assert "Torque" not in text_of(app)
        await go_to(app, "lifter.kind")
        send_key(app, "1")
        await until(app, "a window", lambda: shows(app, "Least turns"))
        assert not offered("pushrods.sold_from")
        send_key(app, "3")
        await until(app, "lash", lambda: shows(app, "Intake lash"))
        assert "Least turns" not in text_of(app)
        send_key(app, "2")
        await until(app, "hydraulic again", lambda: shows(app, "Plunger travel"))
        while not is_at(app, "rocker.mount"):
            line = app.focused
            send_key(app, "up")
            await until(app, "another field", lambda line=line: app.focused is not line)  # type: ignore[misc]
        send_key(app, "3")
        await until(app, "what a shaft needs", lambda: offered("wrench.name"))
        assert offered("pushrods.sold_from")
        await until(app, "the travel", lambda: "plunger travel" in text_in(app, "#foot"))
        send_key(app, "backspace")
        await until(app, "no mount", lambda: "mount" in text_in(app, "#foot"))


async def test_keys_that_follow_fast_land_where_they_belong(tmp_path: Path) -> None:
    app = HeelwiseApp(tmp_path, held_key_s=0.0)
    async with app.run_test(size=SMALL, notifications=True):
        form = await open_form(app)
        await go_to(app, "engine.card")
        for key in ("v", "2", "-", "4", "5", "enter"):
            send_key(app, key)
        await until(app, "the card taken", lambda: is_at(app, "engine.damper_diameter"))
        assert form.typed["engine.card"] == "v2-45"
        await go_to(app, "cam._form")
        for key in ("1", "enter"):
            send_key(app, key)
        await until(app, "the field it brought", lambda: is_at(app, "cam.intake_duration"))


async def test_what_was_typed_is_there_on_coming_back(tmp_path: Path) -> None:
    app = HeelwiseApp(tmp_path, held_key_s=0.0)
    async with app.run_test(size=SMALL, notifications=True):
        await open_form(app)
        await fill(app, "file.name", "block-12")
        await fill(app, "engine.card", "i4-1342")
        send_key(app, "f9")
        await until(app, "the bench", lambda: isinstance(app.screen, BenchScreen))
        await until(app, "it told", lambda: shows(app, "a setup begun: F3"))
        form = await open_form(app)
        await until(app, "it said", lambda: shows(app, "Draft restored"))
        assert form.typed["engine.card"] == "i4-1342"
        send_key(app, "f8")
        await until(app, "asked once more", lambda: shows(app, "F8 again empties"))
        assert form.typed["file.name"] == "block-12"
        send_key(app, "f8")
        await until(app, "empty", lambda: shows(app, "Every field is empty"))
        await until(app, "no draft", lambda: not [*tmp_path.iterdir()])
        assert not any(form.typed.values())


KILLED = """
import asyncio, os, signal, sys
from pathlib import Path
os.environ["TEXTUAL_ANIMATIONS"] = "none"
from heelwise.screens.app import HeelwiseApp
async def main() -> None:
    app = HeelwiseApp(Path(sys.argv[1]))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("f3")
        await pilot.pause()
        await pilot.press(*"block-7", "enter", *"v8 90", "tab")
        while "v8 90" not in "".join(p.read_text() for p in Path(sys.argv[1]).glob("*.draft")):
            await asyncio.sleep(0.01)
        os.kill(os.getpid(), signal.SIGKILL)
asyncio.run(main())
"""


async def test_a_draft_outlives_the_program(tmp_path: Path) -> None:
    ended = subprocess.run([sys.executable, "-c", KILLED, str(tmp_path)], check=False, timeout=60)
    assert ended.returncode == -signal.SIGKILL
    app = HeelwiseApp(tmp_path, held_key_s=0.0)
    async with app.run_test(size=SMALL, notifications=True):
        form = await open_form(app)
        assert form.typed["file.name"] == "block-7"
        assert form.typed["engine.card"] == "v8 90"


async def test_a_draft_that_is_none_is_left_alone(tmp_path: Path) -> None:
    hostile = {
        "new-setup": b"\xff\xfe",
        "new-setup-2": b"[" * 100_000,
        "new-setup-3": json.dumps({"typed": {"file.name": "\x1b[2J" * 200, "x": 1}}).encode(),
    }
    for name, data in hostile.items():
        (tmp_path / f"{name}.draft").write_bytes(data)
    app = HeelwiseApp(tmp_path, held_key_s=0.0)
    async with app.run_test(size=SMALL, notifications=True):
        await open_form(app)
        await until(app, "the draft", lambda: shows(app, "raft restored"))
        assert "\x1b" not in text_of(app)
        await retype(app, "block-1")
        send_key(app, "f9")
        await until(app, "the bench", lambda: isinstance(app.screen, BenchScreen))
    assert (tmp_path / "new-setup.draft").read_bytes() == hostile["new-setup"]
    assert (tmp_path / "new-setup-2.draft").read_bytes() == hostile["new-setup-2"]
    assert "block-1" in (tmp_path / "new-setup-3.draft").read_text()


async def test_a_draft_that_cannot_be_kept_is_told(tmp_path: Path) -> None:
    folder = tmp_path / "gone"
    folder.mkdir()
    app = HeelwiseApp(folder, held_key_s=0.0)
    async with app.run_test(size=SMALL, notifications=True):
        await open_form(app)
        folder.rmdir()
        await type_in(app, "b")
        await until(app, "it told", lambda: shows(app, "The draft is not kept"))


async def test_taken_from_another_setup_and_no_file_replaced(tmp_path: Path) -> None:
    shutil.copy(SETUP, tmp_path / "tug.toml")
    before = (tmp_path / "tug.toml").read_bytes()
    app = HeelwiseApp(tmp_path, held_key_s=0.0)
    async with app.run_test(size=SMALL, notifications=True):
        form = await open_form(app)
        send_key(app, "f4")
        await until(app, "the sheets", lambda: isinstance(app.screen, CopyFromScreen))
        await until(app, "its window", lambda: shows(app, "hydraulic roller, 0.375 to 0.875"))
        send_key(app, "enter")
        await until(app, "taken", lambda: shows(app, "Taken from tug.toml"))
        assert form.typed["lifter.plunger_travel"] == "0.185 in"
        assert form.typed["rocker.ratio"] == ""
        send_key(app, "f2")
        await until(app, "the setups", lambda: shows(app, "▶ tug "))
        send_key(app, "enter")
        await until(app, "the rest", lambda: form.typed["rocker.ratio"] == "1.65")
        await until(app, "the form", lambda: isinstance(app.screen, SetupFormScreen))
        await type_in(app, "tug")
        await until(app, "a name taken", lambda: shows(app, "tug.toml is there already"))
        send_key(app, "f5")
        await until(app, "not saved", lambda: shows(app, "Not saved"))
        await type_in(app, "-2")
        await until(app, "whole", lambda: shows(app, "F5 saves tug-2.toml"))
        (tmp_path / "tug-2.toml").write_text("made meanwhile")
        send_key(app, "f5")
        await until(app, "refused", lambda: shows(app, "a file of that name is there"))
        assert (tmp_path / "tug-2.toml").read_text() == "made meanwhile"
        assert (tmp_path / "tug.toml").read_bytes() == before


async def test_a_setup_copied_never_leaves_the_cursor_in_a_field_that_is_gone(
    tmp_path: Path,
) -> None:
    shutil.copy(SETUP, tmp_path / "tug.toml")
    app = HeelwiseApp(tmp_path, held_key_s=0.0)
    async with app.run_test(size=SMALL, notifications=True):
        form = await open_form(app)
        await go_to(app, "cam._form")
        await fill(app, "cam._form", "2")
        await until(app, "the events", lambda: is_at(app, "cam.intake_opens_btdc"))
        send_key(app, "f2")
        await until(app, "the setups", lambda: shows(app, "▶ tug "))
        send_key(app, "enter")
        await until(app, "taken", lambda: shows(app, "Taken from tug.toml"))
        assert form.here in form.offered


async def test_what_no_walk_can_do_is_told_before_saving(tmp_path: Path) -> None:
    text = SETUP.read_text().replace('plunger_travel = "0.185 in"', 'plunger_travel = "0.030 in"')
    (tmp_path / "tug.toml").write_text(text)
    app = HeelwiseApp(tmp_path, held_key_s=0.0)
    async with app.run_test(size=SMALL, notifications=True):
        await open_form(app)
        await type_in(app, "b")
        send_key(app, "f2")
        await until(app, "the setups", lambda: shows(app, "▶ tug "))
        send_key(app, "enter")
        await until(app, "the rest", lambda: shows(app, "Nothing is missing"))
        send_key(app, "f5")
        await until(app, "not saved", lambda: shows(app, "Not saved"))
        assert "✗ Lifter: plunger travel:" in text_of(app)
        assert [*tmp_path.glob("b.toml")] == []


@pytest.mark.parametrize(("size", "theme"), [*zip([SMALL, MIDDLE, LARGE], THEMES, strict=True)])
async def test_the_field_and_the_foot_are_in_sight_at_every_size(
    size: tuple[int, int], theme: str, tmp_path: Path
) -> None:
    shutil.copy(SETUP, tmp_path / "tug.toml")
    app = HeelwiseApp(tmp_path, held_key_s=0.0)
    async with app.run_test(size=size, notifications=True):
        app.theme = theme
        form = await open_form(app)
        send_key(app, "f2")
        await until(app, "the setups", lambda: shows(app, "▶ tug "))
        send_key(app, "enter")
        await until(app, "taken", lambda: shows(app, "Taken from tug.toml"))
        foot = app.screen.query_one("#foot").region
        assert foot.bottom <= size[1] - 1
        assert foot.height <= 7
        for row in form.offered[::5]:
            form.set_focus(row.entry)
            await until(app, row.field.label, lambda row=row: in_sight(app, row.field.label))  # type: ignore[misc]
        missing = "Still missing: File: name of the setup"
        await until(app, "the foot whole", lambda: missing in text_in(app, "#foot"))


def in_sight(app: HeelwiseApp, label: str) -> bool:
    return f"▶✓ {label}" in text_of(app) or f"▶  {label}" in text_of(app)


async def test_a_plain_console_gets_nothing_it_cannot_show(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    theme.use(ascii_only=True)
    app = HeelwiseApp(tmp_path, held_key_s=0.0)
    async with app.run_test(size=MIDDLE, notifications=True):
        await open_form(app)
        for key in ("minus", "enter"):
            send_key(app, "-" if key == "minus" else key)
        await until(app, "it stays", lambda: shows(app, "Enter won't leave"))
        assert is_at(app, "file.name")
        send_key(app, "down")
        await fill(app, "engine.card", "i4-1342")
        await until(app, "the card taken", lambda: shows(app, "+ i4-1342 1-3-4-2 Inline four"))
        assert "x Not right" in text_of(app)
        odd = {c for c in text_of(app) if not c.isascii()} - set("°·×–—…’±▁▂▃▄▅▆▇")
        assert not odd


async def test_help_menu_and_bar_follow_the_keys(tmp_path: Path) -> None:
    app = HeelwiseApp(tmp_path, held_key_s=0.0)
    async with app.run_test(size=LARGE, notifications=True):
        form = await open_form(app)
        keys = {thing.key for thing in key_actions(form)}
        assert {"F1", "F2", "F4", "F5", "F8", "F9", "F10", "F12", "Enter", "Esc"} <= keys
        send_key(app, "f1")
        await until(app, "help", lambda: isinstance(app.screen, HelpScreen))
        await until(app, "its page", lambda: shows(app, "Filling in a setup"))
        send_key(app, "escape")
        await until(app, "the form", lambda: app.screen is form)
        send_key(app, "escape")
        await until(app, "the menu", lambda: isinstance(app.screen, MenuScreen))
        await until(app, "a digit for F9", lambda: shows(app, "Back to the bench"))
        send_key(app, "9")
        await until(app, "the bench", lambda: isinstance(app.screen, BenchScreen))
