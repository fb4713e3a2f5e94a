"""Random wrong answers: true answers reach the signature from wherever they lead."""

from __future__ import annotations

import random
from collections import Counter

import pytest

from heelwise.documents.entries import CrossedOut
from heelwise.documents.library import find_procedures
from heelwise.documents.quantities import show_length
from heelwise.walk.prompts import Ask, Refused
from tests.walk.driving import Drive

EIGHTHS = [f"{n / 8:g}" for n in range(33)]
MOST_ANSWERS = 1500


def _wrong(drive: Drive, chance: random.Random) -> None:
    """One answer that needn't be true: any eighth, any length sold, any option."""
    prompt = drive.prompt
    lengths = [show_length(mm, "in") for mm in drive.setup.lengths()]
    readings = [chance.choice(EIGHTHS), chance.choice(lengths), "0.015 in"]
    answers = [*(option.key for option in prompt.options), *readings]
    if prompt.ask is Ask.READING:
        answers += readings * 3
    answer = chance.choice(answers)
    option = prompt.option(answer)
    texts = tuple(chance.choice((*lengths, "1I", "AO")) for _ in option.wants) if option else ()
    try:
        drive.walker.reply(answer, texts)
    except Refused:
        return


def _to_the_signature(drive: Drive) -> None:
    """True answers from here on; a question that stands unchanged offers more than one answer."""
    stood: Counter[tuple[str, int]] = Counter()
    for _ in range(MOST_ANSWERS):
        if drive.walker.closed:
            return
        prompt, kept = drive.prompt, len(drive.kept)
        stood[prompt.id, kept] += 1
        if stood[prompt.id, kept] > 2:
            assert len(prompt.options) + bool(prompt.reading) > 1, prompt
        drive.step()
    raise AssertionError(f"no end; stands at {drive.prompt.id} of {drive.prompt.valve}")


@pytest.mark.parametrize("name", sorted(find_procedures()))
@pytest.mark.parametrize("seed", range(3))
def test_true_answers_reach_the_signature_from_wherever_wrong_ones_lead(
    name: str, seed: int
) -> None:
    chance = random.Random(f"{name} {seed}")
    drive = Drive("i2-360", seed, planted=(), name=name)
    drive.until(lambda prompt: prompt.phase != "prepare")
    for _ in range(40):
        if drive.walker.closed:
            break
        if chance.random() < 0.5:
            _wrong(drive, chance)
        else:
            drive.step()
    _to_the_signature(drive)


@pytest.mark.parametrize("seed", range(4))
def test_any_trial_readings_lead_to_an_order_and_on(seed: int) -> None:
    """Every count of the trials is false; the true ones of Fit still come to the signature."""
    chance = random.Random(seed)
    drive = Drive("i4-1342", seed, planted=())
    for _ in range(200):
        if drive.prompt.phase == "fit":
            break
        if drive.prompt.records == "count":
            drive.step(chance.choice(EIGHTHS))
        else:
            drive.step()
    assert [entry for entry in drive.kept if isinstance(entry.body, CrossedOut)] or drive.kept
    _to_the_signature(drive)
