"""On the bench, from a finished build: another like it, a re-check, two held against each other."""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

from heelwise.documents.record import read_record
from heelwise.documents.setup import load_setup
from heelwise.screens.app import HeelwiseApp
from heelwise.screens.bench import BenchScreen
from heelwise.screens.modals import MessageScreen
from heelwise.screens.reading import CompareScreen
from heelwise.screens.setup_form import SetupFormScreen
from heelwise.screens.start import StartScreen
from heelwise.screens.walk import WalkScreen
from tests.screens.pressing import MIDDLE, send_key, shows, until
from tests.shop.folders import SAMPLE, another


@asynccontextmanager
async def bench(folder: Path) -> AsyncIterator[HeelwiseApp]:
    app = HeelwiseApp(folder, held_key_s=0.0)
    async with app.run_test(size=MIDDLE, notifications=True):
        await app.workers.wait_for_complete()
        await until(app, "its row", lambda: shows(app, "signed off"))
        yield app


async def point_at(app: HeelwiseApp, name: str) -> None:
    for character in name:
        send_key(app, character)
    await until(app, "one row", lambda: shows(app, "1 of "))


async def test_another_like_it_opens_in_the_form_and_begins_by_keys(tmp_path: Path) -> None:
    first = another(tmp_path / "first.toml")
    async with bench(tmp_path) as app:
        send_key(app, "f4")
        await until(app, "the form", lambda: isinstance(app.screen, SetupFormScreen))
        await until(app, "its name", lambda: shows(app, "first-1"))
        send_key(app, "f5")
        await until(app, "the start", lambda: isinstance(app.screen, StartScreen))
        send_key(app, "enter")
        send_key(app, "enter")
        await until(app, "the initials", lambda: app.focused is not None and app.focused.id == "by")
        for key in ("A", "O", "enter"):
            send_key(app, key)
        await until(app, "the walk", lambda: isinstance(app.screen, WalkScreen))
        await until(app, "its question", lambda: shows(app, "spec sheets"))
    setup, made = load_setup(tmp_path / "first-1.toml"), read_record(tmp_path / "first-1-1.toml")
    assert setup.pushrods is not None
    assert setup.pushrods.intake == "219.00 mm"  # as the sample ended
    assert made.head.setup.before is not None
    assert made.head.setup.before.last_seal == read_record(first).last_seal
    assert made.head.build.seed is not None  # like a rehearsal, and so one


async def test_a_re_check_begins_from_a_finished_build_and_no_other(tmp_path: Path) -> None:
    first = another(tmp_path / "first.toml")
    shutil.copy(SAMPLE.parent / "harbor-launch-six-starboard.toml", tmp_path / "under-way.toml")
    async with bench(tmp_path) as app:
        await point_at(app, "first")
        send_key(app, "f8")
        await until(app, "the start", lambda: isinstance(app.screen, StartScreen))
        for _ in range(2):
            send_key(app, "enter")
        for key in ("A", "O", "enter"):
            send_key(app, key)
        await until(app, "the walk", lambda: isinstance(app.screen, WalkScreen))
        await until(app, "its question", lambda: shows(app, "spec sheets"))
    made = read_record(tmp_path / "first-1.toml")
    assert made.head.procedure.method.name == "recheck"
    before, record = made.head.setup.before, read_record(first)
    assert before is not None
    assert (before.record, before.last_seal) == ("first", record.last_seal)
    assert len(made.head.setup.reading) == 12
    async with bench(tmp_path) as app:
        await point_at(app, "under")
        send_key(app, "f8")
        await until(app, "why not", lambda: isinstance(app.screen, MessageScreen))


async def test_two_marked_builds_are_compared(tmp_path: Path) -> None:
    another(tmp_path / "first.toml")
    another(tmp_path / "later.toml", 90)
    async with bench(tmp_path) as app:
        send_key(app, "f6")
        await until(app, "the mark", lambda: shows(app, "F6 on another"))
        send_key(app, "down")
        send_key(app, "f6")
        await until(app, "both", lambda: isinstance(app.screen, CompareScreen))
        await until(app, "the older first", lambda: shows(app, "first → later"))
        send_key(app, "escape")
        await until(app, "the bench", lambda: isinstance(app.screen, BenchScreen))
        await until(app, "no mark", lambda: not shows(app, "F6 on another"))
