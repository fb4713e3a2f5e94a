"""A key held down, pressed twice or pressed ahead answers no question that was not read."""

from __future__ import annotations

from pathlib import Path

from textual.events import Key
from textual.widgets import Input

from heelwise.screens.answer import EARLY, TOO_SOON
from heelwise.screens.app import HeelwiseApp
from heelwise.walk.buying import ordered_lengths
from tests.screens.pressing import SMALL, go_on, rehearsal, send_key, shows, until


async def test_a_key_held_down_answers_once(tmp_path: Path) -> None:
    session = rehearsal(tmp_path)
    app = HeelwiseApp(tmp_path, session=session, held_key_s=60.0)
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "the question", lambda: shows(app, session.walker.prompt.question[:12]))
        kept = len(session.record.entries)
        send_key(app, "y")
        for step in ("battery-off", "plugs-out"):
            question = session.record.head.procedure.step(step)
            assert question is not None
            await until(app, step, lambda say=question.say: shows(app, say[:24]))  # type: ignore[misc]
            send_key(app, "1")
        await until(app, "it told", lambda: shows(app, TOO_SOON[0]))
        assert len(session.record.entries) == kept + 2
    session.close()


async def test_a_word_typed_a_screen_too_late_answers_nothing(tmp_path: Path) -> None:
    """The t, u and g of a build's name are no answers here, and the y after them is none either."""
    session = rehearsal(tmp_path)
    app = HeelwiseApp(tmp_path, session=session, held_key_s=60.0)
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "the question", lambda: shows(app, session.walker.prompt.question[:12]))
        kept = len(session.record.entries)
        for character in "tugny":
            send_key(app, character)
        await until(app, "it told", lambda: shows(app, TOO_SOON[0]))
        assert len(session.record.entries) == kept
    session.close()


async def test_enter_twice_gives_a_length_to_the_valves_asked_for_only(tmp_path: Path) -> None:
    session = rehearsal(tmp_path)
    while session.walker.prompt.id != "walk/receive":
        go_on(session, 1)
    valves = session.walker.prompt.valves
    kept, length = len(session.record.entries), ordered_lengths(session.walker.scene)[valves[0]]
    app = HeelwiseApp(tmp_path, session=session, held_key_s=0.0)
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "the question", lambda: shows(app, "measure"))
        for character in length:
            send_key(app, character)
        for _ in range(3):
            send_key(app, "enter")
        await until(app, "the next question", lambda: session.walker.prompt.valves != valves)
        await until(app, "nothing more", lambda: shows(app, "then Enter"))
        assert len(session.record.entries) == kept + len(valves)
    session.close()


async def test_keys_pressed_ahead_are_no_part_of_a_reading(tmp_path: Path) -> None:
    session = rehearsal(tmp_path)
    while session.walker.prompt.records != "count":
        go_on(session, 1)
    app = HeelwiseApp(tmp_path, session=session, held_key_s=0.0)
    early = Key("1", "1")  # pressed before the program even stood
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "the question", lambda: shows(app, session.walker.prompt.question[:12]))
        app.post_message(early)
        await until(app, "it told", lambda: shows(app, EARLY[0][:20]))
        line = app.screen.query_one(Input)
        assert line.value == ""
        send_key(app, "2")
        await until(app, "it typed", lambda: line.value == "2")
    session.close()


async def test_a_key_right_after_enter_is_no_part_of_the_reading(tmp_path: Path) -> None:
    """Both wait in the queue together, as over a slow line: the reading ends at Enter."""
    session = rehearsal(tmp_path)
    while session.walker.prompt.records != "count":
        go_on(session, 1)
    app = HeelwiseApp(tmp_path, session=session, held_key_s=0.0)
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "the question", lambda: shows(app, session.walker.prompt.question[:12]))
        kept = len(session.record.entries)
        for character in "5/8":
            send_key(app, character)
        for key in ("enter", "2"):
            send_key(app, key)
        await until(app, "it kept", lambda: len(session.record.entries) > kept)
        assert getattr(session.record.entries[kept].body, "turns", "") == "5/8"
    session.close()
