"""Driving the program by key presses, with a virtual engine's hands and eyes."""

from __future__ import annotations

import asyncio
import os
from collections.abc import Callable
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any

os.environ["TEXTUAL_ANIMATIONS"] = "none"

from textual.app import App
from textual.events import Key
from textual.pilot import Pilot

from heelwise.documents.library import find_procedures
from heelwise.documents.procedure import load_procedure
from heelwise.documents.record import open_record
from heelwise.documents.setup import load_setup, parse_setup
from heelwise.screens.answer import AnswerLine
from heelwise.screens.app import HeelwiseApp
from heelwise.screens.drawn import TextLine
from heelwise.screens.modals import MenuScreen
from heelwise.screens.walk import WalkScreen
from heelwise.session import Session, begin_session, procedures_for
from heelwise.walk.buying import ordered_lengths
from heelwise.walk.prompts import Ask, Prompt
from heelwise.walk.walker import Clock
from tests.rehearsal.setups import begin_in_inches

AT = datetime(2026, 3, 2, 9, 30, tzinfo=timezone(timedelta(hours=1)))

SCENARIO = Path(__file__).parents[2] / "sample_builds" / "timber-hauler-eight.toml"
"""The setup of every rehearsal here, on whatever card."""

SETUP = Path(__file__).parents[1] / "samples" / "tug.toml"

LIMIT = 3_000
"""How often a condition is looked at before it is said never to hold."""

AT_REST = 3
"""How often a screen is looked at again before it counts as at rest."""

SMALL, MIDDLE, LARGE = (80, 24), (100, 30), (140, 45)


def rehearsal(folder: Path, card: str = "v8-18726543", seed: int = 1, name: str = "r") -> Session:
    """A rehearsal just begun."""
    procedure = load_procedure(find_procedures()["bolt-down-rockers"])
    tables = load_setup(SCENARIO).to_toml_dict()
    tables["engine"] = {"card": card}
    setup = parse_setup(tables, SCENARIO.name)
    made = begin_in_inches(folder / f"{name}.toml", card, seed, procedure, AT, setup)
    return Session(made)


def real_build(folder: Path, clock: Clock) -> Session:
    """A build just begun from a sample setup, no rehearsal, by a clock of ours."""
    setup = load_setup(SETUP)
    method = procedures_for(setup, SETUP.name)[0]
    begin_session(setup, method, folder, "tug", "AO").close()
    return Session(open_record(folder / "tug.toml"), clock)


WRONG = ("x", "t")
"""The options that say that something went wrong."""


def well(session: Session) -> tuple[str, tuple[str, ...]]:
    """The answer of a person with whom all goes well: blind bolts, middling counts, no moving."""
    prompt = session.walker.prompt
    readings = {"wheel-first": "20", "wheel-second": "-24"}
    if prompt.records == "count":
        return "5/8", ()
    if prompt.suggested:
        return prompt.suggested, ()
    if prompt.valves and "length" in prompt.reading:
        return ordered_lengths(session.walker.scene)[prompt.valves[0]], ()
    options = [option for option in prompt.options if option.key not in WRONG]
    if prompt.ask is not Ask.CHOICE and not options:
        return readings.get(prompt.id, "none"), ()
    if prompt.ask is Ask.NOTE:
        return "none", ()
    option = options[1 if prompt.id == "through-bolts" else 0]
    return option.key, tuple("Ann Other" for _ in option.wants)


def resumed(file: Path) -> Session:
    """A rehearsal opened again."""
    session = Session(open_record(file))
    session.resume()
    return session


def app_on(session: Session) -> HeelwiseApp:
    """The program on an open build, every key press counted as meant."""
    return HeelwiseApp(session.file.parent, session=session, held_key_s=0.0)


def go_on(session: Session, answers: int) -> None:
    """Answer so many prompts without a screen."""
    for _ in range(answers):
        found = session.sense()
        assert found is not None
        session.walker.reply(found.answer, found.texts)


def at_a_count(folder: Path, name: str = "timber-hauler") -> Session:
    """A rehearsal that stands at a count in Fit, some valves done."""
    session = rehearsal(folder, "v8-18726543", 1, name)
    go_on_to_count(session, 6)
    return session


def go_on_to_count(session: Session, number: int) -> None:
    """Answer without a screen until a count of Fit stands."""
    counted = 0
    while counted < number:
        prompt = session.walker.prompt
        counted += prompt.phase == "fit" and prompt.records == "count"
        if counted < number:
            go_on(session, 1)


def go_on_to_fit(session: Session) -> None:
    """Answer without a screen until the first valves of Fit are under way."""
    while session.walker.prompt.phase != "fit" or session.walker.prompt.valve is None:
        go_on(session, 1)


async def until(app: HeelwiseApp, what: str, holds: Callable[[], bool]) -> None:
    """Let the program go on until something holds; fails by name if it never does."""
    for _ in range(LIMIT):
        if holds():
            return
        await asyncio.sleep(0.001)
    raise AssertionError(f"never came: {what}\n{text_of(app)}")


async def at_rest(pilot: Pilot[Any]) -> str:
    """What the screen shows once nothing more is laid out anew."""
    seen: list[str] = []
    for _ in range(LIMIT):
        await pilot.pause()
        seen = [*seen[-AT_REST:], text_of(pilot.app)]
        if len(seen) > AT_REST and len(set(seen)) == 1:
            return seen[0]
    raise AssertionError(f"the screen never comes to rest\n{seen[-1]}")


async def all_done(app: HeelwiseApp) -> None:
    """Let the program go on until every key sent was dealt with: it gives them out in turn."""
    if app.return_value is None:
        marker = Key("f20", None)  # means nothing to any screen
        app.post_message(marker)
        await until(
            app,
            "the last key dealt with",
            lambda marker=marker: marker.is_forwarded or app.return_value is not None,  # type: ignore[misc]
        )


def send_key(app: HeelwiseApp, key: str) -> None:
    """One key press, as the console would send it."""
    name = {" ": "space", "/": "slash", ".": "full_stop"}.get(key, key)
    character = key if len(key) == 1 else {"enter": "\r", "escape": None}.get(key)
    app.post_message(Key(name, character))


async def type_text(app: HeelwiseApp, text: str) -> int:
    """Type a text and Enter; how many key presses that is."""
    await until(app, "a line to type in", lambda: isinstance(app.focused, TextLine))
    line = app.focused
    assert isinstance(line, TextLine)
    await until(app, "an empty line", lambda: not line.value)
    for character in text:
        send_key(app, character)
    await until(app, f"{text!r} typed", lambda: line.value == text)
    send_key(app, "enter")
    return len(text) + 1


async def answer(app: HeelwiseApp, session: Session) -> int:
    """Answer the prompt that stands by key presses; how many there were."""
    found = session.sense()
    assert found is not None
    return await press(app, session, found.answer, found.texts)


async def press(app: HeelwiseApp, session: Session, given: str, texts: tuple[str, ...] = ()) -> int:
    """Give an answer by key presses; how many there were."""
    prompt, kept = session.walker.prompt, len(session.record.entries)
    await until(app, "the question", lambda: shows(app, prompt.question[:20]))
    line = app.screen.query_one(AnswerLine)
    await until(app, "its answer line", lambda: line.prompt is prompt and not line.sent)
    option = prompt.option(given)
    if option is None:
        presses = await type_text(app, given)
    else:
        presses = await _press_option(app, option.key, prompt.ask is Ask.NOTE)
    for text in texts:
        presses += await type_text(app, text)
    await until(app, "an entry", lambda: len(session.record.entries) > kept)
    return presses


def keys_needed(prompt: Prompt, given: str, texts: tuple[str, ...] = ()) -> int:
    """How many keys an answer takes: an option's own, by the list of keys where a note is typed."""
    by_key = 2 if prompt.ask is Ask.NOTE else 1
    first = by_key if prompt.option(given) is not None else len(given) + 1
    return first + sum(len(text) + 1 for text in texts)


async def _press_option(app: HeelwiseApp, key: str, by_menu: bool) -> int:
    if not by_menu:
        send_key(app, key)
        return 1
    send_key(app, "escape")
    await until(app, "the menu", lambda: isinstance(app.screen, MenuScreen))
    send_key(app, key)
    await until(app, "the walk", lambda: isinstance(app.screen, WalkScreen))
    return 2


def shows(app: App[Any], text: str) -> bool:
    """Whether the screen shows a text."""
    return text in text_of(app)


def text_of(app: App[Any]) -> str:
    """All that the screen shows.

    Asked thousands of times; the public way, `export_screenshot`, takes ten times as long.
    """
    rows = app.screen._compositor.render_strips()
    return "\n".join("".join(segment.text for segment in row).rstrip() for row in rows)


def all_in_sight(app: HeelwiseApp) -> bool:
    """Whether question, caution, answer line and verdict are all within the screen."""
    bottom = app.size.height - 1
    parts = [app.screen.query_one(f"#{name}") for name in ("above", "answer", "told")]
    return all(0 < part.region.bottom <= bottom for part in parts if part.region.height)


def text_in(app: App[Any], selector: str) -> str:
    """What one part of the screen shows, in one line."""
    area = app.screen.query_one(selector).region
    rows = text_of(app).split("\n")[area.y : area.bottom]
    return " ".join(" ".join(row[area.x : area.right] for row in rows).split())
