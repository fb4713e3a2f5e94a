"""Keys pressed twice at once, keys mashed, bytes that can't be read, windows too small."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from textual.geometry import Size

from heelwise.screens.app import HeelwiseApp
from heelwise.screens.bench import BenchScreen
from heelwise.screens.drawn import TextLine
from heelwise.screens.key_actions import key_actions
from heelwise.screens.modals import MenuScreen, lettered
from heelwise.screens.setup_form import SetupFormScreen
from heelwise.screens.terminal import SMALLEST, UNREADABLE, TooSmallScreen
from heelwise.screens.walk import WalkScreen
from heelwise.session import Session
from tests.screens.pressing import (
    SETUP,
    SMALL,
    all_done,
    app_on,
    send_key,
    shows,
    text_of,
    until,
)
from tests.screens.scenes import opened

F_KEYS = [f"f{number}" for number in range(1, 13) if number != 10]
OTHERS = ["escape", "enter", "up", "down", "pageup", "pagedown", "left", "right", "home", "end"]
PRINTED = list("123456789abcdnyvxs .-/°")
EVERY_KEY = [*F_KEYS, *OTHERS, *PRINTED]

HOME = {"walk": (), "menu": ("escape",), "record": ("f2",), "cross out": ("f4",)}
HOME |= {"sheet": ("f6",), "note": ("f7",), "hand over": ("f8",), "pushrods": ("f9",)}
HOME |= {"help": ("f1",), "crank lost": ("f3",), "reason": ("f4", "enter")}
"""The keys that lead from the walk to each screen over it."""


def at_fit(session: Session) -> bool:
    """At the first valve of Fit."""
    return session.walker.prompt.phase == "fit" and session.walker.prompt.valve is not None


def at_work(folder: Path) -> Session:
    """A rehearsal with the first valves of Fit under way, walked there once."""
    return opened(folder, at_fit)


@pytest.mark.parametrize("place", HOME)
async def test_every_key_twice_in_one_write_acts_as_if_pressed_slowly(
    place: str, tmp_path: Path
) -> None:
    """A key whose first press leads on or closes: the second is for what then stands."""
    session = at_work(tmp_path)
    app = app_on(session)
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "the walk", lambda: shows(app, "FIT"))
        letters = lettered(key_actions(app.screen)).items()
        leaves = next(letter for letter, action in letters if action.label == "Leave")
        for step in HOME[place]:
            send_key(app, step)
        await all_done(app)
        over = type(app.screen)
        for key in EVERY_KEY:
            if (place, key) == ("menu", leaves):
                continue
            if type(app.screen) is not over:
                await _back_to_the_walk(app, session)
                for step in HOME[place]:
                    send_key(app, step)
            known = len(session.record.entries)
            send_key(app, key)
            send_key(app, key)
            await all_done(app)
            kept = session.record.entries[known:]
            kinds = [entry.body.kind for entry in kept]
            assert len(kinds) == len(set(kinds)), f"{key} in {place} kept {kinds}"
        await _back_to_the_walk(app, session)
        assert app.return_value is None  # it ran to the last key
    session.close()


async def _back_to_the_walk(app: HeelwiseApp, session: Session) -> None:
    for _ in range(12):
        if isinstance(app.screen, WalkScreen) and app.session is session:
            return
        if app.session is None:  # paused: open the build again
            session.close()
            app.walk(_again(session))
        send_key(app, "escape")
        await all_done(app)
    raise AssertionError(f"no way back\n{text_of(app)}")


def _again(session: Session) -> Session:
    from heelwise.session import open_session

    opened = open_session(session.file)
    session.record, session.walker, session.truth = opened.record, opened.walker, opened.truth
    return session


async def test_enter_three_times_on_the_bench_opens_a_build_once(tmp_path: Path) -> None:
    at_work(tmp_path).close()
    app = HeelwiseApp(tmp_path, held_key_s=0.0)
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "the bench", lambda: shows(app, "▶ timber-hauler"))
        for _ in range(3):
            send_key(app, "enter")
        await until(app, "the walk", lambda: isinstance(app.screen, WalkScreen))
        await all_done(app)
        assert isinstance(app.screen, WalkScreen)
        assert sum(isinstance(screen, WalkScreen) for screen in app.screen_stack) == 1


BEFORE_A_BUILD = {"bench": (), "form": ("f3",), "start": ("enter",)}
"""The keys that lead from the bench, on a setup, to each screen over it."""


@pytest.mark.parametrize("place", BEFORE_A_BUILD)
async def test_every_key_twice_before_a_build_is_begun_ends_nothing(
    place: str, tmp_path: Path
) -> None:
    (tmp_path / "tug.toml").write_text(SETUP.read_text())
    app = HeelwiseApp(tmp_path, held_key_s=0.0, by="MK")
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "the bench", lambda: shows(app, "tug"))
        over = None
        for key in EVERY_KEY:
            if type(app.screen) is not over:
                await _back_to_the_bench(app)
                for step in ("home", *BEFORE_A_BUILD[place]):
                    send_key(app, step)
                await all_done(app)
                over = over or type(app.screen)
            send_key(app, key)
            send_key(app, key)
            await all_done(app)
        await _back_to_the_bench(app)
        assert app.return_value is None  # it ran to the last key
    app.close()


async def _back_to_the_bench(app: HeelwiseApp) -> None:
    leaves = {WalkScreen: "f5", SetupFormScreen: "f9"}
    for _ in range(12):
        if isinstance(app.screen, BenchScreen):
            return
        send_key(app, leaves.get(type(app.screen), "escape"))
        await all_done(app)
    raise AssertionError(f"no way back\n{text_of(app)}")


@pytest.mark.parametrize(
    "text", ["f7 4 e enter d r y enter enter", "escape 7 4 e enter d r y enter enter"]
)
async def test_what_is_typed_after_a_key_goes_to_what_it_opens(text: str, tmp_path: Path) -> None:
    session = at_work(tmp_path)
    app = app_on(session)
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "the walk", lambda: shows(app, "FIT"))
        for key in text.split():
            send_key(app, key)
        await all_done(app)
        last = session.record.entries[-1].body
        assert (last.kind, getattr(last, "valve", ""), getattr(last, "text", "")) == (
            "noted",
            "4E",
            "dry",
        )
    session.close()


@pytest.mark.parametrize("seed", range(6))
async def test_mashed_keys_end_nothing_and_lose_nothing(seed: int, tmp_path: Path) -> None:
    """All over the program, from the bench on; whatever was kept is kept in its order."""
    chance = random.Random(seed)
    (tmp_path / "tug.toml").write_text(SETUP.read_text())
    at_work(tmp_path).close()
    app = HeelwiseApp(tmp_path, held_key_s=0.0, by="MK")
    async with app.run_test(size=SMALL, notifications=True):
        for _ in range(60):
            key = chance.choice(EVERY_KEY)
            for _ in range(chance.choice((1, 1, 2, 5))):
                send_key(app, key)
            if chance.random() < 0.5:
                await all_done(app)
            if app.return_value is not None:
                break
        await all_done(app)
        if app.session is not None:
            numbers = [entry.number for entry in app.session.record.entries]
            assert numbers == list(range(1, len(numbers) + 1))
    app.close()


async def test_a_letter_held_in_the_list_of_everything(tmp_path: Path) -> None:
    (tmp_path / "tug.toml").write_text(SETUP.read_text())
    app = HeelwiseApp(tmp_path, held_key_s=0.0)
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "the bench", lambda: shows(app, "tug"))
        for letter in "bcdefgh123456789a":
            send_key(app, "escape")
            for _ in range(10):
                send_key(app, letter)
            await all_done(app)
            if app.return_value is not None:
                return
            for _ in range(8):
                send_key(app, "escape")
                if not isinstance(app.screen, MenuScreen):
                    break
            await all_done(app)


async def test_a_byte_that_cannot_be_read_is_told_and_nothing_is_lost(tmp_path: Path) -> None:
    session = at_work(tmp_path)
    app = app_on(session)
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "the walk", lambda: shows(app, "FIT"))
        send_key(app, "f7")
        for key in ("4", "E", UNREADABLE):
            send_key(app, key)
        await all_done(app)
        await until(app, "the remark", lambda: shows(app, "type deg"))
        line = app.focused
        assert isinstance(line, TextLine)
        assert line.value == "4E"
    session.close()


def _one_less(size: Size) -> list[tuple[int, int]]:
    return [(size.width - 1, size.height), (size.width, size.height - 1), (20, 5)]


@pytest.mark.parametrize("size", _one_less(SMALLEST))
async def test_a_window_too_small_takes_no_answer(size: tuple[int, int], tmp_path: Path) -> None:
    session = at_work(tmp_path)
    known = len(session.record.entries)
    app = app_on(session)
    async with app.run_test(size=size, notifications=True) as pilot:
        await until(app, "how large", lambda: isinstance(app.screen, TooSmallScreen))
        for key in ("y", "1", "enter", "f7", "escape"):
            send_key(app, key)
        await all_done(app)
        assert len(session.record.entries) == known
        assert str(SMALLEST.width) in text_of(app)
        await pilot.resize_terminal(*SMALL)
        await until(app, "the walk", lambda: isinstance(app.screen, WalkScreen))
    session.close()
