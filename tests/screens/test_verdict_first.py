"""The verdict is painted before the next question stands, and no key in between is an answer."""

from __future__ import annotations

from pathlib import Path

import pytest

from heelwise.screens.answer import AnswerLine
from heelwise.screens.app import HeelwiseApp
from heelwise.screens.walk import WalkScreen
from tests.screens.pressing import (
    SMALL,
    app_on,
    at_a_count,
    send_key,
    shows,
    text_in,
    type_text,
    until,
)


async def test_the_verdict_comes_first_and_keys_pressed_then_are_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = at_a_count(tmp_path)
    asked, kept = session.walker.prompt, len(session.record.entries)
    app, go_on = app_on(session), WalkScreen.go_on
    monkeypatch.setattr(WalkScreen, "go_on", lambda screen: None)
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "the count", lambda: shows(app, asked.question[:20]))
        await type_text(app, "5/8")
        await until(app, "the verdict", lambda: "INSIDE" in text_in(app, "#above"))
        assert len(session.record.entries) == kept + 1  # it is durable before it is told
        send_key(app, "y")
        await until(app, "it noticed", lambda: app.screen.query_one(AnswerLine).early)
        screen = app.screen
        assert isinstance(screen, WalkScreen)
        screen.call_later(go_on, screen)
        await until(app, "the next", lambda: shows(app, session.walker.prompt.question[:20]))
        await until(app, "it told", lambda: shows(app, "before this question came up"))
        assert len(session.record.entries) == kept + 1
    session.close()


async def test_a_reading_typed_half_too_early_is_taken_for_none(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of "5/8" and Enter the first keys come before the question: the rest is no 1/8."""
    session = at_a_count(tmp_path)
    app = HeelwiseApp(tmp_path, session=session, held_key_s=60.0)
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "the count", lambda: shows(app, session.walker.prompt.question[:20]))
        kept, line = len(session.record.entries), app.screen.query_one(AnswerLine)
        monkeypatch.setattr(line, "asked_s", line.asked_s + 1e9)
        for character in "1 ":
            send_key(app, character)
        await until(app, "it told", lambda: shows(app, "before this question came up"))
        monkeypatch.setattr(line, "asked_s", line.asked_s - 1e9)
        for character in ("1", "/", "8", "enter"):
            send_key(app, character)
        send_key(app, "f1")
        await until(app, "the help", lambda: not isinstance(app.screen, WalkScreen))
        assert len(session.record.entries) == kept
        assert not line.typed
    session.close()
