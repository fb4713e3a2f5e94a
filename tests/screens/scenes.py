"""The screens a snapshot is kept of, each brought to one moment with time and answers fixed."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone, tzinfo
from functools import cache
from pathlib import Path
from typing import Any
from unittest.mock import patch

from textual.app import App
from textual.containers import VerticalScroll
from textual.pilot import Pilot

from heelwise.documents.record import open_record
from heelwise.screens import bench, theme
from heelwise.screens.app import HeelwiseApp
from heelwise.screens.reading import HelpScreen, PushrodsScreen, SheetScreen
from heelwise.screens.setup_fields import id_of
from heelwise.session import Session
from tests.screens.pressing import (
    LARGE,
    MIDDLE,
    SMALL,
    answer,
    app_on,
    at_rest,
    go_on,
    rehearsal,
    send_key,
    shows,
    until,
)

Size = tuple[int, int]
Told = tuple[tuple[str, str], ...]
"""A part of the screen by its selector, and a text that must be readable in it."""

SAMPLES = Path(__file__).parents[2] / "sample_builds"
NOW = datetime(2026, 3, 16, 8, 0, tzinfo=timezone(timedelta(hours=1)))
OLDEST_S = 1_772_000_000
"""When the oldest file of the bench was touched, in 2026."""

WALK_KEYS = ("KeyBar", "F1 Help F2 Record"), ("KeyBar", "Esc More")


@dataclass(frozen=True)
class Scene:
    """A moment of a screen, the sizes it is kept at, and what must be readable at each.

    The large texts are those that must be readable from two metres.
    """

    name: str
    sizes: tuple[Size, ...]
    play: Callable[[Path, Size], AbstractAsyncContextManager[Pilot[int]]]
    told: Told
    large: tuple[str, ...] = ()


class Then(datetime):
    """A clock that stands still."""

    @classmethod
    def now(cls, tz: tzinfo | None = None) -> Any:
        return NOW.astimezone(tz)


@cache
def record_before(found: Callable[[Session], bool]) -> bytes:
    """The record of a rehearsal that has come to a moment, made once."""
    with tempfile.TemporaryDirectory() as folder:
        session = rehearsal(Path(folder), name="timber-hauler")
        while not found(session):
            go_on(session, 1)
        session.close()
        return session.file.read_bytes()


def opened(folder: Path, found: Callable[[Session], bool]) -> Session:
    """A rehearsal at a moment, open."""
    file = folder / "timber-hauler.toml"
    file.write_bytes(record_before(found))
    return Session(open_record(file))


@asynccontextmanager
async def walk(
    folder: Path, size: Size, found: Callable[[Session], bool], answers: int
) -> AsyncIterator[tuple[HeelwiseApp, Pilot[int]]]:
    """The walk at a moment, and so many answers after it."""
    session = opened(folder, found)
    app = app_on(session)
    async with app.run_test(size=size, notifications=True) as pilot:
        await until(app, "the walk", lambda: shows(app, "Esc More"))
        for _ in range(answers):
            await answer(app, session)
        yield app, pilot
    session.close()


def at_count(session: Session) -> bool:
    """At the first count with a trial pushrod."""
    return session.walker.prompt.records == "count"


def at_turn(session: Session) -> bool:
    """At the turn to the second position of Fit."""
    prompt, valves = session.walker.prompt, session.walker.state.valves.values()
    return prompt.crank_target_deg is not None and any(one.reads for one in valves)


def at_proof(session: Session) -> bool:
    """At the first proof."""
    return session.walker.prompt.records == "proof"


def at_short_count(session: Session) -> bool:
    """At the first count that comes out short."""
    sensed = session.sense()
    assert sensed is not None
    return at_count(session) and sensed.answer == "1/4"


def at_short(session: Session) -> bool:
    """With three valves tried, the third one's pushrod too short."""
    return session.walker.prompt.id == "walk/trial-outside"


@asynccontextmanager
async def too_short(folder: Path, size: Size) -> AsyncIterator[Pilot[int]]:
    """A trial pushrod just found too short."""
    async with walk(folder, size, at_short_count, 1) as (_, pilot):
        yield pilot


@asynccontextmanager
async def turn(folder: Path, size: Size) -> AsyncIterator[Pilot[int]]:
    """The crank to be turned on."""
    async with walk(folder, size, at_turn, 0) as (_, pilot):
        yield pilot


@asynccontextmanager
async def proof(folder: Path, size: Size) -> AsyncIterator[Pilot[int]]:
    """The valves of a position to be proved."""
    async with walk(folder, size, at_proof, 0) as (_, pilot):
        yield pilot


@asynccontextmanager
async def pushrods(folder: Path, size: Size) -> AsyncIterator[Pilot[int]]:
    """The set with two valves tried."""
    async with walk(folder, size, at_short, 0) as (app, pilot):
        send_key(app, "f9")
        await until(app, "the set", lambda: isinstance(app.screen, PushrodsScreen))
        yield pilot


@asynccontextmanager
async def help_page(folder: Path, size: Size) -> AsyncIterator[Pilot[int]]:
    """Help in the walk."""
    async with walk(folder, size, at_count, 0) as (app, pilot):
        send_key(app, "f1")
        await until(app, "the help", lambda: isinstance(app.screen, HelpScreen))
        yield pilot


@asynccontextmanager
async def bench_list(folder: Path, size: Size) -> AsyncIterator[Pilot[int]]:
    """The bench with the samples, and a file that is cut."""
    for number, file in enumerate(sorted(SAMPLES.glob("*.toml"))):
        shutil.copy(file, folder / file.name)
        os.utime(folder / file.name, (OLDEST_S + number, OLDEST_S + number))
    cut = folder / "cut.toml"
    cut.write_text("format = 1\n[engine\n", encoding="utf-8")
    os.utime(cut, (OLDEST_S - 1, OLDEST_S - 1))
    app = HeelwiseApp(folder, held_key_s=0.0)
    with patch.object(bench, "datetime", Then):
        async with app.run_test(size=size, notifications=True) as pilot:
            await until(app, "the list", lambda: shows(app, " of ") and shows(app, "cut"))
            await until(app, "all read", lambda: not shows(app, "still to be read"))
            yield pilot


@asynccontextmanager
async def sheet(folder: Path, size: Size) -> AsyncIterator[Pilot[int]]:
    """The sheet of a build that was signed off."""
    file = folder / "harbor-launch-six-port.toml"
    shutil.copy(SAMPLES / file.name, file)
    app = HeelwiseApp(folder, file=file, held_key_s=0.0)
    async with app.run_test(size=size, notifications=True) as pilot:
        await until(app, "the sheet", lambda: isinstance(app.screen, SheetScreen))
        yield pilot
    app.close()


@asynccontextmanager
async def form(folder: Path, size: Size) -> AsyncIterator[Pilot[int]]:
    """The form of a new setup: named, its card being looked for."""
    app = HeelwiseApp(folder, held_key_s=0.0)
    async with app.run_test(size=size, notifications=True) as pilot:
        await until(app, "the bench", lambda: shows(app, "F3 New setup"))
        send_key(app, "f3")
        for field, text in (("file.name", "barge-two"), ("engine.card", "1-8-4")):
            place = id_of(field)
            await until(
                app,
                field,
                lambda place=place: getattr(app.focused, "id", "") == place,  # type: ignore[misc]
            )
            for character in text:
                send_key(app, character)
            await until(app, text, lambda text=text: shows(app, text))  # type: ignore[misc]
            if field == "file.name":
                send_key(app, "enter")
        await until(app, "a card", lambda: shows(app, "v8-18436572"))
        yield pilot


SCENES = (
    Scene("form", (SMALL, MIDDLE), form, (("#fields", "barge-two"), ("KeyBar", "F5 Save"))),
    Scene(
        "bench",
        (SMALL, MIDDLE, LARGE),
        bench_list,
        (
            ("Rows", "signed off"),
            ("Rows", "12 of 12"),
            ("Rows", "▪ setup"),
            ("Rows", "cut ✗ broken"),
            ("KeyBar", "F1 Help Enter Open"),
        ),
    ),
    Scene(
        "walk-too-short",
        (SMALL, MIDDLE, LARGE),
        too_short,
        (("#above", "1/4"), ("#right", "▶4I t t1/4"), *WALK_KEYS),
        ("4I", "short"),
    ),
    Scene("walk-turn", (SMALL, MIDDLE, LARGE), turn, WALK_KEYS, ("360°",)),
    Scene("walk-proof", (SMALL, MIDDLE, LARGE), proof, WALK_KEYS),
    Scene(
        "pushrods",
        (SMALL, LARGE),
        pushrods,
        (("#lines", "1/4"), ("#lines", "8.180 in"), ("KeyBar", "F11 mm")),
    ),
    Scene("sheet", (SMALL, LARGE), sheet, (("#lines", "12 proved"), ("KeyBar", "Esc"))),
    Scene(
        "help",
        (MIDDLE,),
        help_page,
        (("#page", "F4 Cross out"), ("#page", "F11 mm"), ("KeyBar", "Esc Back")),
    ),
)


def file_name(scene: Scene, size: Size) -> str:
    """What a scene's snapshot at a size is called."""
    return f"{scene.name}-{size[0]}x{size[1]}.txt"


@asynccontextmanager
async def shown(scene: Scene, size: Size, folder: Path) -> AsyncIterator[tuple[Pilot[int], str]]:
    """A scene at a size, at rest, and what it shows; the folder's name is left out of it."""
    theme.use(ascii_only=False)
    async with scene.play(folder, size) as pilot:
        yield pilot, _without(folder, _without_bars(pilot.app, await at_rest(pilot)))


def _without_bars(app: App[Any], text: str) -> str:
    """What the screen shows, less its scroll bars: one line more moves each of their cells."""
    rows = text.split("\n")
    for scrolling in app.screen.query(VerticalScroll):
        if scrolling.show_vertical_scrollbar:
            bar = scrolling.vertical_scrollbar.region
            for y in range(bar.y, min(bar.bottom, len(rows))):
                row = rows[y].ljust(bar.right)
                rows[y] = (row[: bar.x] + " " * bar.width + row[bar.right :]).rstrip()
    return "\n".join(rows)


def _without(folder: Path, text: str) -> str:
    """What the screen shows, less the name of a folder that is another one each time."""
    first, *rest = text.split("\n")
    first = first.partition(f"  {folder.resolve().anchor}")[0].rstrip()
    return "\n".join([first, *rest]) + "\n"
