"""Which key is an answer, which is typed, what is asked next: without any screen."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelwise.screens.answer import Answering, HeldKey, Remark, Send
from heelwise.walk.prompts import A_NOTE, Ask, Option, Prompt

ACCEPT = Option("4", "accept as is", ("who accepts it", "the reason"))
END = Option("c", "no click: count ended")


def prompt(ask: Ask, *options: Option) -> Prompt:
    reading = {Ask.CHOICE: "", Ask.NOTE: A_NOTE, Ask.READING: "turns"}[ask]
    return Prompt("test", "fit", "How many?", options=options, reading=reading)


def test_an_options_key_acts_only_on_an_empty_line() -> None:
    answering = Answering(prompt(Ask.READING, END))
    assert answering.key_acts("c", "")
    assert not answering.key_acts("c", "1 3")
    assert not answering.key_acts("1", "")
    assert answering.choose("C") == Send("c")


def test_a_note_may_begin_with_an_options_letter() -> None:
    answering = Answering(prompt(Ask.NOTE, Option("s", "skip it", ("the reason",))))
    assert not answering.key_acts("s", "")
    assert answering.entered("sealant was dry") == Send("sealant was dry")


def test_texts_an_option_wants_are_asked_one_after_the_other() -> None:
    answering = Answering(prompt(Ask.CHOICE, ACCEPT))
    assert not answering.types
    assert answering.choose("4") is None
    assert (answering.types, answering.label) == (True, "who accepts it")
    assert not answering.key_acts("4", "")
    assert answering.entered("Ann Other") is None
    assert answering.label == "the reason"
    assert answering.back() == "Ann Other"
    assert answering.label == "who accepts it"
    assert answering.entered("Ann Other") is None
    assert answering.entered(" dry fit ") == Send("4", ("Ann Other", "dry fit"))


def test_the_last_text_can_be_sent_again_after_it_was_not_kept() -> None:
    answering = Answering(prompt(Ask.CHOICE, ACCEPT))
    answering.choose("4")
    answering.entered("Ann")
    assert answering.entered("worn") == answering.entered("worn") == Send("4", ("Ann", "worn"))


def test_going_back_from_the_first_text_gives_the_choice_back() -> None:
    answering = Answering(prompt(Ask.CHOICE, ACCEPT))
    answering.choose("4")
    assert answering.back() == ""
    assert answering.chosen is None
    assert answering.back() is None


@pytest.mark.parametrize("ask", list(Ask))
@given(blank=st.text(alphabet=" \t", max_size=4))
def test_nothing_typed_answers_nothing(ask: Ask, blank: str) -> None:
    assert isinstance(Answering(prompt(ask, END)).entered(blank), Remark)


def test_a_key_that_is_held_down_counts_once() -> None:
    held = HeldKey(0.4)
    presses = [("y", 10.0), ("y", 10.3), ("y", 10.6), ("n", 10.7), ("y", 10.8), ("y", 11.3)]
    assert [held.repeats(*press) for press in presses] == [False, True, True, False, False, False]
