"""Each screen as it was last looked at, cell by cell; and beside it what must be readable."""

from __future__ import annotations

from difflib import unified_diff
from pathlib import Path

import pytest

from heelwise.screens.app import HeelwiseApp
from heelwise.screens.placard import large
from heelwise.screens.walk import WalkScreen
from heelwise.wording import painted
from tests.screens.make_snapshots import SNAPSHOTS
from tests.screens.pressing import SMALL, all_in_sight, text_in
from tests.screens.scenes import SCENES, Scene, Size, file_name, shown

KEPT = [(scene, size) for scene in SCENES for size in scene.sizes]
REMAKE = "if this is how it should look: python -m tests.screens.make_snapshots"


@pytest.mark.parametrize(("scene", "size"), KEPT, ids=[file_name(*kept)[:-4] for kept in KEPT])
async def test_a_screen_is_as_it_was_and_can_be_read(
    scene: Scene, size: Size, tmp_path: Path
) -> None:
    file = SNAPSHOTS / file_name(scene, size)
    async with shown(scene, size, tmp_path) as (pilot, text):
        app = pilot.app
        assert isinstance(app, HeelwiseApp)
        for part, told in scene.told:
            assert told in text_in(app, part)
        # at 80x24 the figure of a turn gives way to what is answered
        for figure in scene.large if size != SMALL else ():
            assert any(large(figure, scale)[0].strip() in text for scale in (1, 2)), figure
        if isinstance(app.screen, WalkScreen):
            assert all_in_sight(app)
            question = painted(app.screen.session.walker.prompt.question, app.lengths)
            assert " ".join(question.split()) in text_in(app, "#above")
    kept = file.read_text(encoding="utf-8")
    diff = unified_diff(kept.split("\n"), text.split("\n"), file.name, "now", lineterm="")
    assert kept == text, "\n".join([REMAKE, *diff])


def test_every_snapshot_is_of_a_scene() -> None:
    assert {file.name for file in SNAPSHOTS.iterdir()} == {file_name(*kept) for kept in KEPT}


@pytest.mark.parametrize(("scene", "size"), KEPT, ids=[file_name(*kept)[:-4] for kept in KEPT])
def test_a_snapshot_fills_its_size_and_no_more(scene: Scene, size: Size) -> None:
    kept = (SNAPSHOTS / file_name(scene, size)).read_text(encoding="utf-8")
    rows = kept.removesuffix("\n").split("\n")
    assert len(rows) == size[1]
    assert max(map(len, rows)) <= size[0]
