"""Keys are data: an action, a label and a sentence each; bar, help and menu come of them."""

from __future__ import annotations

import inspect
from pathlib import Path
from typing import Any

import pytest
from textual.binding import Binding

from heelwise.screens.answer import AnswerLine
from heelwise.screens.app import HeelwiseApp
from heelwise.screens.bench import BenchScreen
from heelwise.screens.drawn import Rows
from heelwise.screens.key_actions import bar, key_actions
from heelwise.screens.modals import AskScreen, MenuScreen, MessageScreen, SaveFailedScreen, lettered
from heelwise.screens.reading import PAGES, HelpScreen, PushrodsScreen, SheetScreen, page_text
from heelwise.screens.setup_fields import CopyFromScreen
from heelwise.screens.setup_form import SetupFormScreen
from heelwise.screens.start import StartScreen
from heelwise.screens.timeline import TimelineScreen
from heelwise.screens.walk import WalkScreen
from tests.screens.pressing import (
    SMALL,
    answer,
    app_on,
    go_on,
    go_on_to_fit,
    rehearsal,
    send_key,
    shows,
    text_of,
    type_text,
    until,
)

HOLDERS: list[type[Any]] = [
    HeelwiseApp,
    AskScreen,
    BenchScreen,
    HelpScreen,
    MenuScreen,
    MessageScreen,
    CopyFromScreen,
    PushrodsScreen,
    SetupFormScreen,
    SheetScreen,
    StartScreen,
    TimelineScreen,
    SaveFailedScreen,
    WalkScreen,
    AnswerLine,
    Rows,
]


@pytest.mark.parametrize("holder", HOLDERS, ids=lambda h: h.__name__)
def test_every_key_has_an_action_a_label_and_a_sentence(holder: type[Any]) -> None:
    assert holder.BINDINGS
    for binding in holder.BINDINGS:
        assert isinstance(binding, Binding)
        name = binding.action.partition("(")[0]
        owner: type[Any] = HeelwiseApp if name.startswith("app.") else holder
        action = getattr(owner, f"action_{name.removeprefix('app.')}", None)
        assert callable(action), binding
        assert inspect.getdoc(action), binding
        assert 0 < len(binding.description) <= 12
        assert binding.tooltip.endswith(".")


@pytest.mark.parametrize("holder", HOLDERS, ids=lambda h: h.__name__)
def test_no_chord_is_the_only_way(holder: type[Any]) -> None:
    for binding in holder.BINDINGS:
        assert any("+" not in key for key in binding.key.split(",")), binding


@pytest.mark.parametrize("page", sorted(set(PAGES.values())))
def test_every_page_of_help_is_there(page: str) -> None:
    assert page_text(page).startswith("## ")


async def test_the_bar_and_the_menu_say_what_can_be_done_now(tmp_path: Path) -> None:
    session = rehearsal(tmp_path)
    app = app_on(session)
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "the walk", lambda: shows(app, "F1 Help"))
        assert "Crank?" not in text_of(app)  # the crank has no place yet
        labels = {thing.label for thing in key_actions(app.screen)}
        assert "Pushrods" not in labels
        send_key(app, "escape")
        await until(app, "the menu", lambda: shows(app, "What can be done now"))
        assert "Cross out" in text_of(app)
        assert "Crank?" not in text_of(app)
        send_key(app, "escape")
        await until(app, "the walk again", lambda: isinstance(app.screen, WalkScreen))
    session.close()


def test_a_menu_gives_an_f_keys_digit_and_letters_to_the_rest() -> None:
    from heelwise.screens.key_actions import KeyAction

    async def nothing() -> None:
        return None

    keys = ("F1", "F10", "s", "Enter", "Esc", "PgDn", "F9", "F12")
    things = [KeyAction(key, key, key, False, nothing) for key in keys]
    found = {letter: thing.key for letter, thing in lettered(things).items()}
    assert found == {"1": "F1", "9": "F9", "a": "F10", "b": "F12", "s": "s"}


def test_the_bar_drops_keys_from_the_end_but_never_the_way_to_the_rest() -> None:
    from heelwise.screens.key_actions import KeyAction

    async def nothing() -> None:
        return None

    things = [KeyAction(f"F{n}", "Something", "", True, nothing) for n in range(1, 10)]
    things.append(KeyAction("Esc", "More", "", True, nothing))
    said = bar(things, 40).plain
    assert len(said) <= 41
    assert said.startswith("F1 Something")
    assert "Esc More" in said
    assert "F9" not in said


async def test_by_the_menu_alone(tmp_path: Path) -> None:
    """A keyboard without F keys: a note, the crank lost, crossing out, handing over, the sheet."""
    session = rehearsal(tmp_path)
    go_on_to_fit(session)
    walker = session.walker
    app = app_on(session)

    async def do(letter: str, *texts: str) -> None:
        send_key(app, "escape")
        await until(app, "the menu", lambda: isinstance(app.screen, MenuScreen))
        send_key(app, letter)
        away = (MenuScreen, WalkScreen) if texts else (MenuScreen,)
        await until(app, "what it opens", lambda: not isinstance(app.screen, away))
        for text in texts:
            await type_text(app, text)

    def last() -> str:
        return session.record.entries[-1].body.kind

    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "the walk", lambda: shows(app, "FIT"))
        await do("7", "4e", "guide felt dry", "dscf-0042.jpg")
        await until(app, "a note", lambda: last() == "noted")
        assert getattr(session.record.entries[-1].body, "valve", "") == "4E"
        await until(app, "the walk", lambda: isinstance(app.screen, WalkScreen))
        await do("8", "BB")
        await until(app, "handed over", lambda: walker.by == "BB")
        await until(app, "the walk", lambda: isinstance(app.screen, WalkScreen))
        await do("3", "the bar slipped")
        await until(app, "the crank lost", lambda: last() == "crank lost")
        await until(app, "feeling", lambda: shows(app, "Feel "))
        await do("6")
        await until(app, "the sheet", lambda: isinstance(app.screen, SheetScreen))
        send_key(app, "escape")
        await until(app, "the walk", lambda: isinstance(app.screen, WalkScreen))
        await answer(app, session)
    session.close()


async def test_a_note_refused_stays_to_be_mended(tmp_path: Path) -> None:
    session = rehearsal(tmp_path)
    go_on_to_fit(session)
    kept = len(session.record.entries)
    app = app_on(session)
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "the walk", lambda: shows(app, "FIT"))
        send_key(app, "f7")
        await until(app, "the note", lambda: isinstance(app.screen, AskScreen))
        await type_text(app, "9X")
        await until(app, "refused at once", lambda: shows(app, "✗"))
        for _ in "9X":
            send_key(app, "backspace")
        await type_text(app, "")
        await type_text(app, "felt dry")
        await type_text(app, "../photo.jpg")
        await until(app, "refused", lambda: shows(app, "✗"))
        assert len(session.record.entries) == kept
        for _ in ("the photograph", "the note", "the valve"):
            send_key(app, "escape")
        await until(app, "the walk", lambda: isinstance(app.screen, WalkScreen))
    session.close()


async def test_crossing_out_by_keys_and_what_falls_with_it(tmp_path: Path) -> None:
    session = rehearsal(tmp_path)
    while session.walker.prompt.phase != "fit" or session.record.entries[-1].body.kind != "read":
        go_on(session, 1)
    struck = session.record.entries[-1].number
    app = app_on(session)
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "the walk", lambda: shows(app, "FIT"))
        send_key(app, "f4")
        await until(app, "the entries", lambda: isinstance(app.screen, TimelineScreen))
        await until(app, "the last pointed at", lambda: shows(app, "▶"))
        send_key(app, "enter")
        await until(app, "the reason asked", lambda: shows(app, f"Cross out entry {struck}"))
        await type_text(app, "lash was left in")
        await until(app, "it crossed out", lambda: struck in session.walker.state.crossed)
        await until(app, "it said", lambda: shows(app, f"Entry {struck} is crossed out"))
        send_key(app, "f2")
        await until(app, "shown so", lambda: shows(app, "✗ crossed out"))
        assert "lash was left in" in text_of(app)
    session.close()
