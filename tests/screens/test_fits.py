"""Every question, its answers and the line are whole on a small window, in every procedure."""

from __future__ import annotations

from pathlib import Path

import pytest

from heelwise.documents.library import find_procedures
from heelwise.documents.procedure import load_procedure
from heelwise.screens.walk import WalkScreen
from heelwise.session import Session
from tests.rehearsal.setups import begin_in_inches
from tests.screens.pressing import AT, SMALL, all_in_sight, app_on, at_rest, text_of, until

MOST_ANSWERS = 400


@pytest.mark.long
@pytest.mark.parametrize("procedure", sorted(find_procedures()))
async def test_every_question_is_whole_at_80_by_24(procedure: str, tmp_path: Path) -> None:
    path = find_procedures()[procedure]
    made = begin_in_inches(tmp_path / "r.toml", "i4-1342", 1, load_procedure(path), AT)
    session, cut = Session(made), []
    app = app_on(session)
    async with app.run_test(size=SMALL, notifications=True) as pilot:
        await until(app, "the walk", lambda: isinstance(app.screen, WalkScreen))
        screen, seen, said = app.screen, set(), None
        assert isinstance(screen, WalkScreen)
        for _ in range(MOST_ANSWERS):
            prompt = session.walker.prompt
            look = (prompt.id, prompt.caution is None, len(prompt.options), prompt.question[-30:])
            if look not in seen:
                seen.add(look)
                screen.show(said)
                await at_rest(pilot)
                if not all_in_sight(app):
                    cut.append(f"{prompt.id}\n{text_of(app)}")
            if session.walker.closed:
                break
            sensed = session.sense()
            assert sensed is not None
            said = session.walker.reply(sensed.answer, sensed.texts)
        assert session.walker.closed
    session.close()
    assert not cut, "\n".join(cut[:3]) + f"\n{len(cut)} in all"
