"""A whole engine by key presses alone, from the first question to sign-off."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest
from heelwise.documents.record_reading import read_record
from heelwise.screens.sheet import SheetScreen

from tests.screens.pressing import LARGE, SMALL, answer, app_on, rehearsal, text_of


@pytest.mark.parametrize(("card", "size"), [("v8-15426378", SMALL), ("i4-1342", LARGE)])
async def test_walked_by_keys_to_sign_off(
    card: str, size: tuple[int, int], tmp_path: Path
) -> None:
    sitting = rehearsal(tmp_path, card)
    app = app_on(sitting)
    seen: Counter[str] = Counter()
    async with app.run_test(size=size, notifications=True) as pilot:
        await pilot.pause()
        while not sitting.walker.closed:
            seen[sitting.walker.prompt.phase] += 1
            await answer(app, sitting)
        await pilot.pause()
        assert isinstance(app.screen, SheetScreen)
        assert "signed off by" in text_of(app)
    record = read_record(sitting.file)
    assert record.entries[-1].body.kind == "signed off"
    assert {row["proved"] for row in record.last_signing} <= {"clicked", "settled"}
    assert set(seen) == {"prepare", "trial", "fit", "prove", "sign off"}
