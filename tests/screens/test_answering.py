"""Which key is an answer, which is typed, what is asked next: the answer line by itself."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import pytest
from textual.app import ComposeResult
from textual.events import Key
from textual.pilot import Pilot

from heelwise.screens.answer import TOO_SOON, AnswerLine
from heelwise.screens.styled_text import LengthChoice
from heelwise.screens.theme import THEMES
from heelwise.walk.prompts import A_NOTE, Ask, Option, Prompt
from tests.screens.pressing import text_in, text_of

ACCEPT = Option("4", "accept as is", ("who accepts it", "the reason"))
END = Option("c", "no click: count ended", also="9")
SKIP = Option("s", "skip it", ("the reason",))

Answer = tuple[str, tuple[str, ...]]


def prompt(ask: Ask, *options: Option) -> Prompt:
    reading = {Ask.CHOICE: "", Ask.NOTE: A_NOTE, Ask.READING: "turns"}[ask]
    return Prompt("test", "How many?", options=options, reading=reading)


class Asking(LengthChoice):
    """Asks one prompt, and keeps what it is answered."""

    def __init__(self, asked: Prompt, held_key_s: float) -> None:
        super().__init__()
        self.asked, self.held_key_s, self.given = asked, held_key_s, list[Answer]()
        self.register_theme(THEMES["dark"])
        self.theme = "dark"

    def compose(self) -> ComposeResult:
        yield AnswerLine(self.held_key_s)

    def on_mount(self) -> None:
        self.query_one(AnswerLine).ask(self.asked)

    def on_key(self, event: Key) -> None:
        if self.focused is None:
            self.query_one(AnswerLine).take_key(event)

    def on_answer_line_answered(self, event: AnswerLine.Answered) -> None:
        self.given.append((event.answer, event.texts))


@asynccontextmanager
async def asking(
    asked: Prompt, held_key_s: float = 0.0
) -> AsyncIterator[tuple[Asking, AnswerLine, Pilot[int]]]:
    app = Asking(asked, held_key_s)
    async with app.run_test() as pilot:
        await pilot.pause()
        yield app, app.query_one(AnswerLine), pilot


async def test_an_options_key_acts_only_on_an_empty_line() -> None:
    async with asking(prompt(Ask.READING, END)) as (app, line, pilot):
        await pilot.press("1", "space", "c")
        assert (line.typed, app.given) == ("1 c", [])
        await pilot.press("backspace", "backspace", "backspace", "C")
        assert app.given == [("c", ())]


async def test_a_note_may_begin_with_an_options_letter() -> None:
    async with asking(prompt(Ask.NOTE, SKIP)) as (app, _, pilot):
        await pilot.press(*"sat", "enter")
        assert app.given == [("sat", ())]


async def test_texts_an_option_wants_are_asked_one_after_the_other() -> None:
    async with asking(prompt(Ask.CHOICE, ACCEPT)) as (app, line, pilot):
        await pilot.press("4", *"Ann4", "enter", *"dry", "enter")
        assert app.given == [("4", ("Ann4", "dry"))]
        line.refuse("not kept", "again")
        await pilot.press("enter")  # what was typed is still there
        assert app.given[1] == app.given[0]


async def test_back_gives_the_last_text_and_then_the_choice() -> None:
    async with asking(prompt(Ask.CHOICE, ACCEPT)) as (app, line, pilot):
        await pilot.press("4", *"Ann", "enter")
        assert "The reason" in text_of(app)
        assert line.back()
        assert line.typed == "Ann"
        assert "Who accepts it" in text_of(app)
        assert line.back()
        assert not line.back()
        assert app.focused is None


@pytest.mark.parametrize("ask", list(Ask))
@pytest.mark.parametrize("blank", ["", "  "])
async def test_nothing_typed_answers_nothing(ask: Ask, blank: str) -> None:
    async with asking(prompt(ask, END)) as (app, _, pilot):
        await pilot.press(*["space" for _ in blank], "enter")
        assert app.given == []
        assert text_in(app, "#remark")


async def test_a_key_right_behind_itself_or_a_stray_one_answers_nothing() -> None:
    async with asking(prompt(Ask.CHOICE, END), 60.0) as (app, line, pilot):
        await pilot.press("x", "c")
        assert app.given == []
    async with asking(prompt(Ask.CHOICE, END), 60.0) as (app, line, pilot):
        await pilot.press("c")
        line.ask(prompt(Ask.CHOICE, END))
        await pilot.press("c")
        assert len(app.given) == 1
        assert TOO_SOON[0] in text_of(app)
        await pilot.press("9")  # another key is meant
        assert len(app.given) == 2
