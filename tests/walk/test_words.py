"""What a person reads on one whole walk of every procedure: short sentences, whole words."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from heelwise.documents.library import find_procedures
from heelwise.walk.prompts import Prompt
from heelwise.wording import painted
from tests.walk.driving import Drive

MOST_WORDS = 35
_END = re.compile(r"(?<=[.?!])\s+")
_ONE_TURNS = re.compile(r"(?<![\d/.])(?<!to )1 turns\b")


def _texts(prompt: Prompt) -> Iterator[str]:
    yield from (prompt.question, prompt.heading, prompt.why, prompt.reading)
    yield from (option.label for option in prompt.options)
    yield from (text for fact in prompt.facts for text in (fact.text, fact.source))
    if prompt.caution is not None:
        yield from (prompt.caution.hazard, prompt.caution.consequence, prompt.caution.avoid)


@pytest.mark.parametrize("name", sorted(find_procedures()))
def test_a_whole_walk_reads_in_short_sentences(name: str) -> None:
    drive = Drive("i6-153624", 2, name=name, shipped=True)
    drive.to_the_end()
    asked = [text for prompt in drive.prompts for text in _texts(prompt)]
    steps = drive.build.procedure.steps
    asked += [step.if_not or "" for step in steps]
    asked += [option.first or "" for step in steps for option in step.options]
    read = {painted(text, "in") for text in (*asked, *drive.said)}
    long = {s for text in read for s in _END.split(text) if len(s.split()) > MOST_WORDS}
    assert not {sentence for sentence in long if not _lists_valves(sentence)}
    assert not {text for text in read if _ONE_TURNS.search(text) or text != text.strip()}
    assert not {text for text in read if "{" in text or "  " in text}


def _lists_valves(sentence: str) -> bool:
    """A list of valves is as long as the engine."""
    return len(re.findall(r"\b\d+[IE]\b", sentence)) > 5
