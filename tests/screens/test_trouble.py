"""What can't be kept is told, and what was typed is answered again."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest

from heelwise.documents.entries import AnyEntry, Draft, Read
from heelwise.documents.record import read_record
from heelwise.screens.bench import BenchScreen
from heelwise.screens.modals import AskScreen, SaveFailedScreen
from heelwise.session import PARTLY_KEPT, Session
from heelwise.storage.errors import NotKept
from heelwise.walk.prove import Outcome
from tests.screens.pressing import (
    SMALL,
    app_on,
    go_on,
    rehearsal,
    send_key,
    shows,
    text_of,
    type_text,
    until,
)


class Failing:
    """Keeps the first so many entries, then fails so many times, then keeps again."""

    def __init__(self, session: Session, *, before: int, failures: int) -> None:
        self._keep = session.record.keep
        self._file = session.file
        self._before, self._failures = before, failures

    def __call__(
        self,
        draft: Draft,
        at: datetime,
        by: str,
        outcome: tuple[Outcome, ...] | None = None,
    ) -> AnyEntry:
        if self._before:
            self._before -= 1
        elif self._failures:
            self._failures -= 1
            raise NotKept("the disk is full", self._file, "free some room")
        return self._keep(draft, at, by, None)


def at_a_count(folder: Path) -> Session:
    session = rehearsal(folder)
    go_on(session, 25)
    while session.walker.prompt.records != "count":
        go_on(session, 1)
    return session


async def test_a_reading_that_was_not_kept_is_kept_on_trying_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = at_a_count(tmp_path)
    kept = len(session.record.entries)
    monkeypatch.setattr(session.record, "keep", Failing(session, before=0, failures=1))
    app = app_on(session)
    async with app.run_test(size=SMALL, notifications=True):
        await type_text(app, "5/8")
        await until(app, "the trouble", lambda: isinstance(app.screen, SaveFailedScreen))
        await until(app, "it told", lambda: shows(app, "the disk is full"))
        assert "free some room" in text_of(app)
        assert len(session.record.entries) == kept
        send_key(app, "1")
        await until(app, "it kept", lambda: len(session.record.entries) == kept + 1)
        await until(app, "the verdict", lambda: shows(app, "5/8 turn: "))
    body = read_record(session.file).entries[-1].body
    assert isinstance(body, Read)
    assert body.turns == "5/8"
    session.close()


async def test_a_build_goes_on_in_another_folder_with_every_entry(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = at_a_count(tmp_path)
    kept = len(session.record.entries)
    elsewhere = tmp_path / "other drive"
    elsewhere.mkdir()
    monkeypatch.setattr(session.record, "keep", Failing(session, before=0, failures=1))
    app = app_on(session)
    async with app.run_test(size=SMALL, notifications=True):
        await type_text(app, "5/8")
        await until(app, "the trouble", lambda: isinstance(app.screen, SaveFailedScreen))
        send_key(app, "2")
        await type_text(app, str(tmp_path / "nowhere"))
        await until(app, "refused", lambda: shows(app, "nowhere"))
        assert isinstance(app.screen, AskScreen)
        for _ in str(tmp_path / "nowhere"):
            send_key(app, "backspace")
        await type_text(app, str(elsewhere))
        await until(app, "it kept", lambda: len(session.record.entries) == kept + 1)
    session.close()
    assert session.file == elsewhere / "r.toml"
    assert len(read_record(elsewhere / "r.toml").entries) == kept + 1
    assert len(read_record(tmp_path / "r.toml").entries) == kept


async def test_leaving_goes_to_the_bench_and_keeps_what_was_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = at_a_count(tmp_path)
    kept = len(session.record.entries)
    monkeypatch.setattr(session.record, "keep", Failing(session, before=0, failures=9))
    app = app_on(session)
    async with app.run_test(size=SMALL, notifications=True):
        await type_text(app, "5/8")
        await until(app, "the trouble", lambda: isinstance(app.screen, SaveFailedScreen))
        send_key(app, "3")
        await until(app, "the bench", lambda: isinstance(app.screen, BenchScreen))
    assert len(read_record(session.file).entries) == kept


async def test_half_an_answer_kept_is_never_answered_twice(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = rehearsal(tmp_path)
    while session.walker.prompt.id != "cylinder-one":
        go_on(session, 1)
    kept = len(session.record.entries)
    monkeypatch.setattr(session.record, "keep", Failing(session, before=1, failures=1))
    app = app_on(session)
    async with app.run_test(size=SMALL, notifications=True):
        prompt = session.walker.prompt
        await until(app, "the question", lambda: shows(app, prompt.question[:20]))
        send_key(app, prompt.options[0].key)
        await until(app, "the trouble", lambda: isinstance(app.screen, SaveFailedScreen))
        send_key(app, "1")
        await until(app, "the next question", lambda: shows(app, PARTLY_KEPT[:30]))
    assert len(session.record.entries) == kept + 1
    session.close()


async def test_a_note_that_was_not_kept_is_kept_on_trying_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = at_a_count(tmp_path)
    kept = len(session.record.entries)
    monkeypatch.setattr(session.record, "keep", Failing(session, before=0, failures=1))
    app = app_on(session)
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "the question", lambda: shows(app, session.walker.prompt.question[:12]))
        send_key(app, "f7")
        await until(app, "the note", lambda: shows(app, "A note"))
        await type_text(app, "4E")
        await type_text(app, "guide felt dry")
        await type_text(app, "")
        await until(app, "the trouble", lambda: isinstance(app.screen, SaveFailedScreen))
        send_key(app, "1")
        await until(app, "it kept", lambda: len(session.record.entries) == kept + 1)
        await until(app, "the walk again", lambda: shows(app, "Noted."))
    session.close()
