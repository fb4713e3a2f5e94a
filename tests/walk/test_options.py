"""An option is honored only where it is offered."""

from __future__ import annotations

from functools import cache

import pytest

from heelwise.documents.library import find_procedures
from heelwise.walk.prompts import Ask, Prompt, Refused
from tests.walk.driving import BEGAN, Drive, no_faults

TEXTS = ((), ("a reason",), ("R. Signer", "a reason"))


def _walked(name: str) -> Drive:
    """A build to its signature with a lost crank and a re-count on the way."""
    drive = no_faults("i4-1342", name=name)
    drive.until(lambda prompt: prompt.phase == "fit" or prompt.phase == "prove")
    drive.walker.pause()
    drive.step("m" if drive.prompt.option("m") else None)
    drive.to_the_end()
    drive.prompts.append(drive.prompt)
    return drive


@cache
def _prompts() -> dict[str, Prompt]:
    found = (prompt for name in find_procedures() for prompt in _walked(name).prompts)
    return {f"{prompt.phase}: {prompt.id}": prompt for prompt in found}


def _keys() -> set[str]:
    return {option.key for prompt in _prompts().values() for option in prompt.options}


def test_no_prompt_takes_another_prompts_option() -> None:
    assert len(_prompts()) > 40
    for prompt in _prompts().values():
        for key in _keys() - {option.key for option in prompt.options}:
            for texts in TEXTS:
                _taken_as_a_reading_or_refused(prompt, key, texts)


def _taken_as_a_reading_or_refused(prompt: Prompt, key: str, texts: tuple[str, ...]) -> None:
    try:
        prompt.reply(key, texts, BEGAN)
    except Refused:
        return
    assert prompt.ask is Ask.NOTE or (prompt.ask is Ask.READING and key.isdigit()), (prompt.id, key)


def test_an_option_that_wants_a_text_is_refused_without_it() -> None:
    wanting = [
        (prompt, option)
        for prompt in _prompts().values()
        for option in prompt.options
        if option.wants
    ]
    assert wanting
    for prompt, option in wanting:
        with pytest.raises(Refused):
            prompt.reply(option.key, (), BEGAN)
