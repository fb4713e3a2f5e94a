"""Driving the program by key presses, with a virtual engine's hands and eyes."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta, timezone
from pathlib import Path

os.environ["TEXTUAL_ANIMATIONS"] = "none"

from textual.pilot import Pilot

from heelwise.documents.library import find_procedures
from heelwise.documents.procedure import load_procedure
from heelwise.documents.record_writing import open_record
from heelwise.rehearsal.rehearse import begin_rehearsal
from heelwise.screens.app import HeelwiseApp
from heelwise.screens.sitting import Sitting
from heelwise.screens.walk import WalkScreen
from heelwise.walk.prompts import Ask

AT = datetime(2026, 3, 2, 9, 30, tzinfo=timezone(timedelta(hours=1)))

SMALL, MIDDLE, LARGE = (80, 24), (100, 30), (140, 45)


def rehearsal(folder: Path, card: str = "v8-15426378", seed: int = 1, name: str = "r") -> Sitting:
    """A rehearsal just begun."""
    path = find_procedures()["bolt-down-rockers"]
    text = path.read_text(encoding="utf-8")
    made = begin_rehearsal(folder / f"{name}.toml", card, seed, load_procedure(path), text, AT)
    return Sitting(made)


def resumed(file: Path) -> Sitting:
    """A rehearsal opened again."""
    sitting = Sitting(open_record(file))
    sitting.take_up_again()
    return sitting


def app_on(sitting: Sitting) -> HeelwiseApp:
    """The program on an open build, every key press counted as meant."""
    return HeelwiseApp(sitting.file.parent, sitting=sitting, held_key_s=0.0)


@contextmanager
def walked(sitting: Sitting, answers: int) -> Iterator[Sitting]:
    """A sitting some answers further on, without a screen."""
    for _ in range(answers):
        found = sitting.sense()
        assert found is not None
        sitting.walker.reply(found.answer, found.texts)
    yield sitting
    sitting.close()


def keys_for(sitting: Sitting) -> list[str]:
    """The key presses that give the answer hands and eyes lead to."""
    found = sitting.sense()
    assert found is not None
    prompt = sitting.walker.prompt
    typed = [key for text in found.texts for key in (*text, "enter")]
    option = prompt.option(found.answer)
    if option is None:
        return [*found.answer, "enter"]
    if prompt.ask is Ask.NOTE:
        return ["escape", "1", *typed]
    return [option.key, *typed]


async def answer(pilot: Pilot[int], sitting: Sitting) -> int:
    """Answer the prompt that stands by key presses; how many there were."""
    keys = keys_for(sitting)
    await pilot.press(*keys)
    return len(keys)


def text_of(app: HeelwiseApp) -> str:
    """All that the screen shows."""
    rows = app.screen._compositor.render_strips()
    return "\n".join("".join(segment.text for segment in row).rstrip() for row in rows)


def walk_screen(app: HeelwiseApp) -> WalkScreen:
    """The screen, which is the walk's."""
    assert isinstance(app.screen, WalkScreen)
    return app.screen
