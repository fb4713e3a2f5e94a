"""Laid down, killed, taken up again: the context first, then the crank, then the same step."""

from __future__ import annotations

from pathlib import Path

from heelwise.documents.record import read_record
from heelwise.screens.app import HeelwiseApp
from heelwise.screens.bench import BenchScreen
from heelwise.screens.reading import SheetScreen
from heelwise.walk.state import RESUME_STEP
from tests.screens.pressing import (
    SMALL,
    answer,
    app_on,
    go_on,
    go_on_to_fit,
    rehearsal,
    resumed,
    send_key,
    shows,
    text_of,
    type_text,
    until,
)


async def test_a_build_dropped_in_the_middle_asks_for_the_crank_first(tmp_path: Path) -> None:
    session = rehearsal(tmp_path)
    go_on_to_fit(session)
    asked = session.walker.prompt
    app = app_on(session)
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "the question", lambda: shows(app, asked.question[:30]))
    session.close()  # nothing was laid down: the app simply went away

    back = resumed(session.file)
    kept = len(back.record.entries)
    app = app_on(back)
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "the resume", lambda: shows(app, "Is the crank still where it was left"))
        assert back.walker.prompt.id == RESUME_STEP
        assert "Last entry by" in text_of(app)
        assert "Closed without pausing" in text_of(app)
        for shown in ("enter", "x"):
            send_key(app, shown)
            await until(app, "a remark", lambda: shows(app, "✗"))
        assert len(back.record.entries) == kept
        send_key(app, "y")
        await until(app, "the crank placed", lambda: len(back.record.entries) == kept + 1)
        again = back.walker.prompt
        await until(app, "the same valve", lambda: shows(app, again.question[:30]))
        assert (again.valve, again.phase) == (asked.valve, asked.phase)
    back.close()


async def test_what_comes_next_is_shown_on_coming_back(tmp_path: Path) -> None:
    session = rehearsal(tmp_path)
    go_on_to_fit(session)
    session.close()
    back = resumed(session.file)
    app = app_on(back)
    async with app.run_test(size=(100, 30), notifications=True):
        await until(app, "what is next", lambda: shows(app, "next, if"))
        told = text_of(app)
        back.walker.reply("y")
        assert back.walker.prompt.question[:30] in told
    back.close()


async def test_a_pause_is_an_entry_and_leads_to_the_bench(tmp_path: Path) -> None:
    session = rehearsal(tmp_path)
    go_on(session, 30)
    app = app_on(session)
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "the walk", lambda: shows(app, "TRIAL"))
        send_key(app, "f5")
        await until(app, "the bench", lambda: isinstance(app.screen, BenchScreen))
        await until(app, "its row", lambda: shows(app, "trial"))
        assert read_record(session.file).entries[-1].body.kind == "paused"
        send_key(app, "enter")
        await until(app, "the resume", lambda: shows(app, "Paused by AR"))
    app.close()
    assert read_record(session.file).entries[-1].body.kind == "resumed"


async def test_the_bench_points_at_the_build_that_was_paused(tmp_path: Path) -> None:
    session = rehearsal(tmp_path)
    go_on(session, 30)
    session.close()
    setup = tmp_path / "zz-setup.toml"
    setup.write_text("format = 1\n")
    app = HeelwiseApp(tmp_path, held_key_s=0.0)
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "both rows", lambda: shows(app, "trial") and shows(app, "zz-setup"))
        await until(app, "the setup pointed at", lambda: shows(app, "▶ zz-setup"))
        app.open_file(session.file)
        await until(app, "the walk", lambda: shows(app, "F5 Pause"))
        send_key(app, "f5")
        await until(app, "the build pointed at", lambda: shows(app, f"▶ {session.file.stem} "))


async def test_a_record_that_is_held_is_read_only(tmp_path: Path) -> None:
    held = rehearsal(tmp_path)
    go_on(held, 30)
    before = held.file.read_bytes()
    app = HeelwiseApp(tmp_path, file=held.file, held_key_s=0.0)
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "the sheet", lambda: isinstance(app.screen, SheetScreen))
        await until(app, "who has it", lambda: shows(app, "Read only"))
        assert "Read only: " in text_of(app)
    held.close()
    assert held.file.read_bytes() == before


async def test_a_signed_off_record_opens_as_its_sheet_and_can_be_reopened(tmp_path: Path) -> None:
    session = rehearsal(tmp_path, "i4-1342")
    while not session.walker.closed:
        go_on(session, 1)
    session.close()
    app = HeelwiseApp(tmp_path, file=session.file, held_key_s=0.0)
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "the sheet", lambda: isinstance(app.screen, SheetScreen))
        send_key(app, "escape")
        await until(app, "the closed record", lambda: shows(app, "Signed off by A. Rehearser"))
        assert not shows(app, "Cross out")
        send_key(app, "r")
        await type_text(app, "Ann Other")
        await type_text(app, "a bolt was seen to weep")
        await until(
            app, "it is open", lambda: app.session is not None and not app.session.walker.closed
        )
        assert app.session is not None
        assert app.session.record.entries[-1].body.kind == "reopened"
        await answer(app, app.session)
    app.close()


async def test_a_rehearsal_says_what_it_is_before_anything_is_answered(tmp_path: Path) -> None:
    session = rehearsal(tmp_path)
    app = app_on(session)
    async with app.run_test(size=(140, 45), notifications=True):
        await until(app, "the question", lambda: shows(app, session.walker.prompt.question[:12]))
        assert shows(app, "The engine is virtual")
        assert session.file.name in text_of(app).replace("\n", "")
        await answer(app, session)
        await until(app, "the next", lambda: session.walker.prompt.question[:20] in text_of(app))
        assert not shows(app, "The engine is virtual")
    session.close()
