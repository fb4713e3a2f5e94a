"""A whole engine by key presses alone, from the first question to sign-off."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from heelwise.documents.record import read_record
from heelwise.screens.answer import AnswerLine
from heelwise.screens.app import HeelwiseApp
from heelwise.screens.reading import SheetScreen
from heelwise.session import Session
from heelwise.walk.prompts import Prompt
from tests.screens.pressing import (
    LARGE,
    SMALL,
    all_in_sight,
    answer,
    app_on,
    keys_needed,
    rehearsal,
    send_key,
    shows,
    until,
)


async def enter_alone(app: HeelwiseApp, session: Session, prompt: Prompt) -> None:
    """Enter, and Enter again, keep nothing at a prompt that guards the engine."""
    kept = len(session.record.entries)
    line = app.screen.query_one(AnswerLine)  # a verdict, painted first, may begin as it does
    await until(app, "the question", lambda: line.prompt is prompt and not line.sent)
    send_key(app, "enter")
    send_key(app, "enter")
    await until(app, "Enter refused", lambda: shows(app, "nothing"))
    assert len(session.record.entries) == kept, prompt.id


@pytest.mark.parametrize(("card", "size"), [("v2-45", SMALL), ("single", LARGE)])
async def test_walked_by_keys_to_sign_off(card: str, size: tuple[int, int], tmp_path: Path) -> None:
    session = rehearsal(tmp_path, card)
    app = app_on(session)
    seen: Counter[str] = Counter()
    async with app.run_test(size=size, notifications=True):
        while not session.walker.closed:
            prompt = session.walker.prompt
            if prompt.id not in seen:
                await enter_alone(app, session, prompt)
            seen += Counter((prompt.phase, prompt.id))
            await until(app, f"{prompt.id} in sight", lambda: all_in_sight(app))
            sensed = session.sense()
            assert sensed is not None
            needed = keys_needed(prompt, sensed.answer, sensed.texts)
            assert await answer(app, session) == needed
        await until(app, "the sheet", lambda: isinstance(app.screen, SheetScreen))
        await until(app, "its status", lambda: shows(app, "signed off by"))
    session.close()
    record = read_record(session.file)
    assert record.entries[-1].body.kind == "signed off"
    assert len(record.signoff) == len(session.walker.build.engine.valves)
    assert {row["proved"] for row in record.signoff} <= {"clicked", "settled"}
    assert {"prepare", "trial", "fit", "prove", "sign off"} <= set(seen)
