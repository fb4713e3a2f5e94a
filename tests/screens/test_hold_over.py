"""Whoever waits for a hold may be looking elsewhere: the bell and the window's title."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest

from heelwise.screens.app import HeelwiseApp
from heelwise.screens.walk import WalkScreen
from tests.screens.pressing import SMALL, go_on, rehearsal, until


async def test_the_bell_rings_and_the_title_changes_once_a_hold_is_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = rehearsal(tmp_path)
    while session.walker.prompt.id != "walk/hold":
        go_on(session, 1)
    over = session.walker.prompt.wait_until
    assert over is not None
    monkeypatch.setattr(session.walker, "now", lambda: over - timedelta(minutes=3))
    rung: list[bool] = []
    titles: list[str] = []
    changed = HeelwiseApp.on_walk_screen_hold_changed

    def heard(app: HeelwiseApp, event: WalkScreen.HoldChanged) -> None:
        titles.append(event.title)
        changed(app, event)

    monkeypatch.setattr(HeelwiseApp, "on_walk_screen_hold_changed", heard)
    monkeypatch.setattr(HeelwiseApp, "bell", lambda app: rung.append(True))
    app = HeelwiseApp(tmp_path, session=session, held_key_s=0.0)
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "the hold", lambda: len(titles) == 1)
        assert not rung
        monkeypatch.setattr(session.walker, "now", lambda: over)
        await until(app, "its end", lambda: len(rung) == 1)
        assert len(set(titles)) == 2
    session.close()
