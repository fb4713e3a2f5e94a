"""The procedures are written to be read aloud: short sentences, one spelling, few questions."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from heelwise.documents.procedure import Procedure, load_procedure

FOLDER = Path(__file__).parents[2] / "procedures"
PROCEDURES = {path.stem: load_procedure(path) for path in sorted(FOLDER.glob("*.toml"))}
LONGEST = 35
"""Words of one sentence."""
UK = r"\b(centre|labelled|dialled|grey|aluminium|neighbour|colour|quieten\w*|towards|afterwards)\b"
DIALECT = r"\b(to be had|anew|is no [a-z]+|the running direction|said|told)\b"


def _texts(procedure: Procedure) -> Iterator[tuple[str, str]]:
    yield from (("procedure", text) for text in (procedure.title, procedure.source))
    yield from (("covers_not", text) for text in procedure.covers_not)
    for step in procedure.steps:
        yield from ((step.id, text) for text in (step.say, step.why, step.yes, step.no) if text)
        if step.if_not:
            yield step.id, step.if_not
        if step.caution:
            caution = step.caution
            yield from ((step.id, t) for t in (caution.hazard, caution.consequence, caution.avoid))
        for option in step.options:
            yield step.id, option.label
            if option.first:
                yield step.id, option.first


@pytest.mark.parametrize("name", PROCEDURES)
def test_no_sentence_is_too_long_to_say_in_one_breath(name: str) -> None:
    long = [
        (where, len(sentence.split()))
        for where, text in _texts(PROCEDURES[name])
        for sentence in re.split(r"(?<=[.?!:;])\s", text)
        if len(sentence.split()) > LONGEST
    ]
    assert long == []


@pytest.mark.parametrize("name", PROCEDURES)
def test_spelling_and_words_are_those_of_the_trade(name: str) -> None:
    found = [
        (where, match.group())
        for where, text in _texts(PROCEDURES[name])
        for match in re.finditer(f"{UK}|{DIALECT}", text)
    ]
    assert found == []


@pytest.mark.parametrize("name", PROCEDURES)
def test_the_questions_are_few_and_each_step_has_its_title(name: str) -> None:
    steps = PROCEDURES[name].steps
    once = [s for s in steps if s.each == "build" and s.only_if is None and s.serves("roller")]
    assert len(once) <= 28
    assert len({step.title for step in steps}) == len(steps)
