"""Text from files and keyboards is shown as text: no markup, no control characters, no actions."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from hypothesis import given
from hypothesis import strategies as st
from textual.screen import Screen

from heelwise.documents.record import read_record
from heelwise.screens.app import HeelwiseApp
from heelwise.screens.modals import MenuScreen, MessageScreen
from heelwise.screens.reading import HelpScreen, SheetScreen
from heelwise.screens.styled_text import content
from heelwise.screens.theme import TONES
from heelwise.screens.timeline import TimelineScreen
from heelwise.screens.walk import WalkScreen
from heelwise.valvetrain.engine import Valve
from tests.screens.pressing import (
    LARGE,
    SMALL,
    app_on,
    go_on,
    rehearsal,
    send_key,
    shows,
    text_of,
    until,
)

ESC, BIDI, C1 = "\x1b]0;gone\x07", "\u202e", "\x9b31m"
MARKUP = "[/] [@click=app.exit]press[/] [bold red]"
NASTY = f"{MARKUP}{ESC}{BIDI}{C1}"
FORBIDDEN = set(map(chr, (*range(32), *range(127, 160), *range(0x202A, 0x202F)))) - {"\n"}


def clean(app: HeelwiseApp) -> None:
    """Nothing that a console would obey is on the screen."""
    assert not FORBIDDEN & set(text_of(app))


async def seen(app: HeelwiseApp, press: str, kind: type[Screen[Any]]) -> None:
    send_key(app, press)
    await until(app, kind.__name__, lambda: isinstance(app.screen, kind))
    await until(app, "it drawn", lambda: text_of(app).strip() != "")
    clean(app)


async def test_hostile_text_through_every_screen(tmp_path: Path) -> None:
    session = rehearsal(tmp_path)
    go_on(session, 66)
    walker = session.walker
    walker.note(NASTY)
    walker.note(NASTY, Valve.parse("4E"))
    walker.hand_over(NASTY[:40])
    walker.cross_out(len(session.record.entries) - 1, NASTY)
    app = app_on(session)
    async with app.run_test(size=LARGE, notifications=True, tooltips=True):
        await until(app, "the walk", lambda: isinstance(app.screen, WalkScreen))
        await until(app, "the entry", lambda: "[@click=app.exit]" in text_of(app))
        clean(app)
        for press, kind in (
            ("f2", TimelineScreen),
            ("f4", TimelineScreen),
            ("f6", SheetScreen),
            ("f1", HelpScreen),
            ("escape", MenuScreen),
        ):
            await seen(app, press, kind)
            await seen(app, "escape", WalkScreen)
        app.notify(NASTY, markup=False)
        app.push_screen(MessageScreen(NASTY, content([(NASTY, "bad")])))
        await until(app, "the message", lambda: "[bold red]" in text_of(app))
        clean(app)
        assert app.is_running
    session.close()
    assert "[@click=app.exit]" in str(read_record(session.file).entries[-2].body)


async def test_hostile_names_in_a_setup_and_its_folder(tmp_path: Path) -> None:
    folder = tmp_path / f"{MARKUP.replace('/', '')}{BIDI}"
    folder.mkdir()
    setup = (Path(__file__).parents[1] / "samples" / "tug.toml").read_text()
    setup = setup.replace("short click wrench, drawer 2", MARKUP)
    (folder / "[b]tug[@click=x].toml").write_text(setup)
    (folder / "broken.toml").write_text(f'format = 1\n[engine]\ncard = "{MARKUP}"\n')
    app = HeelwiseApp(folder, held_key_s=0.0)
    async with app.run_test(size=SMALL, notifications=True, tooltips=True):
        await until(app, "both", lambda: "broken" in text_of(app) and "[b]tug" in text_of(app))
        clean(app)
        for character in "tug":
            send_key(app, character)
        await until(app, "the setup", lambda: "not begun" in text_of(app))
        send_key(app, "enter")
        await until(app, "it understood", lambda: "every 90°" in text_of(app))
        clean(app)
        assert "b-tug-click-x-1" in text_of(app)


async def test_a_pasted_text_is_made_plain(tmp_path: Path) -> None:
    from textual.events import Paste

    session = rehearsal(tmp_path)
    while session.walker.prompt.records != "count":
        go_on(session, 1)
    app = app_on(session)
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "the question", lambda: shows(app, session.walker.prompt.question[:12]))
        app.post_message(Paste(f"5/8{NASTY}\nand more"))
        await until(app, "it pasted", lambda: "5/8[/]" in text_of(app))
        clean(app)
    session.close()


@given(text=st.text(max_size=40))
def test_no_tone_makes_text_anything_else(text: str) -> None:
    made = content([(text, "bad"), (text, "plain")])
    assert not FORBIDDEN & set(made.plain) - {"\t"}
    assert {str(span.style) for span in made.spans} <= {TONES["bad"]}
